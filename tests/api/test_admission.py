"""Admission: who shows the right key is let in, to what the key may do and as often, and nothing tells its secret."""

import asyncio
import json
from collections.abc import Collection
from dataclasses import replace
from datetime import datetime, timedelta
from typing import Any

import http_sf
import httpx
import pytest
from tests.api.keys import PLENTY, SHOP_PAGES, SOMEBODY, Made, code_of, made, made_for_pages
from tests.api.samples import HORSE, NOW, serving

from hooflast.access import guesses
from hooflast.access.key import ALL_SCOPES, Key, KeyLimits, Scope
from hooflast.access.limit import Limit
from hooflast.access.secret import digest_of, new_secret, write_key
from hooflast.api import gathering
from hooflast.api.operations import Operation
from hooflast.api.routes import operations
from hooflast.settings import Access
from hooflast.store import TenantId, new_id, open_store
from hooflast.store.audit import Deed
from hooflast.store.client_keys import ClientKeys

pytestmark = pytest.mark.anyio
BY_FIELD = "answer_graphql"
"""What a key must have for GraphQL depends on the fields that are asked for."""

GUARDED = [operation for operation in operations() if not operation.is_public]
REQUEST_ID = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11"


def address_of(operation: Operation) -> str:
    path = operation.path
    for parameter in operation.path_parameters:
        path = path.replace("{" + parameter.name + "}", parameter.examples[0] if parameter.examples else "x")
    return path


async def asked(client: httpx.AsyncClient, operation: Operation, **options: Any) -> httpx.Response:
    return await client.request(operation.method, address_of(operation), **options)


async def test_without_a_key_every_operation_but_the_public_ones_is_closed(sqlite_url: str) -> None:
    async with serving(sqlite_url, access=Access.KEYS) as client:
        for operation in operations():
            answer = await asked(client, operation)
            if operation.is_public:
                assert answer.status_code in {200, 503}, operation.id
                assert "ratelimit" not in answer.headers
            else:
                assert (answer.status_code, code_of(answer)) == (401, "key-missing"), operation.id
                assert answer.headers["www-authenticate"] == 'Bearer realm="hooflast"'


def test_only_reading_what_belongs_to_nobody_is_public() -> None:
    assert {operation.method for operation in operations() if operation.is_public} == {"GET"}
    of_a_client = ("/v1/", "/graphql", "/metrics")
    assert [one.path for one in operations() if one.is_public and one.path.startswith(of_a_client)] == []


async def test_a_key_without_its_scope_is_refused_by_every_operation(sqlite_url: str) -> None:
    lacking = {
        scope: await made(sqlite_url, scopes=ALL_SCOPES - {scope})
        for scope in {operation.takes_scope for operation in GUARDED}
        if scope is not None
    }
    async with serving(sqlite_url, access=Access.KEYS) as client:
        for operation in GUARDED:
            scope = operation.takes_scope
            assert scope is not None
            if operation.id == BY_FIELD:
                continue
            answer = await asked(client, operation, headers=lacking[scope].shown)
            assert (answer.status_code, code_of(answer)) == (403, "scope-missing"), operation.id
            expected = f'Bearer realm="hooflast", error="insufficient_scope", scope="{scope}"'
            assert answer.headers["www-authenticate"] == expected
            for other, key in lacking.items():
                if other != scope:
                    assert (await asked(client, operation, headers=key.shown)).status_code != 403, operation.id


@pytest.fixture
async def key(anyio_backend: str, database_url: str) -> Made:
    return await made(database_url)


@pytest.fixture
async def closed(anyio_backend: str, database_url: str) -> Any:
    async with serving(database_url, access=Access.KEYS) as client:
        yield client


