"""Taking up: what is new is published once, or left to people, by one publisher at a time; a failure loses nothing."""

import asyncio
import json
from collections.abc import AsyncIterator, Mapping
from dataclasses import replace
from datetime import UTC, date, datetime
from threading import Event
from typing import Any

import pytest
from tests.matching.worlds import HERE, boot

from hooflast.catalog.errors import FourEyesNeeded
from hooflast.catalog.library import Library
from hooflast.catalog.lifecycle import Eyes, ReleaseStatus, Signature
from hooflast.catalog.loading import LoadedCatalog, PluginReport
from hooflast.catalog.plugin import Held
from hooflast.catalog.progress import Progress, WorkStage, WorkStopped
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import BootModel, CatalogRelease, Maker, MakerId
from hooflast.errors import PluginFailed
from hooflast.matching.publishing import read_report
from hooflast.matching.taking_up import TakingUp, take_up
from hooflast.store import Store, open_store

pytestmark = pytest.mark.anyio
NOW = datetime(2026, 5, 1, tzinfo=UTC)
SPRING, AUTUMN = date(2026, 3, 1), date(2026, 9, 1)
BY = Signature(by="mossgate", at=NOW)


@pytest.fixture
async def store(anyio_backend: str, database_url: str) -> AsyncIterator[Store]:
    async with open_store(database_url) as opened:
        yield opened


def catalog(*boots: BootModel, day: date = SPRING) -> CatalogRelease:
    maker = Maker(id=MakerId("haskeby"), name="Haskeby", provenance=HERE)
    records = Records(makers={maker.id: maker}, boots={one.id: one for one in boots}, accessories={})
    return compose_release(records, released_on=day, note="")


def of(plugin: str, name: str) -> BootModel:
    return replace(boot(name), provenance=replace(HERE, plugin=plugin))


SOUND = PluginReport(plugin="test", version="1", editions=(SPRING,))
FAILED = PluginReport(plugin="sheet", version="1", failure=PluginFailed(plugin="sheet", reason="it hangs"))
FIRST, SECOND = catalog(of("test", "amble"), of("sheet", "brook")), catalog(of("test", "amble"), day=AUTUMN)


class Plugins:
    """What the plugins offer, one offer a look, and what they were handed."""

    def __init__(self, *offers: tuple[CatalogRelease, ...], reports: tuple[PluginReport, ...] = (SOUND,)) -> None:
        self.offers, self.reports = list(offers), reports
        self.handed: list[Mapping[str, Mapping[str, Held]]] = []

    def __call__(self, *, held: Mapping[str, Mapping[str, Held]], on_progress: Any, **_: object) -> LoadedCatalog:
        self.handed.append(held)
        on_progress(Progress(stage=WorkStage.ASKING, about="test"))
        releases = self.offers.pop(0) if len(self.offers) > 1 else self.offers[0]
        fetched = {"test": {"boots.json": Held(version=str(len(self.handed)), content=b"{}")}}
        return LoadedCatalog(library=Library(releases=releases), reports=self.reports, fetched=fetched)


def how(plugins: Plugins, **changes: Any) -> TakingUp:
    return TakingUp(**{"signature": BY, "configured": {}, "load": plugins, **changes})


async def test_what_is_new_is_published_once_and_what_was_fetched_is_handed_back(store: Store) -> None:
    plugins = Plugins((FIRST,))
    assert (await take_up(store, how(plugins))).new == (FIRST.id,)
    assert (await take_up(store, how(plugins))).new == ()
    assert (await store.releases.active()).release == FIRST.id
    assert [held.get("test", {}).get("boots.json") for held in plugins.handed] == [
        None,
        Held(version="1", content=b"{}"),
    ]
    (written,) = (await store.plugin_reports.all()).values()
    assert read_report(written) == SOUND


