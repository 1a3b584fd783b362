"""Live catalog: what the store publishes is served, laid out once, and what is gone is told."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import date

import pytest
from tests.api.samples import NEWER, NOW, OLDER, with_own_id

from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.lifecycle import Signature, WhenActive
from hooflast.catalog.release import write_release
from hooflast.catalog.values import ReleaseId
from hooflast.errors import CatalogUnavailable, InputRefused, NotFound
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.publishing import publish_new
from hooflast.store import Store, open_store

pytestmark = pytest.mark.anyio
ROOMY = 1_000_000_000
BY = Signature(by="mossgate", at=NOW)


@pytest.fixture
async def store(anyio_backend: str, sqlite_url: str) -> AsyncIterator[Store]:
    async with open_store(sqlite_url) as opened:
        yield opened


async def test_nothing_is_served_before_anything_is_published(store: Store) -> None:
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await catalog.refresh()
    with pytest.raises(CatalogUnavailable):
        _ = catalog.active
    assert catalog.published == ()


async def test_what_is_published_is_served_after_the_next_look_and_not_before(store: Store) -> None:
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await publish_new([OLDER], releases=store.releases, signature=BY)
    assert await catalog.refresh()
    assert catalog.active.release == OLDER
    begun = catalog.active
    await publish_new([NEWER], releases=store.releases, signature=BY)
    assert catalog.active is begun
    assert await catalog.refresh()
    assert (catalog.active.release, [one.id for one in catalog.published]) == (NEWER, [NEWER.id, OLDER.id])
    assert not await catalog.refresh()


async def test_a_rollback_serves_the_one_before(store: Store) -> None:
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    await store.releases.roll_back(signature=BY)
    await catalog.refresh()
    assert catalog.active.release == OLDER


async def test_a_pinned_one_is_laid_out_once_however_many_ask(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await catalog.refresh()
    read = store.releases.written
    asked = []

    async def counted(release_id: ReleaseId) -> bytes:
        asked.append(release_id)
        await asyncio.sleep(0)
        return await read(release_id)

    monkeypatch.setattr(store.releases, "written", counted)
    shelves = await asyncio.gather(*(catalog.pinned(OLDER.id) for _ in range(20)))
    assert {id(shelf) for shelf in shelves} == {id(shelves[0])}
    assert await catalog.pinned(OLDER.id) is shelves[0]
    assert asked == [OLDER.id]


async def test_what_was_active_is_laid_out_no_second_time_and_the_active_one_takes_no_room_from_the_pinned(
    store: Store,
) -> None:
    await publish_new([OLDER], releases=store.releases, signature=BY)
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await catalog.refresh()
    older = catalog.active
    await publish_new([NEWER], releases=store.releases, signature=BY)
    await catalog.refresh()
    newer = catalog.active
    assert await catalog.pinned(OLDER.id) is older
    assert set(catalog._held) == {OLDER.id}
    await store.releases.roll_back(signature=BY)
    await catalog.refresh()
    assert catalog.active is older
    assert await catalog.pinned(NEWER.id) is newer
    assert set(catalog._held) == {NEWER.id}


async def test_what_was_active_takes_no_pinned_ones_place(store: Store) -> None:
    first, second, third = (with_own_id(OLDER, note=note) for note in ("first", "second", "third"))
    await publish_new([first, second], releases=store.releases, signature=BY)
    roomy = LiveCatalog(store.releases, most_bytes=ROOMY)
    await roomy.refresh()
    await roomy.pinned(first.id)
    catalog = LiveCatalog(store.releases, most_bytes=int(roomy._held.currsize))
    await catalog.refresh()
    pinned = await catalog.pinned(first.id)
    await publish_new([third], releases=store.releases, signature=BY)
    await catalog.refresh()
    assert catalog.active.release == third
    assert await catalog.pinned(first.id) is pinned


async def test_what_is_larger_than_the_memory_for_it_is_served_and_not_held(store: Store) -> None:
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    catalog = LiveCatalog(store.releases, most_bytes=1)
    await catalog.refresh()
    first, second = [await catalog.pinned(OLDER.id) for _ in range(2)]
    assert first.release == second.release == OLDER
    assert first is not second


async def test_a_pin_from_a_thread_is_served_like_any_other(store: Store) -> None:
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await catalog.refresh()
    assert (await asyncio.to_thread(catalog.from_thread, OLDER.id)).release == OLDER
    assert (await asyncio.to_thread(catalog.from_thread, None)).release == NEWER
    with pytest.raises(InputRefused) as caught:
        await asyncio.to_thread(catalog.from_thread, "sha256-none")
    assert [fault.code for fault in caught.value.faults] == ["catalog-release-unknown"]


async def test_a_withdrawn_one_can_be_pinned_no_more_but_its_answers_can_be_given_again(store: Store) -> None:
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await catalog.refresh()
    await catalog.pinned(OLDER.id)
    await store.releases.withdraw(OLDER.id, signature=BY)
    await catalog.refresh()
    with pytest.raises(ReleaseGone):
        await catalog.pinned(OLDER.id)
    assert (await catalog.answered_from(OLDER.id)).release == OLDER
    await store.releases.purge(OLDER.id, signature=BY)
    await catalog.refresh()
    with pytest.raises(ReleaseGone):
        await catalog.answered_from(OLDER.id)


async def test_one_that_was_only_staged_is_not_found(store: Store) -> None:
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await store.releases.stage(write_release(OLDER), signature=BY)
    await catalog.refresh()
    with pytest.raises(NotFound):
        await catalog.pinned(OLDER.id)


async def test_the_one_before_goes_by_day(store: Store) -> None:
    catalog = LiveCatalog(store.releases, most_bytes=ROOMY)
    await publish_new([OLDER, NEWER], releases=store.releases, signature=BY)
    await catalog.refresh()
    assert (catalog.before(NEWER.id), catalog.before(OLDER.id)) == (OLDER.id, None)


async def test_publishing_leaves_to_people_what_was_seen_before(store: Store) -> None:
    assert await publish_new([OLDER, NEWER], releases=store.releases, signature=BY) == (OLDER.id, NEWER.id)
    await store.releases.withdraw(NEWER.id, signature=BY, when_active=WhenActive.SERVE_NONE)
    assert await publish_new([OLDER, NEWER], releases=store.releases, signature=BY) == ()
    assert (await store.releases.active()).release is None


async def test_one_of_an_earlier_day_does_not_take_the_place_of_the_active_one(store: Store) -> None:
    oldest = with_own_id(OLDER, released_on=date(2024, 1, 1))
    await publish_new([NEWER], releases=store.releases, signature=BY)
    assert await publish_new([oldest], releases=store.releases, signature=BY) == (oldest.id,)
    assert (await store.releases.active()).release == NEWER.id
    corrected = with_own_id(NEWER, note="Corrected.")
    await publish_new([corrected], releases=store.releases, signature=replace(BY, by="somebody-else"))
    assert (await store.releases.active()).release == corrected.id
