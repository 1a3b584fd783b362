"""Keys for trying: for ever on one catalog release and one day, apart from all that is real."""

from datetime import timedelta
from typing import Any

import httpx
import pytest
from tests.api.keys import Made, code_of, made, made_for_trying
from tests.api.samples import HORSE, LIBRARY, NEWER, NOW, OLDER, put_out, serving

from hooflast.access.key import KeyLimits
from hooflast.catalog.library import Library
from hooflast.catalog.lifecycle import Signature, WhenActive
from hooflast.settings import Access
from hooflast.store import TenantId, open_store

pytestmark = pytest.mark.anyio
BUYER = Signature(by="tarn-and-tether", at=NOW)
LATER = NOW + timedelta(days=40)
HORSE_OF_LAST_WEEK = HORSE | {"measured_on": "2026-04-24"}


async def answered(client: httpx.AsyncClient, key: Made, horse: dict[str, Any] = HORSE_OF_LAST_WEEK) -> dict[str, Any]:
    answer = await client.post("/v1/matches", json=horse, headers=key.shown)
    assert answer.status_code == 201, answer.text
    told: dict[str, Any] = answer.json()
    return told


def numbers(told: dict[str, Any]) -> dict[str, Any]:
    """An answer without what each has of its own."""
    return {name: value for name, value in told.items() if name not in {"id", "receipt"}}


async def test_the_same_horse_gets_the_same_numbers_whatever_is_published_and_whenever(database_url: str) -> None:
    trying, live = await _published_then(database_url, Library(releases=(OLDER,)))
    async with serving(database_url, library=None, access=Access.KEYS) as client:
        before = {key: await answered(client, key) for key in (trying, live)}
    await put_out(LIBRARY, database_url)
    async with serving(database_url, library=None, access=Access.KEYS, clock=lambda: LATER) as client:
        after = {key: await answered(client, key) for key in (trying, live)}
        served = (await client.get("/v1/boots", headers=trying.shown)).json()
        assert (await client.get("/v1/makers", headers=live.shown)).status_code == 200
    assert numbers(after[trying]) == numbers(before[trying])
    assert after[trying]["versions"]["catalog_release"] == served["catalog_release"] == OLDER.id
    assert after[live]["versions"]["catalog_release"] == NEWER.id
    assert numbers(after[live]) != numbers(before[live])


async def _published_then(database_url: str, library: Library) -> tuple[Made, Made]:
    await put_out(library, database_url)
    return await made_for_trying(database_url), await made(database_url)


async def test_what_is_tried_is_kept_apart_from_what_is_real(sqlite_url: str) -> None:
    await put_out(LIBRARY, sqlite_url)
    trying, live = await made_for_trying(sqlite_url), await made(sqlite_url)
    async with serving(sqlite_url, library=None, access=Access.KEYS) as client:
        for mine, other in ((trying, live), (live, trying)):
            address = f"/v1/matches/{(await answered(client, mine))['id']}"
            assert (await client.get(address, headers=mine.shown)).status_code == 200
            assert (await client.get(address, headers=other.shown)).status_code == 404
            assert (await client.delete(address, headers=other.shown)).status_code == 404
            assert (await client.get(address, headers=mine.shown)).status_code == 200


async def test_what_is_tried_has_no_limit_for_the_day(sqlite_url: str) -> None:
    await put_out(LIBRARY, sqlite_url)
    trying = await made_for_trying(sqlite_url, limits=KeyLimits(per_minute=50, per_day=1))
    async with serving(sqlite_url, library=None, access=Access.KEYS) as client:
        answers = [await client.get("/v1/makers", headers=trying.shown) for _ in range(3)]
    assert [answer.status_code for answer in answers] == [200] * 3
    assert "day" not in answers[0].headers["ratelimit-policy"]


async def test_the_log_of_what_was_done_has_the_real_time(sqlite_url: str) -> None:
    await put_out(LIBRARY, sqlite_url)
    trying = await made_for_trying(sqlite_url)
    async with serving(sqlite_url, library=None, access=Access.KEYS, clock=lambda: LATER) as client:
        address = f"/v1/matches/{(await answered(client, trying))['id']}"
        assert (await client.delete(address, headers=trying.shown)).status_code == 204
    async with open_store(sqlite_url) as store:
        erased = (await store.audit.page(tenant=TenantId(trying.key.tenant)))[0]
    assert erased.actor.at == LATER


async def test_a_withdrawn_catalog_release_can_be_tried_and_a_purged_one_cannot(sqlite_url: str) -> None:
    await put_out(LIBRARY, sqlite_url)
    trying = await made_for_trying(sqlite_url)
    async with open_store(sqlite_url) as store:
        await store.releases.withdraw(OLDER.id, signature=BUYER, when_active=WhenActive.SERVE_NONE)
    async with serving(sqlite_url, library=None, access=Access.KEYS) as client:
        assert (await answered(client, trying))["versions"]["catalog_release"] == OLDER.id
    async with open_store(sqlite_url) as store:
        await store.releases.purge(OLDER.id, signature=BUYER)
    async with serving(sqlite_url, library=None, access=Access.KEYS) as client:
        refused = await client.post("/v1/matches", json=HORSE, headers=trying.shown)
    assert (refused.status_code, code_of(refused)) == (403, "fixed-release-gone")
    assert OLDER.id in refused.json()["detail"]
    assert "hooflast keys create --test" in refused.json()["detail"]
