"""Idempotency over HTTP: what is sent twice under one key is made once, and answered the same, byte for byte."""

import json
from collections.abc import Awaitable
from contextlib import suppress
from datetime import timedelta

import httpx
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.api.keys import Made, made_for_trying
from tests.api.samples import HORSE, NOW, serving

from hooflast.api.idempotency import _read
from hooflast.api.openapi import openapi_document
from hooflast.api.refusals import IdempotencyKeyUnreadable
from hooflast.api.routes import operations
from hooflast.settings import Access

anyio = pytest.mark.anyio
ASSORTMENT = {"name": "Webshop", "currency": "EUR", "items": {}}
BODIES = {"/v1/matches": HORSE, "/v1/assortments": ASSORTMENT}


@anyio
@pytest.mark.parametrize("path", list(BODIES))
async def test_a_request_sent_twice_makes_one_thing(client_on_both: httpx.AsyncClient, path: str) -> None:
    first, again = [
        await client_on_both.post(path, json=BODIES[path], headers={"idempotency-key": '"one"'}) for _ in range(2)
    ]
    assert first.status_code == again.status_code == 201
    assert first.content == again.content
    for field in ("location", "content-type", "content-language"):
        assert first.headers[field] == again.headers[field]
    other = await client_on_both.post(path, json=BODIES[path], headers={"idempotency-key": '"two"'})
    assert other.headers["location"] != first.headers["location"]


@anyio
async def test_what_was_erased_is_not_answered_again(client_on_both: httpx.AsyncClient) -> None:
    def ask(key: str) -> Awaitable[httpx.Response]:
        return client_on_both.post("/v1/matches", json=HORSE, headers={"idempotency-key": key})

    erased, beside = await ask("one"), await ask("two")
    assert (await client_on_both.delete(erased.headers["location"])).status_code == 204
    assert (await ask("one")).headers["location"] != erased.headers["location"]
    assert (await ask("two")).content == beside.content


@anyio
async def test_another_request_under_the_same_key_is_refused(client: httpx.AsyncClient) -> None:
    key = {"idempotency-key": "one"}
    await client.post("/v1/matches", json=HORSE, headers=key)
    for body, headers in (({**HORSE, "uses": []}, key), (HORSE, {**key, "accept-language": "sv"})):
        refused = await client.post("/v1/matches", json=body, headers=headers)
        assert refused.status_code == 422
        assert refused.json()["type"] == "/problems/idempotency-key-reused"


@anyio
async def test_of_two_keys_none_is_taken_and_nothing_is_made(client: httpx.AsyncClient) -> None:
    for keys in (("one", "two"), ("one", "one"), ('"one"', '"two"')):
        fields = [("content-type", "application/json"), *(("idempotency-key", key) for key in keys)]
        refused = await client.post("/v1/assortments", content=json.dumps(ASSORTMENT), headers=fields)
        assert (refused.status_code, refused.json()["type"]) == (400, "/problems/idempotency-key-unreadable")
    assert (await client.get("/v1/assortments")).json()["items"] == []


@anyio
async def test_keys_in_test_mode_that_live_on_other_days_forget_nothing_of_each_other(sqlite_url: str) -> None:
    async with serving(sqlite_url, access=Access.KEYS) as client:
        early, late = [await made_for_trying(sqlite_url, day=NOW.date() - timedelta(days=days)) for days in (30, 0)]

        def ask(key: Made) -> Awaitable[httpx.Response]:
            return client.post("/v1/assortments", json=ASSORTMENT, headers={**key.shown, "idempotency-key": "one"})

        first, other, again = await ask(early), await ask(late), await ask(early)
        assert first.status_code == other.status_code == 201
        assert again.content == first.content
        assert len((await client.get("/v1/assortments", headers=early.shown)).json()["items"]) == 2


@anyio
async def test_a_request_that_was_refused_made_nothing_and_may_come_again(client: httpx.AsyncClient) -> None:
    key = {"idempotency-key": "one"}
    assert (await client.post("/v1/matches", json={"hooves": []}, headers=key)).status_code == 422
    assert (await client.post("/v1/matches", json=HORSE, headers=key)).status_code == 201


@anyio
@pytest.mark.parametrize("written", ['"', '""', "a b", "x" * 256, '"a"b"'])
async def test_a_key_that_cannot_be_read_is_refused_and_nothing_is_made(
    client: httpx.AsyncClient, written: str
) -> None:
    refused = await client.post("/v1/assortments", content=json.dumps(ASSORTMENT),
                                headers={"idempotency-key": written, "content-type": "application/json"})  # fmt: skip
    assert refused.status_code == 400
    assert refused.json()["type"] == "/problems/idempotency-key-unreadable"
    assert (await client.get("/v1/assortments")).json()["items"] == []


@given(st.text(st.sampled_from([chr(code) for code in range(33, 127) if code != 34]), min_size=1, max_size=255))
def test_a_key_is_the_same_with_and_without_quotes(key: str) -> None:
    assert _read(key) == _read(f'"{key}"') == key


@given(st.text(max_size=300))
def test_whatever_is_written_is_a_key_of_bounded_length_or_unreadable(written: str) -> None:
    with suppress(IdempotencyKeyUnreadable):
        assert 1 <= len(_read(written)) <= 255


def test_every_operation_that_heeds_the_key_says_so_and_has_its_body_here() -> None:
    heeding = {operation.path for operation in operations() if operation.is_made_once}
    told = {
        path
        for path, methods in openapi_document()["paths"].items()
        for described in methods.values()
        if {"$ref": "#/components/parameters/IdempotencyKey"} in described["parameters"]
    }
    assert told == heeding
    assert set(BODIES) <= heeding
