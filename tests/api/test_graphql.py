"""GraphQL over HTTP: media types, statuses, languages, nodes, pages, keys, and one query for many things."""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import httpx
import pytest
from sqlalchemy import Engine, event
from tests.api.graphql_asking import GRAPHQL, as_input, as_listed, ask, codes_of, data_of, errors_of, field_of_root
from tests.api.keys import made, made_for_pages
from tests.api.samples import BOOTS, HORSE, NEWER, OLDER, serving

from hooflast.access.key import Scope
from hooflast.settings import Access, BrowserIntrospection

pytestmark = pytest.mark.anyio
MATCH = "mutation($input: MatchInput!) { createMatch(input: $input) { id restId picture versions { language } } }"
INPUT = as_input(HORSE, field_of_root("Mutation", "createMatch").args["input"].type)
NO_MATCH = {"hooves": [{"limb": "LF", "width": 9999, "length": 128}]}


async def matched(client: httpx.AsyncClient) -> dict[str, Any]:
    return (await data_of(client, MATCH, input=INPUT))["createMatch"]


class TestMediaTypes:
    """What is asked for decides what is sent, and what a status means (GraphQL over HTTP, September 2026)."""

    @pytest.mark.parametrize(
        "accept", [GRAPHQL, "*/*", f"application/json;q=0.9, {GRAPHQL}", f"{GRAPHQL}, application/json"]
    )
    async def test_graphql_is_sent_where_it_is_wished_at_least_as_much(
        self, client: httpx.AsyncClient, accept: str
    ) -> None:
        answer = await ask(client, "{ nothing }", headers={"Accept": accept})
        assert (answer.status_code, answer.headers["content-type"]) == (400, f"{GRAPHQL}; charset=utf-8")

    async def test_json_is_always_200(self, client: httpx.AsyncClient) -> None:
        for document in ("{ nothing }", "{", '{ boot(id: "nowhere") { name } }', "{ __typename }"):
            answer = await ask(client, document, headers={"Accept": "application/json"})
            assert (answer.status_code, answer.headers["content-type"]) == (200, "application/json")

    async def test_partial_success_has_a_status_of_its_own(self, client: httpx.AsyncClient) -> None:
        answer = await ask(client, '{ boot(id: "nowhere") { name } __typename }')
        assert answer.status_code == 294
        assert answer.json()["data"] == {"boot": None, "__typename": "Query"}
        (error,) = errors_of(answer)
        assert (error["path"], error["extensions"]["code"], error["extensions"]["status"]) == (
            ["boot"],
            "not-found",
            404,
        )

    @pytest.mark.parametrize(
        ("body", "status"),
        [(b"[]", 422), (b"{", 400), (b"{}", 422), (b'{"query": 7}', 422), (b'{"query": "{a}", "variables": [7]}', 422)],
    )
    async def test_what_is_no_request_of_graphql_is_a_problem(
        self, client: httpx.AsyncClient, body: bytes, status: int
    ) -> None:
        answer = await client.post("/graphql", content=body, headers={"Content-Type": "application/json"})
        assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")

    async def test_several_requests_in_one_are_refused(self, client: httpx.AsyncClient) -> None:
        answer = await client.post("/graphql", json=[{"query": "{ __typename }"}])
        assert answer.json()["errors"][0]["code"] == "wrong-type"

    async def test_other_methods_and_types_are_refused(self, client: httpx.AsyncClient) -> None:
        read = await client.get("/graphql?query={__typename}")
        assert (read.status_code, "POST" in read.headers["allow"], "GET" in read.headers["allow"]) == (405, True, False)
        written = await client.post("/graphql", content=b"{}", headers={"Content-Type": "text/plain"})
        assert written.status_code == 415
        wanted = await ask(client, "{ __typename }", headers={"Accept": "text/html"})
        assert wanted.status_code == 406

    async def test_members_of_a_request_that_nobody_knows_are_passed_over(self, client: httpx.AsyncClient) -> None:
        assert (await ask(client, "{ __typename }", later="x")).status_code == 200

    async def test_every_answer_has_its_id_its_language_and_its_cost(self, client: httpx.AsyncClient) -> None:
        answer = await ask(client, "{ makers { nodes { name } } }")
        assert {"x-request-id", "content-language", "vary"} <= set(answer.headers)
        assert answer.headers["cache-control"] == "no-store"
        assert answer.json()["extensions"]["cost"] == {"asked": 41, "most": 20_000}


