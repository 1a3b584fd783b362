"""Idempotency in GraphQL: a mutation sent twice under one key makes one thing, and is answered the same."""

import asyncio
from datetime import datetime, timedelta
from typing import Any, Final

import httpx
import pytest
from tests.api.graphql_asking import GRAPHQL, as_input, ask, codes_of, field_of_root
from tests.api.samples import HORSE, NOW, serving

from hooflast.api import idempotency
from hooflast.api.graphql import matches
from hooflast.api.graphql.documents import id_of_text
from hooflast.api.kept_matches import make_match
from hooflast.store import TenantId, open_store
from hooflast.store.idempotency import CLAIM_SECONDS, Asking, IdempotencyKeys

pytestmark = pytest.mark.anyio
MATCH: Final = "mutation Make($input: MatchInput!) { createMatch(input: $input) { restId receipt } }"
INPUT: Final = as_input(HORSE, field_of_root("Mutation", "createMatch").args["input"].type)
TWO: Final = """mutation($input: MatchInput!, $id: ID!) {
  createMatch(input: $input) { restId }
  eraseMatch(id: $id) { restId }
}"""
HOOK: Final = 'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { restId } secret } }'
HOOKS: Final = "{ hooks { nodes { restId } } }"
KEY: Final = {"Idempotency-Key": '"one"'}


async def match(client: httpx.AsyncClient, document: str = MATCH, **headers: str) -> httpx.Response:
    return await ask(client, document, variables={"input": INPUT}, headers={**KEY, **headers})


async def hooks(client: httpx.AsyncClient) -> list[str]:
    return [one["restId"] for one in (await ask(client, HOOKS)).json()["data"]["hooks"]["nodes"]]


@pytest.mark.parametrize("accept", [GRAPHQL, "application/json"])
async def test_a_mutation_sent_twice_makes_one_thing(client_on_both: httpx.AsyncClient, accept: str) -> None:
    first, again, third = [await match(client_on_both, Accept=accept) for _ in range(3)]
    assert first.status_code == again.status_code == 200
    assert first.content == again.content == third.content
    for field in ("content-type", "content-language", "vary", "cache-control"):
        assert first.headers[field] == again.headers[field]
    other = await match(client_on_both, **{"Idempotency-Key": "two"})
    assert other.json()["data"]["createMatch"]["restId"] != first.json()["data"]["createMatch"]["restId"]


async def test_without_a_key_each_request_makes_its_own(client: httpx.AsyncClient) -> None:
    for _ in range(2):
        await ask(client, HOOK)
    assert len(await hooks(client)) == 2


async def test_a_hook_is_made_once_and_its_secret_told_again(client: httpx.AsyncClient) -> None:
    """So that a lost answer does not leave a hook behind whose secret nobody knows."""
    first, again = [await ask(client, HOOK, headers=KEY) for _ in range(2)]
    assert first.json()["data"]["createHook"]["secret"].startswith("whsec_")
    assert first.content == again.content
    assert len(await hooks(client)) == 1


async def test_a_query_passes_the_key_over(client: httpx.AsyncClient) -> None:
    for key in ("one", '"two"'):
        first = await ask(client, HOOKS, headers={"Idempotency-Key": key})
        assert (first.status_code, len(first.json()["data"]["hooks"]["nodes"])) == (200, len(await hooks(client)))
        await ask(client, HOOK)
    several = "query Look { hooks { nodes { restId } } } " + MATCH
    before, after = [await ask(client, several, operationName="Look", headers=KEY) for _ in range(2)]
    assert before.content == after.content
    assert (await match(client)).status_code == 200, "a query has taken the key of a mutation"


@pytest.mark.parametrize("written", ["", '"', '""', "a b", "x" * 256, '"a"b"'])
async def test_a_key_that_cannot_be_read_is_refused_and_nothing_is_made(
    client: httpx.AsyncClient, written: str
) -> None:
    for document in (HOOK, HOOKS):
        refused = await ask(client, document, headers={"Idempotency-Key": written})
        assert (refused.status_code, refused.headers["content-type"]) == (400, "application/problem+json")
        assert refused.json()["type"] == "/problems/idempotency-key-unreadable"
    assert await hooks(client) == []


class TestAnotherRequest:
    """Whatever may change what is answered tells one request from another; how it is written does not."""

    @pytest.mark.parametrize(
        ("document", "headers"),
        [
            (MATCH.replace("receipt", "picture"), {}),
            (MATCH, {"Accept": "application/json"}),
            (MATCH, {"Accept-Language": "sv"}),
        ],
    )
    async def test_under_the_same_key_it_is_refused(
        self, client: httpx.AsyncClient, document: str, headers: dict[str, str]
    ) -> None:
        await match(client)
        refused = await match(client, document, **headers)
        assert (refused.status_code, refused.headers["content-type"]) == (422, "application/problem+json")
        assert refused.json()["type"] == "/problems/idempotency-key-reused"

    async def test_other_variables_and_another_operation_are_others(self, client: httpx.AsyncClient) -> None:
        await match(client)
        other = await ask(client, MATCH, variables={"input": {**INPUT, "uses": []}}, headers=KEY)
        both = f"{MATCH} {MATCH.replace('Make', 'Again')}"
        first, second = [
            await ask(
                client, both, variables={"input": INPUT}, operationName=name, headers={"Idempotency-Key": "several"}
            )
            for name in ("Make", "Again")
        ]
        assert (other.status_code, first.status_code, second.status_code) == (422, 200, 422)

    async def test_a_document_known_by_its_id_is_the_same_as_its_text(self, client: httpx.AsyncClient) -> None:
        """So that who was told that it is not known may send it whole."""
        known = id_of_text(MATCH)
        first = await ask(client, MATCH, variables={"input": INPUT}, documentId=known, headers=KEY)
        ways: list[dict[str, Any]] = [{"documentId": known}, {"query": MATCH}, {"query": MATCH, "extensions": {"a": 1}}]
        for way in ways:
            again = await ask(client, variables=dict(reversed({"input": INPUT}.items())), headers=KEY, **way)
            assert again.content == first.content

    async def test_another_media_type_that_is_answered_alike_is_the_same(self, client: httpx.AsyncClient) -> None:
        first, again = [await match(client, Accept=accept) for accept in (GRAPHQL, f"{GRAPHQL}, */*;q=0.1")]
        assert first.content == again.content