async def test_with_four_eyes_it_is_kept_and_checked_and_somebody_else_publishes(store: Store) -> None:
    taken = await take_up(store, how(Plugins((FIRST,)), eyes=Eyes.FOUR, write_report=lambda _: b"looked at"))
    assert (taken.new, (await store.releases.active()).release) == ((FIRST.id,), None)
    assert (await store.releases.find(FIRST.id)).status is ReleaseStatus.CHECKED
    assert await store.releases.report(FIRST.id) == b"looked at"
    with pytest.raises(FourEyesNeeded):
        await store.releases.publish(FIRST.id, signature=BY, eyes=Eyes.FOUR)
    await store.releases.publish(FIRST.id, signature=replace(BY, by="juniper"), eyes=Eyes.FOUR)
    assert (await take_up(store, how(Plugins((FIRST,)), eyes=Eyes.FOUR))).new == ()


async def test_the_report_that_is_kept_is_seen_beside_what_is_served(store: Store) -> None:
    await take_up(store, how(Plugins((FIRST,))))

    def write(found: Any) -> bytes:
        return json.dumps([point.found.code for point in found.points]).encode()

    await take_up(store, how(Plugins((SECOND,)), write_report=write))
    assert json.loads(await store.releases.report(SECOND.id) or b"") == ["boot_gone"]


async def test_a_plugin_that_fails_keeps_its_boot_models_until_it_answers_again(store: Store) -> None:
    await take_up(store, how(Plugins((FIRST,))))
    without = catalog(of("test", "amble"), of("test", "clover"), day=AUTUMN)
    failing = await take_up(store, how(Plugins((without,), reports=(SOUND, FAILED))))
    served = await store.releases.read(failing.new[0])
    assert (sorted(failing.carried), sorted(served.boots)) == (["sheet"], ["amble", "brook", "clover"])
    assert (await take_up(store, how(Plugins((without,), reports=(SOUND, FAILED))))).new == ()
    again = replace(SOUND, plugin="sheet")
    recovered = await take_up(store, how(Plugins((without,), reports=(SOUND, again))))
    assert (recovered.carried, recovered.new) == (frozenset(), (without.id,))


async def test_where_every_plugin_fails_what_is_served_stays(store: Store) -> None:
    await take_up(store, how(Plugins((FIRST,))))
    taken = await take_up(store, how(Plugins((), reports=(FAILED,))))
    assert (taken.new, (await store.releases.active()).release) == ((), FIRST.id)


async def test_once_told_to_stop_it_keeps_nothing_more(store: Store) -> None:
    stop = Event()
    stop.set()
    with pytest.raises(WorkStopped):
        await take_up(store, how(Plugins((FIRST,)), stop=stop))
    assert await store.releases.page() == ()


async def test_whoever_waits_for_another_publisher_can_be_told_to_stop(store: Store) -> None:
    stop = Event()
    async with store.publisher_lock.held():
        with pytest.raises(WorkStopped):
            await take_up(store, how(Plugins((FIRST,)), stop=stop, on_wait=stop.set))
    assert await store.releases.page() == ()


async def test_it_tells_how_far_it_has_come(store: Store) -> None:
    told: list[Progress] = []
    await take_up(store, how(Plugins((FIRST,)), on_progress=told.append))
    assert [one.stage for one in told] == [WorkStage.ASKING, WorkStage.LOOKING, WorkStage.KEEPING]


async def test_of_two_publishers_at_once_one_waits_for_the_other(store: Store) -> None:
    at_work: list[str] = []
    waited: list[str] = []
    other_waits = Event()

    def named(name: str) -> TakingUp:
        def begin(progress: Progress) -> None:
            at_work.append(name)
            if progress.stage is WorkStage.ASKING:
                assert other_waits.wait(60)

        def wait() -> None:
            waited.append(name)
            other_waits.set()

        return how(Plugins((FIRST, SECOND)), on_progress=begin, on_wait=wait)

    one, other = await asyncio.gather(take_up(store, named("one")), take_up(store, named("other")))
    assert sorted([one.new, other.new]) == [(), (FIRST.id, SECOND.id)]
    assert len(waited) == 1
    assert at_work == sorted(at_work, key=at_work.index)