class TestNodes:
    """Things with an id of their own (Relay, Global Object Identification)."""

    async def test_a_node_is_found_again_by_its_id(self, client: httpx.AsyncClient) -> None:
        match = await matched(client)
        hook = await data_of(
            client,
            'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { id } } }',
        )
        document = """{
          maker(id: "ombrick") { id } boot(id: "ombrick-alder") { id } trouble(trouble: TURNS) { id }
          catalogReleases { nodes { id } } plugins { nodes { id } }
        }"""
        data = await data_of(client, document)
        ids = [
            match["id"],
            hook["createHook"]["hook"]["id"],
            *(data[one]["id"] for one in ("maker", "boot", "trouble")),
        ]
        ids += [one["id"] for one in data["catalogReleases"]["nodes"]]
        found = await data_of(client, "query($ids: [ID!]!) { nodes(ids: $ids) { id } }", ids=ids)
        assert [one["id"] for one in found["nodes"]] == ids
        for one in ids:
            alone = await data_of(client, "query($id: ID!) { node(id: $id) { id __typename } }", id=one)
            assert alone["node"]["id"] == one

    async def test_an_id_of_nothing_finds_nothing(self, client: httpx.AsyncClient) -> None:
        (boot,) = (await data_of(client, '{ boot(id: "ombrick-alder") { id } }')).values()
        ids = ["", "x", "ombrick-alder", boot["id"][:-2], "Qm9vdApub3doZXJl"]
        found = await data_of(client, "query($ids: [ID!]!) { nodes(ids: $ids) { id } }", ids=ids)
        assert found["nodes"] == [None] * len(ids)

    async def test_a_node_of_a_pinned_catalog_release_stays_in_it(self, client: httpx.AsyncClient) -> None:
        document = (
            'query($release: String) { boot(id: "ombrick-alder", catalogRelease: $release) { id note maker { id } } }'
        )
        (old,) = (await data_of(client, document, release=OLDER.id)).values()
        (new,) = (await data_of(client, document)).values()
        assert (old["note"], new["note"]) == ("", "New.")
        again = await data_of(
            client, "query($id: ID!) { node(id: $id) { ... on Boot { note catalogRelease } } }", id=old["id"]
        )
        assert again["node"] == {"note": "", "catalogRelease": OLDER.id}
        assert old["maker"]["id"] != new["maker"]["id"]

    async def test_a_match_is_erased_for_good(self, client_on_both: httpx.AsyncClient) -> None:
        client = client_on_both
        match = await matched(client)
        assert (await client.get(f"/v1/matches/{match['restId']}")).status_code == 200
        erased = await data_of(client, "mutation($id: ID!) { eraseMatch(id: $id) { restId } }", id=match["id"])
        assert erased["eraseMatch"]["restId"] == match["restId"]
        answer = await ask(client, "query($id: ID!) { match(id: $id) { id } }", variables={"id": match["id"]})
        assert codes_of(answer) == ["not-found"]

    async def test_too_many_ids_are_refused(self, client: httpx.AsyncClient) -> None:
        answer = await ask(client, "query($ids: [ID!]!) { nodes(ids: $ids) { id } }", variables={"ids": ["x"] * 101})
        (error,) = errors_of(answer)
        assert error["extensions"]["errors"][0] | {"detail": ""} == {
            "code": "too-many", "pointer": "/ids", "received": 101, "accepted": "At most 100.", "detail": "",
        }  # fmt: skip


