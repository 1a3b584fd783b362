"""Publishing: what the catalog plugins offer taken into the store, step by step, as one publisher does it."""

from collections.abc import Iterable
from typing import Final

import msgspec

from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.release import write_release
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import NotFound
from hooflast.store.releases import Releases

VALIDATED_WHILE_READING: Final = msgspec.json.encode({"faults": []})
"""The report of a catalog release that was composed here: whatever had a fault was left out before."""


async def publish_new(
    found: Iterable[CatalogRelease], *, releases: Releases, signature: Signature
) -> tuple[ReleaseId, ...]:
    """Stage, check and publish every catalog release that the store has never seen, in their order.

    One that was staged before, and whatever became of it, is left to people. One of an earlier day than the active one
    can be pinned, and does not take its place. Returns the ids of the new ones. Raises StoreError.
    """
    new = []
    active = (await releases.active()).release
    newest = None if active is None else await releases.find(active)
    for release in found:
        if await _is_known(release.id, releases):
            continue
        await releases.stage(write_release(release), signature=signature)
        await releases.mark_checked(release.id, report=VALIDATED_WHILE_READING, signature=signature)
        published = await releases.publish(release.id, signature=signature)
        if newest is not None and release.released_on < newest.released_on:
            await releases.roll_back(to=newest.id, signature=signature)
        else:
            newest = published
        new.append(release.id)
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
