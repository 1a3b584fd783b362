"""Releases: every step of a catalog release's life is kept, and what is served is always one whole catalog release."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import replace
from datetime import date

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from tests.databases import engine_at
from tests.store.release_samples import BUYER, EDITOR, HERE, a_release, publish, stage_and_check

from hooflast.catalog.errors import (
    FourEyesNeeded,
    NoEarlierRelease,
    ReleaseGone,
    ReleaseStillActive,
    StepNotAllowed,
)
from hooflast.catalog.lifecycle import Active, Eyes, ReleaseStatus, ReleaseStep, WhenActive
from hooflast.catalog.release import write_release
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import HooflastError, InputRefused, NotFound
from hooflast.store import ReleaseDamaged, Store, open_store
from hooflast.store.releases import LARGEST_PAGE

pytestmark = pytest.mark.anyio
OLD, NEW = a_release(1), a_release(2)


@pytest.fixture
async def shop(anyio_backend: str, database_url: str) -> AsyncIterator[Store]:
    async with open_store(database_url) as opened:
        yield opened


async def test_what_is_staged_is_read_back_as_it_was(shop: Store) -> None:
    kept = await shop.releases.stage(write_release(OLD), signature=EDITOR)
    assert await shop.releases.read(OLD.id) == OLD
    assert await shop.releases.written(OLD.id) == write_release(OLD)
    assert (kept.id, kept.edition, kept.released_on, kept.note) == (OLD.id, OLD.edition, OLD.released_on, OLD.note)
    assert (kept.status, kept.author, kept.is_active, kept.is_gone) == (ReleaseStatus.STAGED, EDITOR.by, False, False)
    assert [(taken.step, taken.signature) for taken in kept.steps] == [(ReleaseStep.STAGE, EDITOR)]
    assert await shop.releases.find(OLD.id) == kept


async def test_each_step_is_kept_with_who_took_it_and_when(shop: Store) -> None:
    await publish(shop, OLD)
    kept = await shop.releases.find(OLD.id)
    assert [(taken.step, taken.signature) for taken in kept.steps] == [
        (ReleaseStep.STAGE, EDITOR),
        (ReleaseStep.CHECK, EDITOR),
        (ReleaseStep.PUBLISH, BUYER),
    ]
    assert (kept.status, kept.is_active) == (ReleaseStatus.PUBLISHED, True)


async def test_nothing_is_active_before_the_first_is_published(shop: Store) -> None:
    assert await shop.releases.active() == Active(release=None, revision=0)
    await stage_and_check(shop, OLD)
    assert await shop.releases.active() == Active(release=None, revision=0)
    await shop.releases.publish(OLD.id, signature=BUYER)
    assert await shop.releases.active() == Active(release=OLD.id, revision=1)


async def test_staging_again_changes_nothing(shop: Store) -> None:
    await publish(shop, OLD)
    before = await shop.releases.find(OLD.id)
    elsewhere = a_release(1, provenance=replace(HERE, source="other.json"))
    assert await shop.releases.stage(write_release(elsewhere), signature=BUYER) == before
    assert await shop.releases.written(OLD.id) == write_release(OLD)


async def test_what_is_no_release_is_not_staged(shop: Store) -> None:
    for written in (b"{}", write_release(OLD).replace(b"Spring.", b"Autumn.")):
        with pytest.raises(InputRefused):
            await shop.releases.stage(written, signature=EDITOR)
    assert await shop.releases.page() == ()


async def test_with_four_eyes_another_must_publish(shop: Store) -> None:
    await stage_and_check(shop, OLD)
    with pytest.raises(FourEyesNeeded):
        await shop.releases.publish(OLD.id, signature=EDITOR, eyes=Eyes.FOUR)
    assert await shop.releases.active() == Active(release=None, revision=0)
    await shop.releases.publish(OLD.id, signature=BUYER, eyes=Eyes.FOUR)


async def test_rolling_back_goes_one_further_back_each_time(shop: Store) -> None:
    releases = [a_release(day) for day in (1, 2, 3)]
    for release in releases:
        await publish(shop, release)
    for earlier in (releases[1], releases[0]):
        assert (await shop.releases.roll_back(signature=BUYER)).id == earlier.id
        assert (await shop.releases.active()).release == earlier.id
    with pytest.raises(NoEarlierRelease):
        await shop.releases.roll_back(signature=BUYER)
    await shop.releases.roll_back(signature=BUYER, to=releases[2].id)
    assert await shop.releases.active() == Active(release=releases[2].id, revision=6)
    assert all(kept.status is ReleaseStatus.PUBLISHED for kept in await shop.releases.page())


async def test_rolling_back_leaves_out_what_is_withdrawn(shop: Store) -> None:
    releases = [a_release(day) for day in (1, 2, 3)]
    for release in releases:
        await publish(shop, release)
    await shop.releases.withdraw(releases[1].id, signature=BUYER)
    assert (await shop.releases.roll_back(signature=BUYER)).id == releases[0].id


async def test_rolling_back_to_the_active_one_changes_nothing(shop: Store) -> None:
    await publish(shop, OLD)
    before = await shop.releases.active()
    await shop.releases.roll_back(signature=BUYER, to=OLD.id)
    assert await shop.releases.active() == before


async def test_the_active_one_is_withdrawn_only_with_another_in_its_place_or_on_purpose(shop: Store) -> None:
    await publish(shop, OLD)
    await publish(shop, NEW)
    with pytest.raises(ReleaseStillActive):
        await shop.releases.withdraw(NEW.id, signature=BUYER)
    with pytest.raises(ReleaseStillActive):
        await shop.releases.withdraw(NEW.id, signature=BUYER, instead=NEW.id)
    withdrawn = await shop.releases.withdraw(NEW.id, signature=BUYER, instead=OLD.id)
    assert (withdrawn.status, withdrawn.is_active) == (ReleaseStatus.WITHDRAWN, False)
    assert (await shop.releases.active()).release == OLD.id
    await shop.releases.withdraw(OLD.id, signature=BUYER, when_active=WhenActive.SERVE_NONE)
    assert await shop.releases.active() == Active(release=None, revision=4)
    with pytest.raises(NoEarlierRelease):
        await shop.releases.roll_back(signature=BUYER)


async def test_what_is_only_staged_takes_the_place_of_nothing(shop: Store) -> None:
    await publish(shop, OLD)
    await stage_and_check(shop, NEW)
    before = await shop.releases.active()
    with pytest.raises(StepNotAllowed):
        await shop.releases.withdraw(OLD.id, signature=BUYER, instead=NEW.id)
    with pytest.raises(StepNotAllowed):
        await shop.releases.roll_back(signature=BUYER, to=NEW.id)
    assert await shop.releases.active() == before
    assert (await shop.releases.find(OLD.id)).status is ReleaseStatus.PUBLISHED


async def test_what_was_purged_is_gone_and_its_life_is_still_known(shop: Store) -> None:
    await publish(shop, OLD)
    await publish(shop, NEW)
    with pytest.raises(StepNotAllowed):
        await shop.releases.purge(OLD.id, signature=BUYER)
    await shop.releases.withdraw(OLD.id, signature=BUYER)
    assert await shop.releases.read(OLD.id) == OLD
    purged = await shop.releases.purge(OLD.id, signature=BUYER)
    assert purged.is_gone
    assert await shop.releases.purge(OLD.id, signature=BUYER) == purged
    with pytest.raises(ReleaseGone) as gone:
        await shop.releases.read(OLD.id)
    assert gone.value.release == OLD.id
    assert await shop.releases.read(NEW.id) == NEW
    assert [taken.step for taken in purged.steps][-2:] == [ReleaseStep.WITHDRAW, ReleaseStep.PURGE]


async def test_what_was_withdrawn_can_begin_anew_even_when_it_is_gone(shop: Store) -> None:
    await publish(shop, OLD)
    await publish(shop, NEW)
    await shop.releases.withdraw(OLD.id, signature=BUYER)
    await shop.releases.purge(OLD.id, signature=BUYER)
    elsewhere = a_release(1, provenance=replace(HERE, source="other.json"))
    again = await shop.releases.stage(write_release(elsewhere), signature=BUYER)
    assert (again.id, again.status, again.author) == (OLD.id, ReleaseStatus.STAGED, BUYER.by)
    assert await shop.releases.written(OLD.id) == write_release(elsewhere)
    with pytest.raises(StepNotAllowed):
        await shop.releases.publish(OLD.id, signature=EDITOR)


async def test_the_report_of_the_last_validation_is_kept(shop: Store) -> None:
    await shop.releases.stage(write_release(OLD), signature=EDITOR)
    assert await shop.releases.report(OLD.id) is None
    for report in (b"first", b"\x00second"):
        await shop.releases.mark_checked(OLD.id, report=report, signature=EDITOR)
        assert await shop.releases.report(OLD.id) == report


async def test_what_nobody_staged_is_not_found(shop: Store) -> None:
    nowhere = ReleaseId("sha256-ff")
    for asked in (
        shop.releases.find(nowhere),
        shop.releases.read(nowhere),
        shop.releases.report(nowhere),
        shop.releases.mark_checked(nowhere, report=b"", signature=EDITOR),
        shop.releases.publish(nowhere, signature=EDITOR),
        shop.releases.roll_back(to=nowhere, signature=EDITOR),
        shop.releases.withdraw(nowhere, signature=EDITOR),
        shop.releases.purge(nowhere, signature=EDITOR),
    ):
        with pytest.raises(NotFound) as missing:
            await asked
        assert missing.value.name == nowhere


@pytest.mark.parametrize("packed", [b"hay", b"", b"x\x9c\x03\x00\x00\x00\x00\x01"])
async def test_content_that_is_not_what_was_staged_is_never_handed_out(database_url: str, packed: bytes) -> None:
    async with open_store(database_url) as store, engine_at(database_url) as engine:
        await publish(store, OLD)
        async with engine.begin() as connection:
            await connection.execute(text("update catalog_release_contents set packed = :packed"), {"packed": packed})
        with pytest.raises(ReleaseDamaged):
            await store.releases.read(OLD.id)


async def test_content_of_another_release_is_never_handed_out(database_url: str) -> None:
    async with open_store(database_url) as store, engine_at(database_url) as engine:
        await publish(store, OLD)
        await publish(store, NEW)
        async with engine.begin() as connection:
            for statement in (
                (
                    "update catalog_release_contents set packed = (select packed from catalog_release_contents"
                    " where release_id = :other) where release_id = :one"
                ),
                (
                    "update catalog_releases set digest = (select digest from catalog_releases where id = :other)"
                    " where id = :one"
                ),
            ):
                await connection.execute(text(statement), {"one": OLD.id, "other": NEW.id})
        with pytest.raises(ReleaseDamaged):
            await store.releases.read(OLD.id)


async def test_pages_go_from_the_newest_day_to_the_oldest_and_hold_each_once(shop: Store) -> None:
    releases = [a_release(day, note=note) for day in (1, 2, 3) for note in ("a", "b", "c")]
    for release in releases:
        await shop.releases.stage(write_release(release), signature=EDITOR)
    whole = await shop.releases.page()
    assert {kept.id for kept in whole} == {release.id for release in releases}
    assert [(kept.released_on, kept.id) for kept in whole] == sorted(
        ((release.released_on, release.id) for release in releases), reverse=True
    )
    for size in (1, 2, 4, 9):
        found, after = list[str](), None
        while page := await shop.releases.page(after=after, limit=size):
            assert len(page) <= size
            found += [kept.id for kept in page]
            after = (page[-1].released_on, page[-1].id)
        assert found == [kept.id for kept in whole]
    assert await shop.releases.page(limit=0) == await shop.releases.page(limit=-5) == ()
    assert await shop.releases.page(after=(date(2000, 1, 1), OLD.id), limit=10 * LARGEST_PAGE) == ()


async def test_all_who_publish_at_once_leave_one_active_and_every_step_numbered(database_url: str) -> None:
    releases = [a_release(day) for day in range(1, 7)]
    stores = [open_store(database_url) for _ in releases]
    for release in releases:
        await stage_and_check(stores[0], release)
    await asyncio.gather(
        *(store.releases.publish(release.id, signature=BUYER) for store, release in zip(stores, releases, strict=True))
    )
    active = await stores[0].releases.active()
    assert active.revision == len(releases)
    assert [kept.id for kept in await stores[0].releases.page() if kept.is_active] == [active.release]
    for store in stores:
        await store.stop()


STEPS = ("stage", "check", "publish", "roll_back", "withdraw", "withdraw_active", "purge")


@settings(max_examples=12, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(steps=st.lists(st.tuples(st.sampled_from(STEPS), st.integers(1, 3)), min_size=4, max_size=14))
async def test_whatever_is_done_what_is_active_is_published_whole_and_the_revision_only_rises(
    sqlite_url: str, steps: list[tuple[str, int]]
) -> None:
    async with open_store(sqlite_url) as store:
        revision = (await store.releases.active()).revision
        for step, day in steps:
            release = a_release(day)
            before = await store.releases.page()
            refused = False
            try:
                await _take(step, release, store=store)
            except HooflastError:
                refused = True
            active, after = await store.releases.active(), await store.releases.page()
            assert active.revision >= revision
            if refused:
                assert (after, active.revision) == (before, revision)
            if _servable(after) != _servable(before):
                assert active.revision > revision
            if active.release is not None:
                assert await store.releases.read(active.release)
                assert (await store.releases.find(active.release)).status is ReleaseStatus.PUBLISHED
            revision = active.revision


async def _take(step: str, release: CatalogRelease, *, store: Store) -> None:
    match step:
        case "stage":
            await store.releases.stage(write_release(release), signature=EDITOR)
        case "check":
            await store.releases.mark_checked(release.id, report=b"", signature=EDITOR)
        case "publish":
            await store.releases.publish(release.id, signature=BUYER)
        case "roll_back":
            await store.releases.roll_back(signature=BUYER)
        case "withdraw":
            await store.releases.withdraw(release.id, signature=BUYER)
        case "withdraw_active":
            await store.releases.withdraw(release.id, signature=BUYER, when_active=WhenActive.SERVE_NONE)
        case "purge":
            await store.releases.purge(release.id, signature=BUYER)


def _servable(releases):
    return {kept.id: (kept.is_active, kept.is_gone) for kept in releases if kept.status is ReleaseStatus.PUBLISHED}