async def test_a_key_made_while_the_service_runs_is_let_in_at_once(
    closed: httpx.AsyncClient, database_url: str
) -> None:
    key = await made(database_url, client="mossgate")
    answer = await closed.post("/v1/matches", json=HORSE, headers=key.shown)
    assert answer.status_code == 201, answer.text
    again = await closed.get(answer.headers["location"], headers=key.shown)
    assert again.content == answer.content


@pytest.mark.parametrize("scheme", ["Bearer ", "bearer ", "BEARER ", "Bearer   "])
async def test_the_scheme_is_written_in_any_case(closed: httpx.AsyncClient, key: Made, scheme: str) -> None:
    answer = await closed.get("/v1/makers", headers={"Authorization": scheme + key.written})
    assert answer.status_code == 200


async def test_what_is_no_genuine_key_is_refused(closed: httpx.AsyncClient, key: Made) -> None:
    another_secret = write_key(key.key.id, secret=new_secret())
    another_key = write_key(new_id(), secret=new_secret())
    for shown, code in (
        ("Bearer", "key-malformed"),
        ("Bearer ", "key-malformed"),
        ("Bearer oats", "key-malformed"),
        (f"Bearer {key.written[:-1]}", "key-malformed"),
        (f"Bearer {key.written.upper()}", "key-malformed"),
        (f"Bearer {key.written}, Bearer {key.written}", "key-malformed"),
        (f"Bearer {another_secret}", "key-unknown"),
        (f"Bearer {another_key}", "key-unknown"),
        (f"Basic {key.written}", "key-missing"),
        (key.written, "key-missing"),
        ("", "key-missing"),
    ):
        answer = await closed.get("/v1/makers", headers={"Authorization": shown})
        assert (answer.status_code, code_of(answer)) == (401, code), shown
        wrong = "" if code == "key-missing" else ', error="invalid_token"'
        assert answer.headers["www-authenticate"] == f'Bearer realm="hooflast"{wrong}'
        assert ("ratelimit" in answer.headers) == (code == "key-unknown")


def unknown() -> dict[str, str]:
    """The field that shows a key which nobody has."""
    return {"Authorization": f"Bearer {write_key(new_id(), secret=new_secret())}"}


def from_address(client: httpx.AsyncClient, address: str) -> httpx.AsyncClient:
    """A client of the same service at another address."""
    transport = httpx.ASGITransport(client._transport.app, client=(address, 4711))  # type: ignore[attr-defined]
    return httpx.AsyncClient(transport=transport, base_url="http://hooflast.test")


async def test_so_many_unknown_keys_are_looked_for_from_an_address_and_a_genuine_one_is_let_in_all_the_same(
    closed: httpx.AsyncClient, key: Made, database_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guesses, "LIMIT", Limit(name="unknown-keys", most=5, seconds=60))
    for left in (4, 3, 2, 1, 0):
        answer = await closed.get("/v1/makers", headers=unknown())
        assert (answer.status_code, code_of(answer)) == (401, "key-unknown")
        policy = http_sf.parse(answer.headers["ratelimit-policy"].encode(), tltype="list")
        assert policy == [("unknown-keys", {"q": 5, "w": 60})]
        standing = http_sf.parse(answer.headers["ratelimit"].encode(), tltype="list")
        assert standing == [("unknown-keys", {"r": left, "t": 60})]
    guessed = {"Authorization": f"Bearer {write_key(key.key.id, secret=new_secret())}"}
    for shown in (unknown(), guessed):
        refused = await closed.get("/v1/makers", headers=shown)
        assert (refused.status_code, code_of(refused), refused.headers["retry-after"]) == (429, "limit-reached", "60")
        assert http_sf.parse(refused.headers["ratelimit"].encode(), tltype="list") == [
            ("unknown-keys", {"r": 0, "t": 60})
        ]
        assert "www-authenticate" not in refused.headers
    never_seen = await made(database_url, client="mossgate")
    for genuine in (key, never_seen):
        answer = await closed.get("/v1/makers", headers=genuine.shown)
        assert answer.status_code == 200
        assert "unknown-keys" not in answer.headers["ratelimit"]
    async with from_address(closed, "203.0.113.9") as elsewhere:
        assert (await elsewhere.get("/v1/makers", headers=unknown())).status_code == 401
        assert (await elsewhere.post("/graphql", json={"query": "{__typename}"}, headers=unknown())).status_code == 401
    for shown, status in (({}, 401), ({"Authorization": "Bearer oats"}, 401)):
        assert (await closed.get("/v1/makers", headers=shown)).status_code == status


