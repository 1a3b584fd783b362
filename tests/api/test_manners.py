"""Manners: HEAD, OPTIONS, Allow, Accept, and what no request may do."""

from typing import Any
from urllib.parse import quote

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from tests.api.samples import HORSE
from tests.api.strategies import bodies, header_values, headers, methods, raw_queries, texts

from hooflast.api.conversation import with_head
from hooflast.api.negotiation import is_acceptable
from hooflast.api.routes import operations

pytestmark = pytest.mark.anyio

READABLE = [
    *(operation.path for operation in operations() if operation.method == "GET" and not operation.path_parameters),
    "/v1/boots/vellory-oak",
    "/v1/boots/vellory-oak/sizes",
    "/problems/not-found",
    "/v1/boots/nothing",
]


@pytest.mark.parametrize("address", READABLE)
async def test_head_gives_the_headers_of_get_and_no_body(client: httpx.AsyncClient, address: str) -> None:
    got, headed = await client.get(address), await client.head(address)
    assert headed.status_code == got.status_code
    assert headed.content == b""
    differing = {"x-request-id"}
    assert without(headed.headers, differing) == without(got.headers, differing)


async def test_a_match_is_headed_too(client: httpx.AsyncClient) -> None:
    address = (await client.post("/v1/matches", json=HORSE)).headers["location"]
    headed = await client.head(address)
    assert (headed.status_code, headed.content) == (200, b"")
    assert int(headed.headers["content-length"]) > 0


@pytest.mark.parametrize(
    ("address", "allowed"),
    [
        ("/v1/boots", {"GET", "HEAD", "OPTIONS"}),
        ("/v1/matches", {"POST", "OPTIONS"}),
        ("/v1/matches/0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11", {"GET", "HEAD", "DELETE", "OPTIONS"}),
    ],
)
async def test_an_address_says_which_methods_it_takes(
    client: httpx.AsyncClient, address: str, allowed: set[str]
) -> None:
    asked = await client.options(address)
    assert (asked.status_code, asked.content) == (204, b"")
    assert set(asked.headers["allow"].split(", ")) == allowed
    for method in {"GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "TRACE", "QUERY", "BREW"} - allowed:
        refused = await client.request(method, address)
        assert refused.status_code == 405, method
        assert set(refused.headers["allow"].split(", ")) == allowed
        assert refused.headers["content-type"] == "application/problem+json"


@pytest.mark.parametrize(
    ("address", "method"), [("/v1/boots", "GET"), ("/nowhere", "GET"), ("/v1/boots", "PUT"), ("/reference", "GET")]
)
async def test_no_answer_is_guessed_at_or_open_to_other_origins(
    client: httpx.AsyncClient, address: str, method: str
) -> None:
    answer = await client.request(method, address, headers={"Origin": "https://elsewhere.example"})
    assert answer.headers["x-content-type-options"] == "nosniff"
    assert not [name for name in answer.headers if name.startswith("access-control-")]
    assert "server" not in answer.headers


async def test_pages_run_no_script_and_fetch_nothing(client: httpx.AsyncClient) -> None:
    for address in ("/reference", "/problems/not-found"):
        page = await client.get(address)
        assert page.headers["content-security-policy"].startswith("default-src 'none'")
        assert "<script" not in page.text
        assert "src=" not in page.text
        assert 'href="http' not in page.text


@pytest.mark.parametrize(
    ("accept", "acceptable"),
    [
        ("application/json", True),
        ("APPLICATION/JSON", True),
        ("application/*", True),
        ("*/*", True),
        ("text/html, */*;q=0.1", True),
        ("application/json;q=0", False),
        ("application/json;q=0, */*", False),
        ("*/*;q=0, application/json", True),
        ("application/json;charset=utf-8;q=0.5", True),
        ("text/html", False),
        ("application/problem+json", False),
        ("image/png, text/*", False),
        ("rubbish", True),
        ("rubbish, text/html", False),
        (",,,", True),
    ],
)
async def test_an_accept_header_is_read_as_the_standard_says(accept: str, acceptable: bool) -> None:
    assert is_acceptable("application/json", accept=accept) is acceptable


@given(accept=header_values)
async def test_any_accept_header_can_be_read(accept: str) -> None:
    assert is_acceptable("application/json", accept=accept) in (True, False)


async def test_head_stands_beside_get_in_allow() -> None:
    assert with_head(b"POST, GET") == b"GET, HEAD, POST"
    assert with_head(b"POST") == b"POST"


any_number_on_one_client = settings(
    suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=60
)


@any_number_on_one_client
@given(raw=bodies)
async def test_no_body_makes_the_service_fail(client: httpx.AsyncClient, raw: bytes) -> None:
    answer = await client.post("/v1/matches", content=raw, headers={"Content-Type": "application/json"})
    assert answer.status_code in (201, 400, 422), answer.text


@any_number_on_one_client
@given(path=texts, raw_query=raw_queries, method=methods)
async def test_no_address_makes_the_service_fail(
    client: httpx.AsyncClient, path: str, raw_query: bytes, method: str
) -> None:
    for before in ("/", "/v1/boots/", "/v1/matches/", "/v1/catalog-releases/", "/problems/"):
        url = httpx.URL(f"http://hooflast.test{before}{quote(path, safe='')}").copy_with(
            query=quote(raw_query, safe="&=%+").encode()
        )
        assert (await client.request(method, url)).status_code < 500


@any_number_on_one_client
@given(headers=headers)
async def test_no_header_makes_the_service_fail(client: httpx.AsyncClient, headers: list[tuple[bytes, bytes]]) -> None:
    for method, address in (("GET", "/v1/boots"), ("POST", "/v1/matches"), ("GET", "/nowhere")):
        answer = await client.request(method, address, headers=headers)
        assert answer.status_code < 500, answer.text


def without(headers: Any, names: set[str]) -> dict[str, str]:
    return {name: value for name, value in headers.items() if name not in names}
