"""Match job ends: which jobs came to their end, noted in the transaction that ends them, for hooks to be told of.

The ends of a tenant are numbered one after the other under a lock, so that whoever has read up to a number has missed
none: an end is there with its job's last state, or neither is. All queries filter by tenant.
"""

from collections.abc import Collection
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import delete, func, insert, select
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.catalog.values import ReleaseId
from hooflast.store import tables
from hooflast.store.locks import Lock, wait_for
from hooflast.store.match_job_values import JobEnd, JobId, JobState, MatchJob
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

LARGEST_PAGE: Final = 500
KEPT_FOR: Final = timedelta(days=90)
"""How long an end can be told of; those of a tenant that are older are dropped with its next one."""

_END: Final = tables.MatchJobEnd


class MatchJobEnds:
    """The ends of all tenants' jobs, each reached only by its own."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def after(self, number: int, *, tenant: TenantId, limit: int = 200) -> tuple[JobEnd, ...]:
        """The ends past a number, in their order."""
        query = select(_END).where(_END.tenant_id == tenant, _END.number > number).order_by(_END.number)
        async with self._sessions.reading(tenant=tenant) as session:
            return tuple(_as_end(row) for row in await session.scalars(query.limit(min(limit, LARGEST_PAGE))))

    async def since(
        self, moment: datetime, *, tenant: TenantId, states: Collection[JobState], limit: int = 200
    ) -> tuple[JobEnd, ...]:
        """The ends of some kinds from a moment on, oldest first."""
        query = (
            select(_END)
            .where(_END.tenant_id == tenant, _END.ended_at >= moment, _END.state.in_([state.value for state in states]))
            .order_by(_END.ended_at, _END.number)
        )
        async with self._sessions.reading(tenant=tenant) as session:
            return tuple(_as_end(row) for row in await session.scalars(query.limit(min(limit, LARGEST_PAGE))))


async def note_end(session: AsyncSession, job: MatchJob, *, at: datetime) -> None:
    """Note in this transaction that it ends a job."""
    await session.run_sync(lambda sync: wait_for(Lock.MATCH_JOB_ENDS, connection=sync.connection()))
    row = {
        "tenant_id": job.tenant,
        "number": await last_end(session, tenant=job.tenant) + 1,
        "job_id": job.id,
        "state": job.state.value,
        "catalog_release": job.wish.catalog_release,
        "horses": job.given.horses,
        "answered": job.answered,
        "refused": job.refused,
        "ended_at": at,
    }
    await session.execute(insert(_END), row)
    await session.execute(delete(_END).where(_END.tenant_id == job.tenant, _END.ended_at < at - KEPT_FOR))


async def last_end(session: AsyncSession, *, tenant: TenantId) -> int:
    """The number of a tenant's last end in a transaction that somebody else holds; 0 where there is none."""
    return await session.scalar(select(func.max(_END.number)).where(_END.tenant_id == tenant)) or 0


def _as_end(row: tables.MatchJobEnd) -> JobEnd:
    return JobEnd(
        number=row.number,
        job=JobId(row.job_id),
        state=JobState(row.state),
        catalog_release=ReleaseId(row.catalog_release),
        horses=row.horses,
        answered=row.answered,
        refused=row.refused,
        at=row.ended_at,
    )
