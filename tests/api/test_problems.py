"""Problems: every refusal has one shape, tells all that is wrong, and nothing of the inside."""

import importlib
import json
import pkgutil
import re
from collections.abc import AsyncIterator, Iterator
from datetime import datetime
from typing import Any
from uuid import UUID

import httpx
import msgspec
import pytest
from hypothesis import given
from tests.api.samples import HORSE, serving
from tests.api.strategies import received_values

import hooflast
from hooflast.api import refusals
from hooflast.api.problems import (
    KINDS,
    LONGEST_RECEIVED,
    MOST_ERRORS,
    STATUS,
    Problem,
    diagnose,
    status_of,
    tell,
    title_and_about,
)
from hooflast.errors import Fault, HooflastError, InputRefused, NotFound
from hooflast.store import StoreUnavailable
from hooflast.texts import languages, load_texts

TEXTS = load_texts("en")
SAMPLES: tuple[HooflastError, ...] = (
    InputRefused(faults=(Fault(path=("hooves", 0), code="missing", received=None, facts={"field": "limb"}),)),
    InputRefused(faults=(Fault(path=(), code="not-json", received="{", facts={"line": 1, "column": 1}),)),
    NotFound(resource="boot model", name="x" * 5000),
    refusals.QueryRefused(faults=(Fault(path=("limit",), code="parameter-repeated", received="1"),)),
    refusals.MediaTypeRefused(received="text/plain", accepted="application/json"),
    refusals.NothingAcceptable(received="image/png", accepted="application/json"),
    refusals.BodyTooLarge(limit=65536),
    refusals.BodyTooSlow(seconds=15),
    refusals.ClientGone(),
    refusals.NotReady(reasons=("stopping",)),
)


def kinds_of_error() -> Iterator[type[HooflastError]]:
    for module in pkgutil.walk_packages(hooflast.__path__, "hooflast."):
        if ".migrations." not in module.name and not module.name.endswith("__main__"):
            importlib.import_module(module.name)
    waiting: list[type[HooflastError]] = [HooflastError]
    while waiting:
        kind = waiting.pop()
        waiting += kind.__subclasses__()
        if kind is not HooflastError and kind.__module__.startswith("hooflast."):
            yield kind


def test_every_kind_of_error_has_a_status_of_its_own() -> None:
    assert {kind.__qualname__ for kind in kinds_of_error()} - {kind.__qualname__ for kind in STATUS} == set()


def test_a_kind_of_error_unheard_of_takes_the_status_of_the_kind_above_it() -> None:
    class Finer(NotFound):
        pass

    assert status_of(Finer) == 404
    assert status_of(HooflastError) is None


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("code", KINDS)
def test_every_kind_of_problem_is_called_and_explained_in_every_language(code: str, language: str) -> None:
    texts = load_texts(language)
    assert texts.has(f"problem.{code}.title")
    assert texts.has(f"problem.{code}.detail")
    assert all(title_and_about(code, texts=texts))


@pytest.mark.parametrize(
    "error", SAMPLES, ids=[f"{place} {type(error).__name__}" for place, error in enumerate(SAMPLES)]
)
def test_every_kind_of_problem_can_be_told(error: HooflastError) -> None:
    problem = told(error)
    assert problem.status == KINDS[problem.type.rpartition("/")[2]]
    assert problem.title
    assert problem.detail
    assert len(problem.detail) < 500


def test_all_faults_are_told_with_their_places() -> None:
    places: list[tuple[str | int, ...]] = [(), ("hooves", 0, "width"), ("a/b", "c~d")]
    faults = tuple(Fault(path=place, code="missing", received=1, facts={"field": "x"}) for place in places)
    errors = told(InputRefused(faults=faults)).errors
    assert isinstance(errors, list)
    assert [error.pointer for error in errors] == ["", "/hooves/0/width", "/a~1b/c~0d"]


def test_no_more_errors_are_told_than_the_document_says() -> None:
    faults = tuple(
        Fault(path=(place,), code="missing", received=1, facts={"field": "x"}) for place in range(2 * MOST_ERRORS)
    )
    errors = told(InputRefused(faults=faults)).errors
    assert isinstance(errors, list)
    assert len(errors) == MOST_ERRORS


@given(received=received_values)
def test_whatever_came_can_be_told_and_is_short(received: object) -> None:
    fault = Fault(path=("x",), code="missing", received=received, facts={"field": "x"})
    raw = tell(diagnose(InputRefused(faults=(fault,))), texts=TEXTS, base="", request_id="x")
    shown = json.loads(raw)["errors"][0]["received"]
    assert not isinstance(shown, list | dict)
    assert len(str(shown)) <= LONGEST_RECEIVED + 200
    if received is None or isinstance(received, bool):
        assert shown is received