class TestNothingMade:
    """A mutation of which nothing was made lets its key go."""

    @pytest.mark.parametrize(
        ("document", "variables"),
        [
            (MATCH, {"input": {**INPUT, "hooves": []}}),
            (MATCH, {}),
            ("mutation { nothing }", {}),
            ("mutation {", {}),
            ("mutation { __typename }", {}),
            ('mutation { eraseMatch(id: "nowhere") { restId } again: eraseMatch(id: "nobody") { restId } }', {}),
        ],
    )
    async def test_the_key_may_come_with_another_document(
        self, client: httpx.AsyncClient, document: str, variables: dict[str, Any]
    ) -> None:
        first, again = [await ask(client, document, variables=variables, headers=KEY) for _ in range(2)]
        assert first.json() == again.json()
        assert (await match(client)).status_code == 200

    async def test_what_made_something_is_kept_where_another_field_failed(
        self, client_on_both: httpx.AsyncClient
    ) -> None:
        variables = {"input": INPUT, "id": "nowhere"}
        first, again = [await ask(client_on_both, TWO, variables=variables, headers=KEY) for _ in range(2)]
        assert (first.status_code, codes_of(first)) == (294, ["not-found"])
        assert (again.status_code, again.content) == (294, first.content)
        assert (await match(client_on_both)).status_code == 422

    async def test_what_made_something_is_kept_where_its_answer_could_not_be_told(
        self, client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def broken(*_: Any) -> str:
            raise RuntimeError("no picture today")

        resolver = field_of_root("Mutation", "createMatch").type.fields["picture"]
        monkeypatch.setattr(resolver, "resolve", broken)
        document = MATCH.replace("receipt", "picture")
        first, again = [await match(client, document) for _ in range(2)]
        assert (first.json()["data"], first.content) == ({"createMatch": None}, again.content)
        assert (await match(client)).status_code == 422


@pytest.mark.parametrize("told", ["restId", "id", "hooves { limb }"])
async def test_a_match_that_was_erased_is_not_told_again(database_url: str, told: str) -> None:
    """Whether or not the answer that was kept names it."""
    document = MATCH.replace("restId receipt", told)
    async with serving(database_url) as client:
        await match(client, document)
        (first,) = await _kept(database_url)
        assert (await client.delete(f"/v1/matches/{first}")).status_code == 204
        assert (await match(client, document)).status_code == 200
        (anew,) = await _kept(database_url)
        assert first != anew


async def _kept(database_url: str) -> list[str]:
    async with open_store(database_url) as store:
        return [kept.id for kept in await store.answers.page(tenant=TenantId("local"))]


async def test_a_repetition_while_the_first_is_under_way_is_told_to_wait(
    client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    begun, may_end = asyncio.Event(), asyncio.Event()

    async def slowly(*given: Any, **more: Any) -> Any:
        begun.set()
        await may_end.wait()
        return await make_match(*given, **more)

    monkeypatch.setattr(matches, "make_match", slowly)
    first = asyncio.create_task(match(client))
    await begun.wait()
    meanwhile = await match(client)
    may_end.set()
    assert (meanwhile.status_code, meanwhile.headers["retry-after"]) == (409, "1")
    assert meanwhile.json()["type"] == "/problems/idempotency-key-in-use"
    assert (await first).content == (await match(client)).content


async def test_a_request_holds_its_key_however_long_it_takes(sqlite_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else what is sent again after a minute would be made a second time beside the first."""
    time, begun, may_end, renewed, renew = [NOW], *(asyncio.Event() for _ in range(3)), IdempotencyKeys.renew

    async def slowly(*given: Any, **more: Any) -> Any:
        begun.set()
        await may_end.wait()
        return await make_match(*given, **more)

    async def seen(self: IdempotencyKeys, asking: Asking, *, claim: str, now: datetime) -> None:
        await renew(self, asking, claim=claim, now=now)
        if now > NOW:
            renewed.set()

    monkeypatch.setattr(matches, "make_match", slowly)
    monkeypatch.setattr(IdempotencyKeys, "renew", seen)
    monkeypatch.setattr(idempotency, "RENEW_SECONDS", 0)
    async with serving(sqlite_url, clock=lambda: time[0]) as client:
        first = asyncio.create_task(match(client))
        await begun.wait()
        time[0] += timedelta(seconds=CLAIM_SECONDS - 1)
        await renewed.wait()
        time[0] += timedelta(seconds=CLAIM_SECONDS - 1)
        meanwhile = await match(client)
        may_end.set()
        assert meanwhile.status_code == 409
        assert (await first).content == (await match(client)).content
