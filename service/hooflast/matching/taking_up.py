"""Taking up: every catalog plugin asked, and what is new published, or kept for people to publish.

One publisher at a time does it on one store. What a plugin fetched is handed to it the next time; one that cannot be
relied on just now keeps its boot models as they were published last.
"""

import asyncio
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import partial
from threading import Event

from hooflast.catalog.carrying import carry_over, unreliable
from hooflast.catalog.lifecycle import Eyes, Signature
from hooflast.catalog.loading import LoadedCatalog, PluginConfiguration, PluginReport, ask_within_limits, load_catalog
from hooflast.catalog.progress import OnProgress, Progress, WorkStopped, unheard
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.matching.publishing import WriteReport, publish_new, sealing, unwritten, write_reports
from hooflast.store import Store

Load = Callable[..., LoadedCatalog]


@dataclass(frozen=True, slots=True, kw_only=True)
class TakingUp:
    """How it is done: as whom, with how many eyes, and how what was found is written down.

    `stop` ends it soon once it is set, with what was kept until then.
    """

    signature: Signature
    eyes: Eyes = Eyes.TWO
    configured: Mapping[str, PluginConfiguration]
    write_report: WriteReport = unwritten
    on_progress: OnProgress = unheard
    on_wait: Callable[[], None] = lambda: None
    stop: Event | None = None
    load: Load = load_catalog


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenUp:
    """What came of it: a report on every plugin, the new catalog releases, and whose records were carried over."""

    reports: tuple[PluginReport, ...]
    new: tuple[ReleaseId, ...]
    carried: frozenset[str]


async def take_up(store: Store, how: TakingUp) -> TakenUp:
    """Ask every plugin, keep what became of it and what it fetched, and publish or keep what is new.

    Raises StoreError, and WorkStopped once `how.stop` is set.
    """
    async with store.publisher_lock.held(on_wait=_waiting(how)):
        held = await store.plugin_fetches.all()
        loaded = await asyncio.to_thread(
            how.load,
            configured=how.configured,
            held=held,
            ask=partial(ask_within_limits, stop=how.stop),
            on_progress=partial(_tell, how=how),
        )
        await store.plugin_reports.replace(write_reports(loaded.reports), asked_at=how.signature.at)
        await store.plugin_fetches.replace(loaded.fetched)
        found, carried = await _to_take_up(store, loaded)
        new = await publish_new(
            found,
            releases=store.releases,
            signature=how.signature,
            eyes=how.eyes,
            write_report=how.write_report,
            make_seal=await sealing(store, at=how.signature.at),
            on_progress=partial(_tell, how=how),
        )
    return TakenUp(reports=loaded.reports, new=new, carried=carried)


def _tell(progress: Progress, *, how: TakingUp) -> None:
    _require_no_stop(how)
    how.on_progress(progress)


def _waiting(how: TakingUp) -> Callable[[], None]:
    """What is called again and again while another publisher is at work: it tells once, and heeds a stop."""
    told = False

    def wait() -> None:
        nonlocal told
        _require_no_stop(how)
        if not told:
            told = True
            how.on_wait()

    return wait


def _require_no_stop(how: TakingUp) -> None:
    if how.stop is not None and how.stop.is_set():
        raise WorkStopped


async def _to_take_up(store: Store, loaded: LoadedCatalog) -> tuple[tuple[CatalogRelease, ...], frozenset[str]]:
    """The catalog releases to take up, and the plugins whose records are carried over in the last of them."""
    releases = tuple(loaded.library.releases)
    served = (await store.releases.active()).release
    if served is None or not any(report.failure or report.refused for report in loaded.reports):
        return releases, frozenset()
    active = await store.releases.read(served)
    plugins = unreliable(loaded.reports, active=active)
    if not plugins:
        return releases, frozenset()
    carried = carry_over(releases[-1], active=active, plugins=plugins) if releases else None
    return (() if carried is None else (carried,)), plugins