async def test_beyond_the_limit_a_flood_costs_the_store_few_looks(
    sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(guesses, "LIMIT", Limit(name="unknown-keys", most=1, seconds=60))
    monkeypatch.setattr(gathering, "PAUSE_SECONDS", 0.5)  # however slowly the flood comes in
    alone, together = ClientKeys.shown, ClientKeys.shown_together
    looks: list[int] = []

    async def shown(keys: ClientKeys, key_id: str) -> Key | None:
        looks.append(1)
        return await alone(keys, key_id)

    async def shown_together(keys: ClientKeys, key_ids: Collection[str]) -> dict[str, Key]:
        looks.append(len(key_ids))
        return await together(keys, key_ids)

    monkeypatch.setattr(ClientKeys, "shown", shown)
    monkeypatch.setattr(ClientKeys, "shown_together", shown_together)
    async with serving(sqlite_url, access=Access.KEYS) as client:
        assert (await client.get("/v1/makers", headers=unknown())).status_code == 401
        assert (await client.get("/v1/makers", headers=unknown())).status_code == 429
        answers = await asyncio.gather(*(client.get("/v1/makers", headers=unknown()) for _ in range(40)))
    assert {answer.status_code for answer in answers} == {429}
    assert (looks[:2], sum(looks[2:])) == ([1, 1], 40)
    assert len(looks[2:]) <= 10


async def test_two_keys_in_one_request_are_none(closed: httpx.AsyncClient, key: Made) -> None:
    twice = [("Authorization", f"Bearer {key.written}")] * 2
    answer = await closed.get("/v1/makers", headers=twice)
    assert (answer.status_code, code_of(answer)) == (401, "key-malformed")


async def test_a_new_secret_is_let_in_at_once_and_the_one_before_for_a_while(
    closed: httpx.AsyncClient, key: Made, database_url: str
) -> None:
    assert (await closed.get("/v1/makers", headers=key.shown)).status_code == 200
    secret = new_secret()
    async with open_store(database_url) as store:
        await store.client_keys.rotate(
            key.key.id,
            tenant=TenantId(key.key.tenant),
            digest=digest_of(secret),
            old_until=NOW + timedelta(hours=1),
            by=SOMEBODY,
        )
    renewed = replace(key, written=write_key(key.key.id, secret=secret))
    for shown in (renewed, key):
        assert (await closed.get("/v1/makers", headers=shown.shown)).status_code == 200


async def test_a_revoked_and_an_expired_key_are_refused_with_when(sqlite_url: str) -> None:
    revoked, expiring = await made(sqlite_url), await made(sqlite_url, expires_at=NOW + timedelta(hours=1))
    async with open_store(sqlite_url) as store:
        await store.client_keys.revoke(revoked.key.id, tenant=TenantId(revoked.key.tenant), by=SOMEBODY)
    async with serving(sqlite_url, access=Access.KEYS, clock=lambda: NOW + timedelta(hours=1)) as client:
        for key, code in ((revoked, "key-revoked"), (expiring, "key-expired")):
            answer = await client.get("/v1/makers", headers=key.shown)
            assert (answer.status_code, code_of(answer)) == (401, code)
            assert key.key.id in answer.json()["detail"]


async def test_an_open_service_answers_without_a_key_and_looks_at_one_that_is_shown(sqlite_url: str) -> None:
    key = await made(sqlite_url)
    async with serving(sqlite_url) as client:
        of_key = (await client.post("/v1/matches", json=HORSE, headers=key.shown)).headers["location"]
        of_nobody = (await client.post("/v1/matches", json=HORSE)).headers["location"]
        found = {
            (address, bool(headers)): (await client.get(address, headers=headers)).status_code
            for address in (of_key, of_nobody)
            for headers in (key.shown, {})
        }
        assert found == {(of_key, True): 200, (of_key, False): 404, (of_nobody, True): 404, (of_nobody, False): 200}
        assert (await client.get("/v1/makers", headers={"Authorization": "Bearer oats"})).status_code == 401
        by_proxy = {"Authorization": "Basic b2F0czpoYXk="}
        assert (await client.get("/v1/makers", headers=by_proxy)).status_code == 200


async def test_as_many_requests_are_answered_as_the_limit_says(closed: httpx.AsyncClient, database_url: str) -> None:
    key = await made(database_url, limits=KeyLimits(per_minute=5, per_day=100))
    for left in (4, 3, 2, 1, 0):
        answer = await closed.get("/v1/makers", headers=key.shown)
        assert answer.status_code == 200
        policy = http_sf.parse(answer.headers["ratelimit-policy"].encode(), tltype="list")
        assert policy == [("minute", {"q": 5, "w": 60}), ("day", {"q": 100, "w": 86_400})]
        standing = dict(http_sf.parse(answer.headers["ratelimit"].encode(), tltype="list"))  # type: ignore[arg-type]
        assert standing["minute"] == {"r": left, "t": 60}
    refused = await closed.get("/v1/makers", headers=key.shown)
    assert (refused.status_code, code_of(refused)) == (429, "limit-reached")
    assert refused.headers["retry-after"] == "60"
    assert http_sf.parse(refused.headers["ratelimit"].encode(), tltype="list") == [("minute", {"r": 0, "t": 60})]
    assert "www-authenticate" not in refused.headers


async def test_a_limit_begins_anew_when_it_is_said_to(sqlite_url: str) -> None:
    now = NOW + timedelta(seconds=13)

    def clock() -> datetime:
        return now

    key = await made(sqlite_url, limits=KeyLimits(per_minute=1, per_day=3))
    async with serving(sqlite_url, access=Access.KEYS, clock=clock) as client:
        statuses = []
        for _ in range(4):
            statuses.append((await client.get("/v1/makers", headers=key.shown)).status_code)
            refused = await client.get("/v1/makers", headers=key.shown)
            assert refused.status_code == 429
            now += timedelta(seconds=int(refused.headers["retry-after"]))
            if now.day != NOW.day:
                break
        assert statuses == [200, 200, 200, 429], "three minutes, and then the day is over"
        assert (now.hour, now.minute, now.second) == (0, 0, 0)
        assert (await client.get("/v1/makers", headers=key.shown)).status_code == 200


async def test_each_visitor_of_a_page_has_a_limit_of_its_own(sqlite_url: str) -> None:
    key = await made_for_pages(sqlite_url, limits=replace(PLENTY, per_visitor_minute=2))
    async with serving(sqlite_url, access=Access.KEYS) as client:
        app = client._transport.app  # type: ignore[attr-defined]

        async def statuses(address: str, **headers: str) -> list[int]:
            transport = httpx.ASGITransport(app, client=(address, 4711))
            async with httpx.AsyncClient(transport=transport, base_url="http://hooflast.test") as visitor:
                return [
                    (await visitor.get("/v1/makers", headers=key.from_page() | headers)).status_code for _ in range(3)
                ]

        allowed = [200, 200, 429]
        assert await statuses("198.51.100.1") == allowed
        assert await statuses("198.51.100.2") == allowed
        assert await statuses("2001:db8:1:1::1") == allowed
        assert await statuses("2001:db8:1:1::2") == [429] * 3
        assert await statuses("::ffff:198.51.100.2") == [429] * 3
        assert await statuses("198.51.100.1", **{"X-Forwarded-For": "203.0.113.9"}) == [429] * 3
        assert await statuses("198.51.100.1", Forwarded="for=203.0.113.9") == [429] * 3


async def test_the_visitors_of_a_page_together_are_held_by_the_limit_of_the_key(sqlite_url: str) -> None:
    key = await made_for_pages(sqlite_url, limits=KeyLimits(per_minute=3, per_day=100, per_visitor_minute=2))
    async with serving(sqlite_url, access=Access.KEYS) as client:
        statuses = []
        for number in range(5):
            transport = httpx.ASGITransport(client._transport.app, client=(f"198.51.100.{number}", 1))  # type: ignore[attr-defined]
            async with httpx.AsyncClient(transport=transport, base_url="http://hooflast.test") as visitor:
                statuses.append((await visitor.get("/v1/makers", headers=key.from_page())).status_code)
    assert statuses == [200, 200, 200, 429, 429]


async def test_erasing_is_noted_with_the_key_and_the_request(
    closed: httpx.AsyncClient, key: Made, database_url: str
) -> None:
    address = (await closed.post("/v1/matches", json=HORSE, headers=key.shown)).headers["location"]
    await closed.delete(address, headers={**key.shown, "X-Request-ID": REQUEST_ID})
    async with open_store(database_url) as store:
        entry = (await store.audit.page(tenant=TenantId(key.key.tenant)))[0]
    assert (entry.deed, entry.subject) == (Deed.MATCH_ERASED, address.rpartition("/")[2])
    assert (entry.actor.who, entry.actor.request_id, entry.actor.at) == (f"key:{key.key.id}", REQUEST_ID, NOW)


async def test_no_secret_is_told_in_a_problem_or_in_the_log(sqlite_url: str, events: list[Any]) -> None:
    server, page = await made(sqlite_url, scopes=frozenset({Scope.READ})), await made_for_pages(sqlite_url)
    told = []
    async with serving(sqlite_url, access=Access.KEYS) as client:
        for headers in (
            server.shown,
            {"Authorization": f"Bearer {server.written}x"},
            {"Authorization": server.written},
            {"Authorization": f"Bearer {write_key(server.key.id, secret=new_secret())}"},
            server.from_page(),
            page.shown,
            page.from_page(),
            page.from_page("https://other.example"),
        ):
            for method, address in (("GET", "/v1/makers"), ("POST", "/v1/matches"), ("DELETE", "/v1/matches/x")):
                answer = await client.request(method, address, headers=headers)
                told.append(answer.text + repr(answer.headers))
    written = "".join(told) + json.dumps(events, default=repr)
    for key in (server, page):
        secret = key.written.rpartition("_")[2]
        assert secret[:20] not in written
        assert key.key.secrets[0].digest.hex() not in written


async def test_where_the_store_cannot_be_asked_nobody_is_let_in(
    sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = await made(sqlite_url)
    async with serving(sqlite_url, access=Access.KEYS) as client, open_store(sqlite_url) as store:
        assert (await client.get("/v1/makers", headers=key.shown)).status_code == 200
        async with store.client_keys._sessions.writing() as session:
            connection = await session.connection()
            await connection.exec_driver_sql("ALTER TABLE client_keys RENAME TO away")
        unknown = {"Authorization": f"Bearer {write_key(new_id(), secret=new_secret())}"}
        answer = await client.get("/v1/makers", headers=unknown)
        assert (answer.status_code, code_of(answer)) == (503, "store-unavailable")
        assert answer.headers["retry-after"]
        pages = {"Origin": SHOP_PAGES, "Access-Control-Request-Method": "GET"}
        preflight = await client.options("/v1/makers", headers=pages)
        assert preflight.status_code == 204
        assert "access-control-allow-origin" not in preflight.headers
