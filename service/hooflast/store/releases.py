"""Releases: catalog releases kept with their content, the steps of their lives, and which one is active.

Every step is one transaction, taken by one process at a time: status, step, active catalog release and revision change
together or not at all. Catalog releases belong to the service, not to a tenant.
"""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import date
from typing import Final, TypeVar

from sqlalchemy import tuple_
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.catalog.errors import NoEarlierRelease, ReleaseGone, ReleaseStillActive
from hooflast.catalog.lifecycle import (
    Active,
    Eyes,
    KeptRelease,
    ReleaseStatus,
    ReleaseStep,
    Signature,
    WhenActive,
    require_eyes,
    status_after,
)
from hooflast.catalog.live_events import NumberedStep
from hooflast.catalog.release import read_release
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import InputRefused, NotFound
from hooflast.store import release_rows as rows
from hooflast.store import tables
from hooflast.store.errors import ReleaseDamaged
from hooflast.store.locks import Lock, wait_for
from hooflast.store.release_rows import Written
from hooflast.store.seal_values import Seal
from hooflast.store.sessions import Sessions

LARGEST_PAGE: Final = 200

Answer = TypeVar("Answer")


class Releases:
    """The catalog releases that all processes of the service share."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def stage(self, written: bytes, *, signature: Signature) -> KeptRelease:
        """Keep a catalog release as `catalog.release.write_release` wrote it.

        Staging what is staged, checked or published already changes nothing; what was withdrawn begins anew. Raises
        InputRefused if it is damaged, or its id is not its own.
        """
        release = await asyncio.to_thread(read_release, written)
        packed = await asyncio.to_thread(Written.of, written)

        async def take(session: AsyncSession) -> KeptRelease:
            kept = await rows.find(session, release.id)
            if kept is not None and kept.status is not ReleaseStatus.WITHDRAWN:
                return kept
            if kept is None:
                await rows.add(session, release, written=packed)
            else:
                await rows.set_status(session, release.id, status=_after(ReleaseStep.STAGE, kept))
                await rows.replace_content(session, release.id, written=packed)
            await rows.note_step(session, release.id, step=ReleaseStep.STAGE, signature=signature)
            return await _kept(session, release.id)

        return await self._alone(take)

    async def mark_checked(self, release_id: ReleaseId, *, report: bytes, signature: Signature) -> KeptRelease:
        """Note that it was validated, with the report. Raises NotFound, StepNotAllowed."""

        async def take(session: AsyncSession) -> KeptRelease:
            kept = await _kept(session, release_id)
            await rows.set_status(session, kept.id, status=_after(ReleaseStep.CHECK, kept))
            await rows.note_step(session, kept.id, step=ReleaseStep.CHECK, signature=signature, report=report)
            return await _kept(session, kept.id)

        return await self._alone(take)

    async def publish(
        self, release_id: ReleaseId, *, signature: Signature, eyes: Eyes = Eyes.TWO, seal: Seal | None = None
    ) -> KeptRelease:
        """Make it the active one, under a seal if there is one. Raises NotFound, StepNotAllowed, FourEyesNeeded.

        Raises ReleaseDamaged if the seal is of other content than is kept now.
        """

        async def take(session: AsyncSession) -> KeptRelease:
            kept = await _kept(session, release_id)
            status = _after(ReleaseStep.PUBLISH, kept)
            require_eyes(eyes, release=kept.id, staged_by=kept.author, published_by=signature.by)
            if seal is not None:
                _require_seal_of(kept, seal)
                await rows.set_seal(session, seal)
            await rows.set_status(session, kept.id, status=status)
            await rows.note_step(session, kept.id, step=ReleaseStep.PUBLISH, signature=signature)
            await rows.set_active(session, kept.id)
            return await _kept(session, kept.id)

        return await self._alone(take)

    async def roll_back(self, *, signature: Signature, to: ReleaseId | None = None) -> KeptRelease:
        """Make one that is published already the active one: `to`, or the one published before the active one.

        Rolling back to the active one changes nothing. Raises NotFound, StepNotAllowed, NoEarlierRelease.
        """

        async def take(session: AsyncSession) -> KeptRelease:
            active = (await rows.active(session)).release
            kept = await _kept(session, await _earlier(session, active) if to is None else to)
            _after(ReleaseStep.ROLL_BACK, kept)
            if kept.id == active:
                return kept
            await rows.note_step(session, kept.id, step=ReleaseStep.ROLL_BACK, signature=signature)
            await rows.set_active(session, kept.id)
            return await _kept(session, kept.id)

        return await self._alone(take)

    async def withdraw(
        self,
        release_id: ReleaseId,
        *,
        signature: Signature,
        instead: ReleaseId | None = None,
        when_active: WhenActive = WhenActive.REFUSE,
    ) -> KeptRelease:
        """Let it be served and pinned no more. In the place of the active one comes `instead`, which is published.

        Raises NotFound, StepNotAllowed, ReleaseStillActive.
        """

        async def take(session: AsyncSession) -> KeptRelease:
            kept = await _kept(session, release_id)
            status = _after(ReleaseStep.WITHDRAW, kept)
            if kept.is_active and instead not in (None, kept.id):
                other = await _kept(session, instead or kept.id)
                _after(ReleaseStep.ROLL_BACK, other)
                await rows.note_step(session, other.id, step=ReleaseStep.ROLL_BACK, signature=signature)
                await rows.set_active(session, other.id)
            elif kept.is_active:
                if when_active is WhenActive.REFUSE:
                    raise ReleaseStillActive(release=kept.id)
                await rows.set_active(session, None)
            elif kept.status is ReleaseStatus.PUBLISHED:
                await rows.raise_revision(session)
            await rows.set_status(session, kept.id, status=status)
            await rows.note_step(session, kept.id, step=ReleaseStep.WITHDRAW, signature=signature)
            return await _kept(session, kept.id)

        return await self._alone(take)

    async def purge(self, release_id: ReleaseId, *, signature: Signature) -> KeptRelease:
        """Erase the content of one that is withdrawn; what is known of its life stays. Raises NotFound, StepNotAllowed.

        What is gone already stays so.
        """

        async def take(session: AsyncSession) -> KeptRelease:
            kept = await _kept(session, release_id)
            _after(ReleaseStep.PURGE, kept)
            if kept.is_gone:
                return kept
            await rows.drop_content(session, kept.id)
            await rows.note_step(session, kept.id, step=ReleaseStep.PURGE, signature=signature)
            await rows.raise_revision(session)
            return await _kept(session, kept.id)

        return await self._alone(take)

    async def active(self) -> Active:
        """Which one is active, and the revision: one row, to be asked for often."""
        async with self._sessions.reading() as session:
            return await rows.active(session)

    async def find(self, release_id: ReleaseId) -> KeptRelease:
        """What is known of it. Raises NotFound."""
        async with self._sessions.reading() as session:
            return await _kept(session, release_id)

    async def read(self, release_id: ReleaseId) -> CatalogRelease:
        """The catalog release from its kept bytes. Raises NotFound, ReleaseGone, ReleaseDamaged."""
        written = await self.written(release_id)
        try:
            release = await asyncio.to_thread(read_release, written)
        except InputRefused as refused:
            raise ReleaseDamaged(release=release_id, reason=refused.faults[0].code) from refused
        if release.id != release_id:
            raise ReleaseDamaged(release=release_id, reason=f"it is {release.id}")
        return release

    async def written(self, release_id: ReleaseId) -> bytes:
        """Its canonical bytes as they were staged. Raises NotFound, ReleaseGone, ReleaseDamaged."""
        async with self._sessions.reading() as session:
            kept = await _kept(session, release_id)
            packed = await rows.packed_content(session, kept.id)
        if packed is None:
            raise ReleaseGone(release=kept.id)
        return await asyncio.to_thread(rows.unpack, packed, kept=kept)

    async def steps(self) -> tuple[NumberedStep, ...]:
        """Every step that was ever taken, in its order. Steps are numbered as they are committed, without a gap."""
        async with self._sessions.reading() as session:
            return await rows.numbered_steps(session)

    async def last_step(self) -> int:
        """The number of the last step; 0: none was taken."""
        async with self._sessions.reading() as session:
            return await rows.last_step(session)

    async def seal(self, release_id: ReleaseId) -> Seal | None:
        """What was signed of it when it was published, if anything was. Raises NotFound."""
        async with self._sessions.reading() as session:
            return await rows.seal(session, (await _kept(session, release_id)).id)

    async def report(self, release_id: ReleaseId) -> bytes | None:
        """The report of the last time it was validated, if it was. Raises NotFound."""
        async with self._sessions.reading() as session:
            kept = await _kept(session, release_id)
            return await rows.last_report(session, kept.id)

    async def page(
        self,
        *,
        status: ReleaseStatus | None = None,
        after: tuple[date, ReleaseId] | None = None,
        limit: int = 50,
    ) -> tuple[KeptRelease, ...]:
        """Newest day first, within a day by id: those of a status that come after the given day and id."""
        table = tables.CatalogRelease
        query = rows.all_of_them().order_by(table.released_on.desc(), table.id.desc())
        if status is not None:
            query = query.where(table.status == status.value)
        if after is not None:
            query = query.where(tuple_(table.released_on, table.id) < tuple_(*after))
        async with self._sessions.reading() as session:
            return await rows.fetch(session, query.limit(max(0, min(limit, LARGEST_PAGE))))

    async def _alone(self, take: Callable[[AsyncSession], Awaitable[Answer]]) -> Answer:
        async with self._sessions.writing() as session:
            await session.run_sync(lambda sync: wait_for(Lock.CATALOG_RELEASES, connection=sync.connection()))
            return await take(session)


def _after(step: ReleaseStep, kept: KeptRelease) -> ReleaseStatus:
    return status_after(step, status=kept.status, release=kept.id)


def _require_seal_of(kept: KeptRelease, seal: Seal) -> None:
    if (seal.release, seal.digest) != (kept.id, kept.digest):
        raise ReleaseDamaged(release=kept.id, reason="the seal is of other content")


async def _kept(session: AsyncSession, release_id: ReleaseId) -> KeptRelease:
    kept = await rows.find(session, release_id)
    if kept is None:
        raise NotFound(resource="catalog release", name=release_id)
    return kept


async def _earlier(session: AsyncSession, active: ReleaseId | None) -> ReleaseId:
    earlier = await rows.published_before(session, active)
    if earlier is None:
        raise NoEarlierRelease
    return earlier
