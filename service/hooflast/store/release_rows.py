"""Release rows: the rows of one catalog release read and written, inside a transaction that somebody else holds."""

import zlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import date
from hashlib import sha256
from itertools import groupby
from typing import Any, Final

from sqlalchemy import Select, delete, exists, func, insert, select, text, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.catalog.lifecycle import Active, Holds, KeptRelease, ReleaseStatus, ReleaseStep, Signature, StepTaken
from hooflast.catalog.live_events import NumberedStep
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.store import tables
from hooflast.store.change_listener import CHANNEL
from hooflast.store.errors import ReleaseDamaged
from hooflast.store.seal_values import Seal

_TABLE: Final = tables.CatalogRelease
_CONTENT: Final = tables.CatalogReleaseContent
_STEP: Final = tables.CatalogReleaseStep
_ACTIVE: Final = tables.ActiveCatalogRelease
_SEAL: Final = tables.CatalogReleaseSeal
_ONE_PLACE: Final = 1
_NOTIFY: Final = text("select pg_notify(:channel, '')")
"""Whoever listens is told when this transaction is committed (`change_listener`)."""

ReleaseQuery = Select[str, str, date, str, str, str, int, int, int, int, int, bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Written:
    """The canonical bytes of a catalog release, packed, with the digest and length of what was packed."""

    digest: str
    length: int
    packed: bytes = field(repr=False)

    @classmethod
    def of(cls, written: bytes) -> "Written":
        """Pack the canonical bytes."""
        return cls(digest=sha256(written).hexdigest(), length=len(written), packed=zlib.compress(written))


def unpack(packed: bytes, *, kept: KeptRelease) -> bytes:
    """The canonical bytes, which are those that were packed. Raises ReleaseDamaged."""
    try:
        written = zlib.decompressobj().decompress(packed, kept.written_bytes + 1)
    except zlib.error as error:
        raise ReleaseDamaged(release=kept.id, reason=str(error)) from error
    if sha256(written).hexdigest() != kept.digest:
        raise ReleaseDamaged(release=kept.id, reason="another digest")
    return written


def all_of_them() -> ReleaseQuery:
    """Every catalog release, for `fetch`."""
    is_here = exists().where(_CONTENT.release_id == _TABLE.id)
    return select(
        _TABLE.id, _TABLE.edition, _TABLE.released_on, _TABLE.note, _TABLE.status, _TABLE.digest, _TABLE.written_bytes,
        _TABLE.makers, _TABLE.boots, _TABLE.sizes, _TABLE.accessories, is_here.label("is_here"),
    )  # fmt: skip


async def fetch(session: AsyncSession, query: ReleaseQuery) -> tuple[KeptRelease, ...]:
    """The catalog releases of a query in its order, with their steps."""
    found = (await session.execute(query)).all()
    steps = await _steps(session, [row.id for row in found])
    now = await active(session)
    return tuple(
        KeptRelease(
            id=ReleaseId(row.id),
            edition=row.edition,
            released_on=row.released_on,
            note=row.note,
            status=ReleaseStatus(row.status),
            is_active=row.id == now.release,
            is_gone=not row.is_here,
            digest=row.digest,
            written_bytes=row.written_bytes,
            holds=Holds(makers=row.makers, boots=row.boots, sizes=row.sizes, accessories=row.accessories),
            steps=steps[row.id],
        )
        for row in found
    )


async def find(session: AsyncSession, release_id: ReleaseId) -> KeptRelease | None:
    """One catalog release, if it is there."""
    found = await fetch(session, all_of_them().where(_TABLE.id == release_id))
    return found[0] if found else None


async def add(session: AsyncSession, release: CatalogRelease, *, written: Written) -> None:
    """A catalog release that was not there."""
    row = {
        "id": release.id,
        "edition": release.edition,
        "released_on": release.released_on,
        "note": release.note,
        "status": ReleaseStatus.STAGED.value,
        "digest": written.digest,
        "written_bytes": written.length,
        "makers": len(release.makers),
        "boots": len(release.boots),
        "sizes": sum(len(boot.sizes) for boot in release.boots.values()),
        "accessories": len(release.accessories),
    }
    await session.execute(insert(_TABLE).values(row))
    await session.execute(insert(_CONTENT).values(release_id=release.id, packed=written.packed))


async def replace_content(session: AsyncSession, release_id: ReleaseId, *, written: Written) -> None:
    """The content in the place of the one before, or of the one that is gone."""
    await drop_content(session, release_id)
    await session.execute(insert(_CONTENT).values(release_id=release_id, packed=written.packed))
    one = update(_TABLE).where(_TABLE.id == release_id)
    await session.execute(one.values(digest=written.digest, written_bytes=written.length))


async def drop_content(session: AsyncSession, release_id: ReleaseId) -> None:
    """No content any more."""
    await session.execute(delete(_CONTENT).where(_CONTENT.release_id == release_id))


async def packed_content(session: AsyncSession, release_id: ReleaseId) -> bytes | None:
    """The content as it is kept; None if it is gone."""
    return await session.scalar(select(_CONTENT.packed).where(_CONTENT.release_id == release_id))


async def set_status(session: AsyncSession, release_id: ReleaseId, *, status: ReleaseStatus) -> None:
    """How far it has come."""
    await session.execute(update(_TABLE).where(_TABLE.id == release_id).values(status=status.value))


async def note_step(
    session: AsyncSession,
    release_id: ReleaseId,
    *,
    step: ReleaseStep,
    signature: Signature,
    report: bytes | None = None,
) -> None:
    """One more step, with the next number."""
    row = {
        "number": await last_step(session) + 1,
        "release_id": release_id,
        "step": step.value,
        "taken_by": signature.by,
        "taken_at": signature.at,
        "note": signature.note,
        "report": report,
    }
    await session.execute(insert(_STEP).values(row))


async def last_step(session: AsyncSession) -> int:
    """The number of the last step, or 0."""
    return await session.scalar(select(func.max(_STEP.number))) or 0


async def numbered_steps(session: AsyncSession) -> tuple[NumberedStep, ...]:
    """Every step of every catalog release, in its order."""
    query = (
        select(_STEP.number, _STEP.release_id, _TABLE.edition, _TABLE.released_on, _STEP.step, _STEP.taken_at)
        .join(_TABLE, _TABLE.id == _STEP.release_id)
        .order_by(_STEP.number)
    )
    return tuple(
        NumberedStep(
            number=row.number,
            release=ReleaseId(row.release_id),
            edition=row.edition,
            released_on=row.released_on,
            step=ReleaseStep(row.step),
            at=row.taken_at,
        )
        for row in await session.execute(query)
    )


async def last_report(session: AsyncSession, release_id: ReleaseId) -> bytes | None:
    """The report of its last validation."""
    checks = select(_STEP.report).where(_STEP.release_id == release_id, _STEP.step == ReleaseStep.CHECK.value)
    return await session.scalar(checks.order_by(_STEP.number.desc()).limit(1))


async def set_seal(session: AsyncSession, seal: Seal) -> None:
    """A seal in the place of the one before."""
    await session.execute(delete(_SEAL).where(_SEAL.release_id == seal.release))
    row = {"release_id": seal.release, "digest": seal.digest, "kid": seal.kid, "token": seal.token}
    await session.execute(insert(_SEAL).values(row))


async def seal(session: AsyncSession, release_id: ReleaseId) -> Seal | None:
    """Its seal, if it has one."""
    query = select(_SEAL.digest, _SEAL.kid, _SEAL.token).where(_SEAL.release_id == release_id)
    row = (await session.execute(query)).one_or_none()
    return None if row is None else Seal(release=release_id, digest=row.digest, kid=row.kid, token=row.token)


async def active(session: AsyncSession) -> Active:
    """Which catalog release is active, and the revision."""
    row = (await session.execute(select(_ACTIVE.release_id, _ACTIVE.revision))).one_or_none()
    if row is None:
        return Active(release=None, revision=0)
    return Active(release=None if row.release_id is None else ReleaseId(row.release_id), revision=row.revision)


async def set_active(session: AsyncSession, release_id: ReleaseId | None) -> None:
    """Another catalog release is active, or none."""
    await _write_active(session, {"release_id": release_id})


async def raise_revision(session: AsyncSession) -> None:
    """What can be served has changed."""
    await _write_active(session, {})


async def published_before(session: AsyncSession, release_id: ReleaseId | None) -> ReleaseId | None:
    """The one among the published that was published last before the given one; with none given, last of all."""
    first = (
        select(_STEP.release_id, func.max(_STEP.number).label("number"))
        .where(_STEP.step == ReleaseStep.PUBLISH.value)
        .group_by(_STEP.release_id)
        .subquery()
    )
    published = (
        select(first.c.release_id)
        .join(_TABLE, _TABLE.id == first.c.release_id)
        .where(_TABLE.status == ReleaseStatus.PUBLISHED.value)
        .order_by(first.c.number.desc())
        .limit(1)
    )
    if release_id is not None:
        own = select(first.c.number).where(first.c.release_id == release_id).scalar_subquery()
        published = published.where(first.c.number < own)
    found = await session.scalar(published)
    return None if found is None else ReleaseId(found)


async def _write_active(session: AsyncSession, values: dict[str, Any]) -> None:
    now = await session.scalar(select(_ACTIVE.revision))
    if now is None:
        await session.execute(insert(_ACTIVE).values({"place": _ONE_PLACE, "revision": 1, **values}))
    else:
        await session.execute(update(_ACTIVE).values(revision=_ACTIVE.revision + 1, **values))
    if session.get_bind().dialect.name == "postgresql":
        await session.execute(_NOTIFY, {"channel": CHANNEL})


async def _steps(session: AsyncSession, release_ids: Sequence[str]) -> dict[str, tuple[StepTaken, ...]]:
    query = (
        select(_STEP.release_id, _STEP.step, _STEP.taken_by, _STEP.taken_at, _STEP.note)
        .where(_STEP.release_id.in_(release_ids))
        .order_by(_STEP.release_id, _STEP.number)
    )
    found = (await session.execute(query)).all()
    return {
        release_id: tuple(
            StepTaken(step=ReleaseStep(row.step), signature=Signature(by=row.taken_by, at=row.taken_at, note=row.note))
            for row in taken
        )
        for release_id, taken in groupby(found, key=lambda row: row.release_id)
    }