class TestPages:
    """Lists read page by page (Relay, Cursor Connections)."""

    @pytest.mark.parametrize("first", [1, 7, 20, 100])
    async def test_pages_together_are_the_whole_list(self, client: httpx.AsyncClient, first: int) -> None:
        document = """query($first: Int!, $after: String) {
          boots(first: $first, after: $after) { edges { cursor node { restId } } pageInfo { endCursor hasNextPage } }
        }"""
        seen: list[str] = []
        after, more = None, True
        while more:
            page = (await data_of(client, document, first=first, after=after))["boots"]
            seen += [edge["node"]["restId"] for edge in page["edges"]]
            assert page["pageInfo"]["endCursor"] == page["edges"][-1]["cursor"]
            after, more = page["pageInfo"]["endCursor"], page["pageInfo"]["hasNextPage"]
        assert seen == sorted(BOOTS)

    @pytest.mark.parametrize(
        ("arguments", "pointer", "code"),
        [
            ("first: 0", "/first", "parameter-not-a-whole-number"),
            ("first: 101", "/first", "parameter-not-a-whole-number"),
            ('after: "x"', "/after", "cursor-unreadable"),
        ],
    )
    async def test_pages_that_cannot_be(
        self, client: httpx.AsyncClient, *, arguments: str, pointer: str, code: str
    ) -> None:
        (error,) = errors_of(await ask(client, f"{{ boots({arguments}) {{ nodes {{ name }} }} }}"))
        (fault,) = error["extensions"]["errors"]
        assert (fault["pointer"], fault["code"], error["extensions"]["status"]) == (pointer, code, 400)

    async def test_a_cursor_of_another_list_is_refused(self, client: httpx.AsyncClient) -> None:
        page = (await data_of(client, "{ boots(first: 1) { pageInfo { endCursor } } }"))["boots"]["pageInfo"]
        for field in ("makers(", "boots(use: ROAD, ", 'boots(maker: "vellory", '):
            document = f"query($after: String) {{ {field}after: $after) {{ nodes {{ restId }} }} }}"
            (error,) = errors_of(await ask(client, document, variables={"after": page["endCursor"]}))
            assert error["extensions"]["errors"][0]["code"] == "cursor-of-another-query"


