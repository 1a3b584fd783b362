"""Publishing: what the catalog plugins offer taken into the store, step by step, as one publisher does it."""

import asyncio
from collections.abc import Callable, Iterable
from typing import Final

import msgspec

from hooflast.catalog.lifecycle import Eyes, Signature
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.progress import OnProgress, Progress, WorkStage, unheard
from hooflast.catalog.release import write_release
from hooflast.catalog.validation import Validation, validate
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import NotFound
from hooflast.store.releases import Releases

WriteReport = Callable[[Validation], bytes]
"""How what was found in a catalog release is written down, to be kept with the step."""

_NOT_WRITTEN: Final = msgspec.json.encode({"faults": []})


def unwritten(_: Validation) -> bytes:
    """A report that only says that there was no fault: whatever had one was left out before."""
    return _NOT_WRITTEN


async def publish_new(
    found: Iterable[CatalogRelease],
    *,
    releases: Releases,
    signature: Signature,
    eyes: Eyes = Eyes.TWO,
    write_report: WriteReport = unwritten,
    on_progress: OnProgress = unheard,
) -> tuple[ReleaseId, ...]:
    """Stage, check and publish every catalog release that the store has never seen, in their order.

    With four eyes they are staged and checked, and somebody else has to publish them. One that was staged before, and
    whatever became of it, is left to people. One of an earlier day than the active one can be pinned, and does not
    take its place. Returns the ids of the new ones. Raises StoreError, and whatever `on_progress` raises.
    """
    new: list[ReleaseId] = []
    active = (await releases.active()).release
    newest = None if active is None else await releases.find(active)
    served = None
    for release in found:
        if await _is_known(release.id, releases):
            continue
        on_progress(Progress(stage=WorkStage.LOOKING, about=release.edition))
        if served is None and newest is not None:
            served = await releases.read(newest.id)
        report = write_report(await asyncio.to_thread(validate, release, active=served))
        on_progress(Progress(stage=WorkStage.KEEPING, about=release.edition))
        await releases.stage(write_release(release), signature=signature)
        await releases.mark_checked(release.id, report=report, signature=signature)
        new.append(release.id)
        if eyes is Eyes.FOUR:
            continue
        published = await releases.publish(release.id, signature=signature)
        if newest is not None and release.released_on < newest.released_on:
            await releases.roll_back(to=newest.id, signature=signature)
        else:
            newest, served = published, release
    return tuple(new)


def write_reports(reports: Iterable[PluginReport]) -> dict[str, bytes]:
    """Reports as they are kept, by plugin."""
    return {report.plugin: msgspec.json.encode(report) for report in reports}


def read_report(written: bytes) -> PluginReport:
    """A report as `write_reports` wrote it."""
    return msgspec.json.decode(written, type=PluginReport)


async def _is_known(release_id: ReleaseId, releases: Releases) -> bool:
    try:
        await releases.find(release_id)
    except NotFound:
        return False
    return True
