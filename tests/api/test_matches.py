"""Matches: what is answered is what is kept, whoever asks again, until it is erased."""

from typing import Any

import httpx
import pytest
from tests.api.samples import HORSE, NEWER, OLDER, serving

from hooflast.exchange import MatchAnswerDocument
from hooflast.matching.receipt import read_receipt
from hooflast.store import open_store

pytestmark = pytest.mark.anyio


async def test_a_match_is_read_again_byte_for_byte(client_on_both: httpx.AsyncClient) -> None:
    made = await client_on_both.post("/v1/matches", json=HORSE)
    assert (made.status_code, made.headers["content-type"]) == (201, "application/json")
    again = await client_on_both.get(made.headers["location"])
    assert (again.status_code, again.content) == (200, made.content)
    assert made.headers["location"] == f"/v1/matches/{made.json()['id']}"


async def test_an_erased_match_is_gone_for_good(client_on_both: httpx.AsyncClient) -> None:
    address = (await client_on_both.post("/v1/matches", json=HORSE)).headers["location"]
    erased = await client_on_both.delete(address)
    assert (erased.status_code, erased.content) == (204, b"")
    for answer in (await client_on_both.get(address), await client_on_both.delete(address)):
        assert (answer.status_code, answer.json()["type"]) == (404, "/problems/not-found")


async def test_nobody_reads_or_erases_a_match_of_another_tenant(database_url: str) -> None:
    async with serving(database_url, tenant="mossgate") as clinic, serving(database_url, tenant="tarn") as shop:
        address = (await clinic.post("/v1/matches", json=HORSE)).headers["location"]
        assert (await shop.get(address)).status_code == 404
        assert (await shop.delete(address)).status_code == 404
        assert (await clinic.get(address)).status_code == 200


@pytest.mark.parametrize("match_id", ["x", "%00", "0193f5c2-7c1e-4d55-9c3a-3a1f0f6f2b11", "0" * 5000, "é", "' or 1=1"])
async def test_what_cannot_be_a_match_is_not_found(client_on_both: httpx.AsyncClient, match_id: str) -> None:
    for method in ("GET", "DELETE"):
        assert (await client_on_both.request(method, f"/v1/matches/{match_id}")).status_code == 404


async def test_the_receipt_was_signed_with_the_key_of_the_store(sqlite_url: str) -> None:
    async with serving(sqlite_url) as client:
        answer = (await client.post("/v1/matches", json=HORSE)).json()
    async with open_store(sqlite_url) as store:
        key = await store.signing_keys.newest()
    assert key is not None
    payload = read_receipt(answer["receipt"], secret_of={key.kid: key.secret}.get)
    assert (payload["jti"], payload["catalog_release"]) == (answer["id"], NEWER.id)


async def test_two_processes_sign_with_one_key(sqlite_url: str) -> None:
    async with serving(sqlite_url) as one, serving(sqlite_url) as other:
        receipts = [(await client.post("/v1/matches", json=HORSE)).json()["receipt"] for client in (one, other)]
    heads = {receipt.split(".")[0] for receipt in receipts}
    assert len(heads) == 1


async def test_a_match_answers_from_the_catalog_release_it_pins(client: httpx.AsyncClient) -> None:
    for release in (OLDER, NEWER):
        answer = (await client.post("/v1/matches", json={**HORSE, "catalog_release": release.id})).json()
        assert answer["versions"]["catalog_release"] == release.id
        shown = {fit["boot"]["id"] for hoof in answer["hooves"] for fit in hoof["boots"]}
        assert shown <= set(release.boots)


async def test_a_catalog_release_nobody_knows_is_a_fault_of_the_form(client: httpx.AsyncClient) -> None:
    answer = await client.post("/v1/matches", json={**HORSE, "catalog_release": "sha256-none"})
    assert answer.status_code == 422
    (error,) = answer.json()["errors"]
    assert (error["pointer"], error["code"]) == ("/catalog_release", "catalog-release-unknown")


async def test_a_match_names_the_versions_and_the_language_it_was_made_with(client: httpx.AsyncClient) -> None:
    made = await client.post("/v1/matches", json=HORSE, headers={"Accept-Language": "xx, en;q=0.5"})
    versions = made.json()["versions"]
    assert versions["catalog_release"] == NEWER.id
    assert versions["engine"]
    assert versions["language"] == made.headers["content-language"] == "en"


async def test_every_fault_of_a_form_is_told_at_once(client: httpx.AsyncClient) -> None:
    form: dict[str, Any] = {
        "hooves": [
            {"limb": "LM", "width": "12 stone", "length": 128},
            {"limb": "LF", "width": 3, "length": True},
        ],
        "uses": ["flying"],
        "colour": "bay",
    }
    answer = await client.post("/v1/matches", json=form)
    assert answer.status_code == 422
    pointers = [error["pointer"] for error in answer.json()["errors"]]
    expected = {"/hooves/0/limb", "/hooves/0/width", "/hooves/1/width", "/hooves/1/length", "/uses/0", "/colour"}
    assert expected <= set(pointers)
    assert all(error["detail"] and error["accepted"] for error in answer.json()["errors"])


async def test_an_answer_has_the_members_its_document_declares_and_no_others(client: httpx.AsyncClient) -> None:
    answer = (await client.post("/v1/matches", json=HORSE)).json()
    assert set(answer) == set(MatchAnswerDocument.__struct_fields__)


async def test_nothing_is_kept_of_what_is_refused(client_on_both: httpx.AsyncClient, database_url: str) -> None:
    await client_on_both.post("/v1/matches", json={"hooves": []})
    async with open_store(database_url) as store:
        assert await store.answers.page(tenant="local") == ()  # type: ignore[arg-type]


async def test_a_database_without_tables_is_told_and_no_fault_of_the_caller(bare_database_url: str) -> None:
    async with serving(bare_database_url, library=None) as client:
        made = await client.post("/v1/matches", json=HORSE)
        ready = await client.get("/health/ready")
        live = await client.get("/health/live")
    assert (made.status_code, made.json()["type"]) == (503, "/problems/store-unavailable")
    assert (ready.status_code, [error["code"] for error in ready.json()["errors"]]) == (
        503,
        ["schema-not-current", "catalog-unavailable"],
    )
    assert live.status_code == 200