class TestKeys:
    """What a key may do, field by field."""

    async def test_a_field_takes_its_own_scope(self, database_url: str) -> None:
        async with serving(database_url, access=Access.KEYS) as client:
            key = await made(database_url, scopes=frozenset({Scope.READ}))
            headers = {"Authorization": f"Bearer {key.written}"}
            both = await ask(client, "{ makers { nodes { name } } hooks { nodes { id } } }", headers=headers)
            assert both.json()["data"]["hooks"] is None
            assert both.json()["data"]["makers"]["nodes"]
            assert codes_of(both) == ["scope-missing"]
            refused = await ask(client, MATCH, variables={"input": INPUT}, headers=headers)
            assert (codes_of(refused), errors_of(refused)[0]["extensions"]["status"]) == (["scope-missing"], 403)
            assert (await ask(client, "{ __typename }")).status_code == 401

    async def test_what_is_another_clients_is_not_found(self, database_url: str) -> None:
        async with serving(database_url, access=Access.KEYS) as client:
            mine, others = [
                {"Authorization": f"Bearer {(await made(database_url, client=one)).written}"}
                for one in ("tarn-and-tether", "mossgate")
            ]
            match = (await ask(client, MATCH, variables={"input": INPUT}, headers=mine)).json()["data"]["createMatch"]
            made_hook = 'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { id } } }'
            hook = (await ask(client, made_hook, headers=mine)).json()["data"]["createHook"]["hook"]
            tried = await ask(client, "mutation($id: ID!) { testHook(id: $id) { id } }", variables=hook, headers=mine)
            delivery = tried.json()["data"]["testHook"]
            ids = [match["id"], hook["id"], delivery["id"]]
            nodes = "query($ids: [ID!]!) { nodes(ids: $ids) { id } }"
            assert None not in (await ask(client, nodes, variables={"ids": ids}, headers=mine)).json()["data"]["nodes"]
            found = (await ask(client, nodes, variables={"ids": ids}, headers=others)).json()["data"]["nodes"]
            assert found == [None, None, None]
            for field, id_ in (
                ("query($id: ID!) { match(id: $id) { id } }", match["id"]),
                ("mutation($id: ID!) { eraseMatch(id: $id) { id } }", match["id"]),
                ("query($id: ID!) { hook(id: $id) { id } }", hook["id"]),
                ("mutation($id: ID!) { removeHook(id: $id) { id } }", hook["id"]),
                ("mutation($id: ID!) { rotateHookSecret(id: $id) { secret } }", hook["id"]),
                ("mutation($id: ID!) { testHook(id: $id) { id } }", hook["id"]),
                (
                    'mutation($id: ID!) { replayHook(id: $id, input: {since: "2026-01-01T00:00:00Z"}) { deliveries } }',
                    hook["id"],
                ),
                ("mutation($id: ID!) { repeatHookDelivery(id: $id) { deliveries } }", delivery["id"]),
            ):
                assert codes_of(await ask(client, field, variables={"id": id_}, headers=others)) == ["not-found"], field

    async def test_pages_may_not_ask_for_the_schema_unless_that_is_set(self, sqlite_url: str) -> None:
        key = await made_for_pages(sqlite_url)
        headers = {"Authorization": f"Bearer {key.written}", "Origin": key.key.origins[0]}
        document = "{ __schema { queryType { name } } }"
        async with serving(sqlite_url, access=Access.KEYS) as client:
            refused = await ask(client, document, headers=headers)
            assert (refused.status_code, set(codes_of(refused))) == (400, {"document-refused"})
            server = await made(sqlite_url)
            assert (
                await ask(client, document, headers={"Authorization": f"Bearer {server.written}"})
            ).status_code == 200
        async with serving(
            sqlite_url, access=Access.KEYS, graphql_browser_introspection=BrowserIntrospection.ALLOW
        ) as client:
            assert (await ask(client, document, headers=headers)).status_code == 200


@contextmanager
def queries() -> Iterator[list[str]]:
    """What the store asks of any database meanwhile."""
    asked: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_: Any) -> None:
        if statement.lstrip().upper().startswith("SELECT"):
            asked.append(statement)

    event.listen(Engine, "before_cursor_execute", note)
    try:
        yield asked
    finally:
        event.remove(Engine, "before_cursor_execute", note)


async def test_many_hooks_with_their_deliveries_take_as_many_queries_as_one(client_on_both: httpx.AsyncClient) -> None:
    client = client_on_both
    document = "{ hooks { nodes { id deliveries(first: 5) { nodes { restId status } pageInfo { hasNextPage } } } } }"
    counts: list[int] = []
    found: list[Any] = []
    for _ in range(2):
        for _ in range(3):
            made_hook = 'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { id } } }'
            hook = (await data_of(client, made_hook))["createHook"]["hook"]
            await data_of(client, "mutation($id: ID!) { testHook(id: $id) { id } }", **hook)
        with queries() as asked:
            found = (await data_of(client, document))["hooks"]["nodes"]
        counts.append(len([one for one in asked if "hook" in one]))
    assert len(found) == 6
    assert all(len(hook["deliveries"]["nodes"]) == 1 for hook in found)
    assert counts == [2, 2]