def test_what_cannot_be_written_as_json_is_named_by_its_type() -> None:
    nested: list[Any] = []
    for _ in range(100_000):
        nested = [nested]
    for received in (nested, object(), {1: object()}):
        fault = Fault(path=(), code="missing", received=received, facts={"field": "x"})
        assert told(InputRefused(faults=(fault,))).status == 422


def test_what_only_the_operator_may_know_is_not_told() -> None:
    error = StoreUnavailable(reason="password authentication failed for user rook at 10.0.0.7")
    raw = tell(diagnose(error), texts=TEXTS, base="", request_id="x")
    assert b"rook" not in raw
    assert b"10.0.0.7" not in raw


@pytest.mark.anyio
async def test_an_unexpected_error_is_logged_whole_and_told_without_its_inside(
    sqlite_url: str, events: list[Any]
) -> None:
    def broken_clock() -> datetime:
        raise RuntimeError("secret inside")

    async with serving(sqlite_url, clock=broken_clock) as client:
        answer = await client.post("/v1/matches", json=HORSE)
    assert (answer.status_code, answer.json()["type"]) == (500, "/problems/unexpected")
    assert "secret" not in answer.text
    assert "RuntimeError" not in answer.text
    (logged,) = [event for event in events if event["event"] == "unexpected error"]
    assert isinstance(logged["exc_info"], RuntimeError)
    assert f"urn:uuid:{logged['request_id']}" == answer.json()["instance"]


