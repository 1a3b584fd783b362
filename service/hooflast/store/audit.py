"""Audit: who did what, noted in the same transaction as it was done, so that neither is there without the other."""

from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum
from typing import Final

from sqlalchemy import insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.store import tables
from hooflast.store.ids import new_id
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

LARGEST_PAGE: Final = 200


class Deed(StrEnum):
    """What can be done that somebody may want to look up later."""

    KEY_CREATED = "key-created"
    KEY_ROTATED = "key-rotated"
    KEY_REVOKED = "key-revoked"
    MATCH_ERASED = "match-erased"
    HOOK_MADE = "hook-made"
    HOOK_ROTATED = "hook-rotated"
    HOOK_REMOVED = "hook-removed"
    ASSORTMENT_CHANGED = "assortment-changed"
    ASSORTMENT_REMOVED = "assortment-removed"
    JOB_STARTED = "job-started"
    JOB_CANCELLED = "job-cancelled"
    JOB_REMOVED = "job-removed"


@dataclass(frozen=True, slots=True, kw_only=True)
class Actor:
    """Who does something, and when: a key (`key:` and its id), or a person at the command line (`user:` and a name)."""

    who: str
    at: datetime
    request_id: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AuditEntry:
    """One thing that was done: to which subject, such as a key's id."""

    id: str
    actor: Actor
    deed: Deed
    subject: str


class AuditLog:
    """What was done to the rows of each tenant."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def page(self, *, tenant: TenantId, before: str | None = None, limit: int = 50) -> tuple[AuditEntry, ...]:
        """Newest first, from the one before an id on."""
        table = tables.AuditEntry
        query = select(table).where(table.tenant_id == tenant).order_by(table.id.desc())
        if before is not None:
            query = query.where(table.id < before)
        async with self._sessions.reading(tenant=tenant) as session:
            found = await session.scalars(query.limit(max(0, min(limit, LARGEST_PAGE))))
            return tuple(
                AuditEntry(
                    id=row.id,
                    actor=Actor(who=row.actor, at=row.at, request_id=row.request_id),
                    deed=Deed(row.deed),
                    subject=row.subject,
                )
                for row in found
            )


async def note(session: AsyncSession, deed: Deed, /, *, tenant: TenantId, subject: str, by: Actor) -> None:
    """Note what this transaction does."""
    row = {
        "tenant_id": tenant,
        "id": new_id(),
        "at": by.at,
        "actor": by.who,
        "deed": deed.value,
        "subject": subject,
        "request_id": by.request_id,
    }
    await session.execute(insert(tables.AuditEntry), row)