async def test_many_assortments_with_what_is_in_them_take_as_many_queries_as_one(
    client_on_both: httpx.AsyncClient,
) -> None:
    client = client_on_both
    takes = field_of_root("Mutation", "createAssortment").args["input"].type
    form = as_listed({"name": "Webshop", "currency": "EUR", "items": {"A": {"product": "vellory-oak", "size": "wren"}}})
    what = "report { mapped } items(first: 5) { nodes { item { sku } place { boot } } }"
    listed = (
        f"{{ assortments(first: 6) {{ nodes {{ id {what} more: items(which: MAPPED) {{ nodes {{ size }} }} }} }} }}"
    )
    named = f"query($ids: [ID!]!) {{ nodes(ids: $ids) {{ id ... on Assortment {{ name {what} }} }} }}"
    counts: list[int] = []
    ids: list[str] = []
    for _ in range(2):
        for _ in range(3):
            make = f"mutation($input: {takes}) {{ createAssortment(input: $input) {{ id }} }}"
            ids.append((await data_of(client, make, input=form))["createAssortment"]["id"])
        for document in (listed, named):
            with queries() as asked:
                data = await data_of(client, document, ids=ids)
            counts.append(len([one for one in asked if "assortment" in one]))
            told = data["nodes"] if document is named else data["assortments"]["nodes"]
            assert [one["id"] for one in told] == ids
            assert all(one["report"]["mapped"] == len(one["items"]["nodes"]) == 1 for one in told)
    assert counts == [3] * 4


async def test_many_matches_take_one_query(client_on_both: httpx.AsyncClient) -> None:
    ids = [(await matched(client_on_both))["id"] for _ in range(4)]
    with queries() as asked:
        document = "query($ids: [ID!]!, $one: ID!) { nodes(ids: $ids) { id } again: match(id: $one) { id } }"
        found = await data_of(client_on_both, document, ids=ids, one=ids[0])
    assert [one["id"] for one in found["nodes"]] == ids
    assert len([one for one in asked if "match_receipt" in one]) == 1


@pytest.mark.parametrize("first", [1, 50])
async def test_where_many_records_came_from_takes_as_many_queries_as_one(
    client_on_both: httpx.AsyncClient, first: int
) -> None:
    proved = "recordProvenance { proof seal { token } statement { recordSha256 } }"
    document = f"""query($first: Int!, $old: String!) {{
      boots(first: $first) {{ nodes {{ {proved} maker {{ {proved} }} }} }}
      catalogReleases {{ nodes {{ restId provenance(first: 3) {{ nodes {{ index }} seal {{ root }} }} }} }}
      old: boots(first: $first, catalogRelease: $old) {{ nodes {{ {proved} }} }}
    }}"""
    await data_of(client_on_both, document, first=1, old=OLDER.id)
    with queries() as asked:
        found = await data_of(client_on_both, document, first=first, old=OLDER.id)
    assert len(found["boots"]["nodes"]) == min(first, len(BOOTS))
    seals = {boot["recordProvenance"]["seal"]["token"] for boot in found["boots"]["nodes"]}
    assert len(seals) == 1
    assert len([one for one in asked if "seal" in one]) == len((OLDER, NEWER))


async def test_deliveries_are_paged_as_rest_pages_them(client_on_both: httpx.AsyncClient) -> None:
    client = client_on_both
    made_hook = 'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { id restId } } }'
    hook = (await data_of(client, made_hook))["createHook"]["hook"]
    for _ in range(5):
        await data_of(client, "mutation($id: ID!) { testHook(id: $id) { id } }", id=hook["id"])
    document = """query($id: ID!, $after: String) { hook(id: $id) {
      deliveries(first: 2, after: $after) { nodes { restId } pageInfo { endCursor hasNextPage } }
    } }"""
    seen: list[str] = []
    after, more = None, True
    while more:
        page = (await data_of(client, document, id=hook["id"], after=after))["hook"]["deliveries"]
        seen += [one["restId"] for one in page["nodes"]]
        after, more = page["pageInfo"]["endCursor"], page["pageInfo"]["hasNextPage"]
    rest = (await client.get(f"/v1/hooks/{hook['restId']}/deliveries")).json()["items"]
    assert seen == [one["id"] for one in rest]


async def test_the_active_release_is_named(client: httpx.AsyncClient) -> None:
    data = await data_of(client, "{ catalogReleases { nodes { restId isActive } } }")
    assert [one["restId"] for one in data["catalogReleases"]["nodes"] if one["isActive"]] == [NEWER.id]