@pytest.mark.anyio
async def test_when_even_the_problem_cannot_be_told_the_answer_still_is_one(
    sqlite_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(*_: object, **__: object) -> bytes:
        raise RuntimeError("secret inside")

    monkeypatch.setattr("hooflast.api.problems.tell", broken)
    async with serving(sqlite_url) as client:
        answer = await client.get("/nowhere")
    assert (answer.status_code, answer.headers["content-type"]) == (500, "application/problem+json")
    assert msgspec.json.decode(answer.content, type=Problem).type == "/problems/unexpected"
    assert "secret" not in answer.text


@pytest.mark.anyio
@pytest.mark.parametrize(
    ("body", "status", "code"),
    [
        (b"", 400, "not-json"),
        (b"{", 400, "not-json"),
        (b'{"a": 1} x', 400, "not-json"),
        (b"\xff\xfe{}", 400, "not-utf-8"),
        (b'{"hooves": "\xc3\x28"}', 400, "not-utf-8"),
        (b"[]", 422, None),
        (b"null", 422, None),
        (b"1e999", 422, None),
        (b"NaN", 422, None),
        (b'{"hooves": [{"limb": "LF", "width": NaN, "length": -Infinity}]}', 422, None),
        (b"[" * 30_000, 422, None),
        (b'{"a":' * 10_000 + b"1" + b"}" * 10_000, 422, None),
        (b'{"horse": {"name": "\\ud800"}, "hooves": []}', 422, None),
        (b'{"horse": {"name": "a\\u0000b"}, "hooves": []}', 422, None),
        (b'{"hooves": [], "hooves": []}', 422, None),
        (b'{"boots_per_hoof": ' + b"9" * 5000 + b"}", 422, None),
    ],
)
async def test_a_body_that_cannot_be_right_is_refused(
    client: httpx.AsyncClient, body: bytes, status: int, code: str | None
) -> None:
    answer = await client.post("/v1/matches", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == status, answer.text
    errors = msgspec.json.decode(answer.content, type=Problem).errors
    assert isinstance(errors, list)
    assert errors
    if code is not None:
        assert errors[0].code == code


@pytest.mark.anyio
async def test_a_body_may_begin_with_a_byte_order_mark(client: httpx.AsyncClient) -> None:
    body = b"\xef\xbb\xbf" + json.dumps(HORSE).encode()
    answer = await client.post("/v1/matches", content=body, headers={"Content-Type": "application/json"})
    assert answer.status_code == 201


@pytest.mark.anyio
@pytest.mark.parametrize("announced", [True, False], ids=["announced", "chunked"])
async def test_a_body_over_the_limit_is_refused_before_it_has_been_read(sqlite_url: str, announced: bool) -> None:
    sent = 0

    async def endless() -> AsyncIterator[bytes]:
        nonlocal sent
        while sent < 50_000_000:
            sent += 1000
            yield b" " * 1000

    headers = {"Content-Type": "application/json", **({"Content-Length": "50000000"} if announced else {})}
    async with serving(sqlite_url, max_body_bytes=4096) as client:
        answer = await client.post("/v1/matches", content=endless(), headers=headers)
    assert (answer.status_code, answer.json()["type"]) == (413, "/problems/body-too-large")
    assert answer.headers["connection"] == "close"
    assert sent <= (0 if announced else 5000)


@pytest.mark.anyio
async def test_a_body_as_long_as_the_limit_is_read(sqlite_url: str) -> None:
    body = json.dumps(HORSE).encode().ljust(4096)
    async with serving(sqlite_url, max_body_bytes=4096) as client:
        for content, status in ((body, 201), (body + b" ", 413)):
            answer = await client.post("/v1/matches", content=content, headers={"Content-Type": "application/json"})
            assert answer.status_code == status


@pytest.mark.anyio
@pytest.mark.parametrize(
    "given_type",
    [
        None,
        "",
        "json",
        "text/json",
        "text/plain",
        "application/ld+json",
        "application/x-www-form-urlencoded",
        "application/json; charset=latin-1",
        'application/json; charset="utf-16"',
    ],
)
async def test_a_body_of_another_kind_is_refused(client: httpx.AsyncClient, given_type: str | None) -> None:
    headers = {} if given_type is None else {"Content-Type": given_type}
    answer = await client.post("/v1/matches", content=json.dumps(HORSE), headers=headers)
    assert (answer.status_code, answer.headers["accept"]) == (415, "application/json")
    assert answer.headers["content-type"] == "application/problem+json"


@pytest.mark.anyio
@pytest.mark.parametrize(
    "given_type", ["application/json", "Application/JSON ; charset=UTF-8", 'application/json;charset="utf-8"']
)
async def test_json_in_utf_8_is_read_however_it_is_spelled(client: httpx.AsyncClient, given_type: str) -> None:
    answer = await client.post("/v1/matches", content=json.dumps(HORSE), headers={"Content-Type": given_type})
    assert answer.status_code == 201


@pytest.mark.anyio
async def test_a_compressed_body_is_refused(client: httpx.AsyncClient) -> None:
    headers = {"Content-Type": "application/json", "Content-Encoding": "gzip"}
    answer = await client.post("/v1/matches", content=b"\x1f\x8b", headers=headers)
    assert (answer.status_code, answer.headers["accept-encoding"]) == (415, "identity")


@pytest.mark.anyio
async def test_a_client_that_accepts_nothing_there_is_is_told_so(client: httpx.AsyncClient) -> None:
    for address, accept in (("/v1/boots", "text/html"), ("/reference", "application/json"), ("/v1/boots", "*/*;q=0")):
        answer = await client.get(address, headers={"Accept": accept})
        assert (answer.status_code, answer.headers["content-type"]) == (406, "application/problem+json")


@pytest.mark.anyio
async def test_a_request_keeps_the_id_it_came_with_and_gets_one_otherwise(
    client: httpx.AsyncClient, events: list[Any]
) -> None:
    own = "0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11"
    for sent, kept in ((own, True), (own.upper(), True), ("x", False), ("", False), ("a" * 500, False), ("é", False)):
        answer = await client.get("/nowhere", headers=[(b"X-Request-ID", sent.encode())])
        request_id = answer.headers["x-request-id"]
        assert str(UUID(request_id)) == request_id
        assert (request_id == own) is kept
        assert answer.json()["instance"] == f"urn:uuid:{request_id}"
        assert [event["request_id"] for event in events if event["event"] == "request"][-1] == request_id


@pytest.mark.anyio
async def test_the_access_line_names_the_route_and_neither_ids_nor_queries(
    client: httpx.AsyncClient, events: list[Any]
) -> None:
    await client.get("/v1/boots/vellory-oak?catalog_release=x")
    await client.get("/nowhere/private")
    lines = [event for event in events if event["event"] == "request"]
    assert [(line["method"], line["route"], line["status"]) for line in lines] == [
        ("GET", "/v1/boots/{boot_id}", 400),
        ("GET", "none", 404),
    ]
    assert all(line["duration_ms"] >= 0 for line in lines)
    assert "private" not in repr(lines)


def told(error: Exception) -> Problem:
    raw = tell(diagnose(error), texts=TEXTS, base="", request_id="0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11")
    return msgspec.json.decode(raw, type=Problem)


@pytest.mark.anyio
async def test_the_page_of_problems_names_every_kind_with_its_status(client: httpx.AsyncClient) -> None:
    answer = await client.get("/problems")
    assert answer.status_code == 200
    rows = re.findall(r'<tr><td>(\d+)</td><td><b>[^<]+</b> <a href="/problems/([a-z-]+)">', answer.text)
    assert {code: int(status) for status, code in rows} == dict(KINDS)
    for _, code in rows[:3]:
        assert (await client.get(f"/problems/{code}")).status_code == 200
