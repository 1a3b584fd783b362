"""CORS: a page reads an answer where a browser key is for its origin, and no other page ever does."""

from dataclasses import replace
from datetime import timedelta

import httpx
import pytest
from tests.api.keys import PLENTY, SHOP_PAGES, Made, code_of, made, made_for_pages
from tests.api.samples import HORSE, NOW, serving

from hooflast.access.key import Scope
from hooflast.api.routes import methods_by_path
from hooflast.settings import Access

pytestmark = pytest.mark.anyio
OTHERS = (
    "https://other.example",
    "null",
    "https://tarn-and-tether.example.evil.example",
    "http://tarn-and-tether.example",
    "https://tarn-and-tether.example:8443",
    "https://TARN-AND-TETHER.example",
    f"{SHOP_PAGES} https://other.example",
    "*",
)


def cors_of(answer: httpx.Response) -> dict[str, str]:
    return {name: value for name, value in answer.headers.items() if name.startswith("access-control-")}


def preflight(origin: str, method: str = "POST") -> dict[str, str]:
    return {
        "Origin": origin,
        "Access-Control-Request-Method": method,
        "Access-Control-Request-Headers": "authorization,content-type",
    }


async def test_a_page_of_the_key_reads_every_answer(sqlite_url: str) -> None:
    key = await made_for_pages(sqlite_url, limits=replace(PLENTY, per_visitor_minute=6))
    statuses = []
    async with serving(sqlite_url, access=Access.KEYS) as client:
        for method, address, body in (
            ("POST", "/v1/matches", HORSE),
            ("POST", "/v1/matches", {"hooves": []}),
            ("GET", "/v1/boots/nothing", None),
            ("DELETE", "/v1/matches/x", None),
            ("GET", "/v1/makers?oats=1", None),
            ("GET", "/v1/makers", None),
            ("GET", "/v1/makers", None),
            ("GET", "/v1/makers", None),
        ):
            answer = await client.request(method, address, json=body, headers=key.from_page())
            statuses.append(answer.status_code)
            seen = cors_of(answer)
            assert seen.pop("access-control-allow-origin") == SHOP_PAGES
            exposed = {name.lower() for name in seen.pop("access-control-expose-headers").split(", ")}
            assert {"x-request-id", "ratelimit", "ratelimit-policy", "retry-after", "etag"} <= exposed
            assert seen == {}
    assert statuses == [201, 422, 404, 403, 400, 200, 200, 429]


async def test_a_page_of_the_key_reads_that_the_key_has_expired(sqlite_url: str) -> None:
    key = await made_for_pages(sqlite_url, expires_at=NOW + timedelta(days=1))
    async with serving(sqlite_url, access=Access.KEYS, clock=lambda: NOW + timedelta(days=2)) as client:
        answer = await client.get("/v1/makers", headers=key.from_page())
    assert (answer.status_code, code_of(answer)) == (401, "key-expired")
    assert answer.headers["access-control-allow-origin"] == SHOP_PAGES


@pytest.mark.parametrize("origin", OTHERS)
async def test_no_other_page_reads_or_asks_anything(sqlite_url: str, origin: str) -> None:
    key = await made_for_pages(sqlite_url)
    async with serving(sqlite_url, access=Access.KEYS) as client:
        answers = [
            await client.get("/v1/makers", headers=key.from_page(origin)),
            await client.get("/v1/makers", headers={"Origin": origin}),
            await client.get("/v1/nowhere", headers=key.from_page(origin)),
            await client.get("/openapi.json", headers={"Origin": origin}),
            await client.options("/v1/matches", headers=preflight(origin)),
        ]
    assert (answers[0].status_code, code_of(answers[0])) == (403, "origin-refused")
    assert SHOP_PAGES in answers[0].json()["detail"]
    for answer in answers:
        assert cors_of(answer) == {}


async def test_a_browser_key_is_not_let_in_from_no_page(sqlite_url: str) -> None:
    key = await made_for_pages(sqlite_url)
    async with serving(sqlite_url, access=Access.KEYS) as client:
        answer = await client.get("/v1/makers", headers=key.shown)
    assert (answer.status_code, code_of(answer)) == (403, "origin-refused")


@pytest.mark.parametrize("access", Access)
@pytest.mark.parametrize("origin", [SHOP_PAGES, "null"])
async def test_the_key_of_a_server_is_let_in_from_no_page(sqlite_url: str, access: Access, origin: str) -> None:
    key, page = await made(sqlite_url), await made_for_pages(sqlite_url)
    assert page.key.origins == (SHOP_PAGES,)
    async with serving(sqlite_url, access=access) as client:
        answer = await client.get("/v1/makers", headers=key.from_page(origin))
    assert (answer.status_code, code_of(answer)) == (403, "server-key-in-browser")
    assert cors_of(answer) == {}


async def test_a_page_may_ask_in_an_open_service_only_with_a_key(sqlite_url: str) -> None:
    await made_for_pages(sqlite_url)
    async with serving(sqlite_url) as client:
        answer = await client.get("/v1/makers", headers={"Origin": SHOP_PAGES})
    assert cors_of(answer) == {}


async def test_a_page_that_is_known_may_send_what_each_address_takes(
    client_on_both: httpx.AsyncClient, database_url: str
) -> None:
    await made_for_pages(database_url)
    for path, methods in methods_by_path().items():
        answer = await client_on_both.options(path.replace("{", "").replace("}", ""), headers=preflight(SHOP_PAGES))
        assert answer.status_code == 204, path
        seen = cors_of(answer)
        assert seen["access-control-allow-origin"] == SHOP_PAGES
        assert set(seen["access-control-allow-methods"].split(", ")) >= set(methods)
        allowed = set(seen["access-control-allow-headers"].split(", "))
        assert {"authorization", "content-type", "idempotency-key", "if-match", "if-none-match"} <= allowed
        assert "access-control-allow-credentials" not in seen
        assert set(seen) == {
            "access-control-allow-origin",
            "access-control-allow-methods",
            "access-control-allow-headers",
            "access-control-max-age",
        }


async def test_what_is_not_there_is_not_allowed(client: httpx.AsyncClient, sqlite_url: str) -> None:
    await made_for_pages(sqlite_url)
    assert cors_of(await client.options("/v1/nowhere", headers=preflight(SHOP_PAGES))) == {}
    assert cors_of(await client.options("/v1/makers", headers={"Origin": SHOP_PAGES})) == {}


async def test_a_page_is_let_ask_as_soon_as_there_is_a_key_for_it(sqlite_url: str) -> None:
    async with serving(sqlite_url, access=Access.KEYS) as client:
        assert cors_of(await client.options("/v1/makers", headers=preflight(SHOP_PAGES))) == {}
        key: Made = await made_for_pages(sqlite_url, scopes=frozenset({Scope.READ}))
        assert cors_of(await client.options("/v1/makers", headers=preflight(SHOP_PAGES)))
        assert (await client.get("/v1/makers", headers=key.from_page())).status_code == 200


async def test_every_answer_says_that_it_depends_on_the_page(client: httpx.AsyncClient) -> None:
    for method, address in (("GET", "/v1/makers"), ("GET", "/openapi.json"), ("GET", "/v1/nowhere"), ("OPTIONS", "/")):
        varies = (await client.request(method, address)).headers.get_list("vary", split_commas=True)
        assert "Origin" in varies
