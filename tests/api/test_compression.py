"""Compression: packed and plain are the same answer, each under an ETag of its own."""

import gzip

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.api.samples import HORSE

from hooflast.api.compression import LEAST_BYTES, takes_gzip

anyio = pytest.mark.anyio
BOOTS = "/v1/boots?limit=100"


@pytest.mark.parametrize(
    ("accept", "takes"),
    [
        ("gzip", True), ("gzip, br", True), ("br;q=1.0, gzip;q=0.8", True), ("*", True), ("GZIP", True),
        ("", False), ("identity", False), ("gzip;q=0", False), ("gzip;q=0.000, *", False), ("br", False),
        ("*;q=0", False), ("gzip;q=x, deflate", False),
    ],
)  # fmt: skip
def test_gzip_is_sent_to_who_takes_it(accept: str, *, takes: bool) -> None:
    assert takes_gzip(accept) is takes


@given(st.text(max_size=60))
def test_whatever_is_accepted_is_read(accept: str) -> None:
    assert takes_gzip(accept) in {True, False}


async def asked(client: httpx.AsyncClient, path: str, **headers: str) -> httpx.Response:
    """The answer with its body as it was sent."""
    request = client.build_request("GET", path, headers={"accept-encoding": "identity", **headers})
    answer = await client.send(request, stream=True)
    answer.extensions["raw"] = b"".join([chunk async for chunk in answer.aiter_raw()])
    return answer


@anyio
@pytest.mark.parametrize("path", [BOOTS, "/", "/openapi.json"])
async def test_a_packed_answer_unpacks_to_the_plain_one(client: httpx.AsyncClient, path: str) -> None:
    plain = await asked(client, path)
    packed = await asked(client, path, **{"accept-encoding": "gzip"})
    raw = packed.extensions["raw"]
    assert gzip.decompress(raw) == plain.extensions["raw"]
    assert len(raw) < len(plain.extensions["raw"])
    assert packed.headers["content-encoding"] == "gzip"
    assert int(packed.headers["content-length"]) == len(raw)
    assert "content-encoding" not in plain.headers
    for answer in (plain, packed):
        assert "Accept-Encoding" in answer.headers["vary"]


@anyio
async def test_each_has_an_etag_of_its_own_and_both_revalidate(client: httpx.AsyncClient) -> None:
    plain = await asked(client, BOOTS)
    packed = await asked(client, BOOTS, **{"accept-encoding": "gzip"})
    assert plain.headers["etag"] != packed.headers["etag"]
    for answer in (plain, packed):
        tag = answer.headers["etag"]
        unchanged = await asked(client, BOOTS, **{"accept-encoding": "gzip", "if-none-match": tag})
        assert (unchanged.status_code, unchanged.headers["etag"]) == (304, tag)


@anyio
async def test_what_is_short_is_sent_as_it_is(client: httpx.AsyncClient) -> None:
    answer = await asked(client, "/health/live", **{"accept-encoding": "gzip"})
    assert len(answer.extensions["raw"]) < LEAST_BYTES
    assert "content-encoding" not in answer.headers


@anyio
async def test_head_tells_what_get_would_send(client: httpx.AsyncClient) -> None:
    head = await client.head(BOOTS, headers={"accept-encoding": "gzip"})
    get = await asked(client, BOOTS, **{"accept-encoding": "gzip"})
    for field in ("content-encoding", "content-length", "etag"):
        assert head.headers[field] == get.headers[field]
    assert head.content == b""


@anyio
async def test_a_kept_match_is_the_same_whichever_way_it_is_read(client: httpx.AsyncClient) -> None:
    made = await client.post("/v1/matches", json=HORSE)
    packed = await asked(client, made.headers["location"], **{"accept-encoding": "gzip"})
    assert gzip.decompress(packed.extensions["raw"]) == made.content
