"""Publishing: what the catalog plugins offer taken into the store, step by step, as one publisher does it."""

import asyncio
from collections.abc import Callable, Iterable
from datetime import datetime
from functools import partial
from typing import Final

import msgspec

from hooflast.catalog.lifecycle import Eyes, KeptRelease, ReleaseStep, Signature, status_after
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.progress import OnProgress, Progress, WorkStage, unheard
from hooflast.catalog.release import write_release
from hooflast.catalog.validation import Validation, validate
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import NotFound
from hooflast.matching.seals import make_seal_key, seal_release
from hooflast.store import Store
from hooflast.store.releases import Releases
from hooflast.store.seal_values import Seal

WriteReport = Callable[[Validation], bytes]
"""How what was found in a catalog release is written down, to be kept with the step."""

MakeSeal = Callable[[CatalogRelease, str], Seal]
"""Seals a catalog release, of whose written form the SHA-256 is given."""

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
    make_seal: MakeSeal | None = None,
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
        kept = await releases.stage(write_release(release), signature=signature)
        await releases.mark_checked(release.id, report=report, signature=signature)
        new.append(release.id)
        if eyes is Eyes.FOUR:
            continue
        seal = None if make_seal is None else await asyncio.to_thread(make_seal, release, kept.digest)
        published = await releases.publish(release.id, signature=signature, seal=seal)
        if newest is not None and release.released_on < newest.released_on:
            await releases.roll_back(to=newest.id, signature=signature)
        else:
            newest, served = published, release
    return tuple(new)


async def publish_sealed(
    release_id: ReleaseId, *, store: Store, signature: Signature, eyes: Eyes = Eyes.TWO
) -> KeptRelease:
    """Seal a checked catalog release and make it the active one.

    Raises NotFound, ReleaseGone, StepNotAllowed, FourEyesNeeded, StoreError.
    """
    make_seal = await sealing(store, at=signature.at)
    kept = await store.releases.find(release_id)
    status_after(ReleaseStep.PUBLISH, status=kept.status, release=kept.id)
    release = await store.releases.read(release_id)
    seal = await asyncio.to_thread(make_seal, release, kept.digest)
    return await store.releases.publish(release_id, signature=signature, eyes=eyes, seal=seal)


async def sealing(store: Store, *, at: datetime) -> MakeSeal:
    """How catalog releases are sealed at a moment: with the key in use, which is made if there is none."""
    key = await store.seal_keys.ensure_first(make=partial(make_seal_key, now=at))

    def make(release: CatalogRelease, digest: str) -> Seal:
        return seal_release(release, digest=digest, at=at, key=key)

    return make


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
