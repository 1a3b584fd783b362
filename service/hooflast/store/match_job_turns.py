"""Match job turns: whose turn is next, taken under a lease, and what came of it, all in one transaction or not at all.

Whoever takes a turn has it alone until the lease ends, and goes last in the row afterwards. What it brings is taken
only while its lease still stands; so a process that was held up, killed or cancelled changes nothing any more, and no
line is answered twice or left out.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Final
from zlib import compress

import msgspec
from sqlalchemy import ColumnElement, and_, exists, insert, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.store import tables
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.ids import new_id
from hooflast.store.match_job_ends import note_end
from hooflast.store.match_job_values import (
    JobFailure,
    JobId,
    JobOutcome,
    JobResult,
    JobState,
    MatchJob,
    Turn,
    TurnTask,
)
from hooflast.store.match_jobs import erase, found
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

PACKING: Final = 3

_TURN: Final = tables.MatchJobTurn
_JOB: Final = tables.MatchJob
_RESULT: Final = tables.MatchJobResult


class MatchJobTurns:
    """The turns of all jobs, whosever they are."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def has_due(self, *, now: datetime) -> bool:
        """Whether a turn could be taken."""
        async with self._sessions.reading() as session:
            return bool(await session.scalar(select(exists().where(_TURN.due_at <= now))))

    async def take(self, *, now: datetime, lease: timedelta, only: JobId | None = None) -> Turn | None:
        """The turn that has waited longest, for this process alone until the lease ends."""
        due = select(_TURN).where(_TURN.due_at <= now).order_by(_TURN.due_at, _TURN.job_id).limit(1)
        if only is not None:
            due = due.where(_TURN.job_id == only)
        async with self._sessions.writing() as session:
            row = await session.scalar(due.with_for_update(skip_locked=True))
            if row is None:
                return None
            turn = Turn(
                tenant=TenantId(row.tenant),
                job=JobId(row.job_id),
                task=TurnTask(row.task),
                lease=new_id(),
                attempts=row.attempts,
            )
            row.lease, row.due_at, row.attempts = turn.lease, now + lease, row.attempts + 1
            return turn

    async def renew(self, turn: Turn, *, until: datetime) -> bool:
        """Hold a turn for longer; False if it is no longer ours."""
        async with self._sessions.writing() as session:
            return await _is_ours(session, turn, due_at=until)

    async def give_back(self, turn: Turn, *, now: datetime) -> None:
        """Let another take a turn at once, as if nobody had."""
        async with self._sessions.writing() as session:
            await _is_ours(session, turn, due_at=now, lease=None, attempts=turn.attempts)

    async def start(self, turn: Turn, *, now: datetime) -> MatchJob:
        """The job of a turn, which runs from now on. Raises NotFound."""
        mine = and_(_JOB.tenant_id == turn.tenant, _JOB.id == turn.job)
        begun = update(_JOB).where(mine, _JOB.state == JobState.QUEUED.value)
        async with self._sessions.writing(tenant=turn.tenant) as session:
            await session.execute(begun.values(state=JobState.RUNNING.value, started_at=now))
            return await found(session, turn.job, tenant=turn.tenant)

    async def write(
        self, turn: Turn, results: Sequence[JobResult], *, job: MatchJob, keep_for: timedelta, now: datetime
    ) -> MatchJob | None:
        """Keep what a turn brought, and end the job with its last line; None if the turn is no longer ours."""
        counted = job.answered + job.refused + len(results)
        is_done = counted >= job.given.horses
        refused = sum(one.outcome is JobOutcome.REFUSED for one in results)
        totals = dict(job.totals)
        for one in results:
            for name, number in one.totals.items():
                totals[name] = totals.get(name, 0) + number
        progress: dict[str, object] = {
            "answered": job.answered + len(results) - refused,
            "refused": job.refused + refused,
            "answered_to": results[-1].line if results else job.answered_to,
            "totals": msgspec.json.encode(totals, order="deterministic").decode(),
        }
        rows = [
            {
                "tenant_id": turn.tenant,
                "job_id": turn.job,
                "line": one.line,
                "outcome": one.outcome.value,
                "packed": compress(one.body, PACKING),
            }
            for one in results
        ]
        async with self._sessions.writing(tenant=turn.tenant) as session:
            kept_until = now + keep_for
            if is_done:
                ended: dict[str, object] = {"task": TurnTask.ERASE.value, "due_at": kept_until}
                progress |= {"state": JobState.DONE.value, "finished_at": now, "kept_until": kept_until}
            else:
                ended = {"due_at": now}
            if not await _is_ours(session, turn, **ended, lease=None, attempts=0):
                return None
            if rows:
                await session.execute(insert(_RESULT), rows)
            await session.execute(update(_JOB).where(_of(turn)).values(progress))
            written = await found(session, turn.job, tenant=turn.tenant)
            if is_done:
                await note_end(session, written, at=now)
            return written

    async def fail(self, turn: Turn, failure: JobFailure, *, keep_for: timedelta, now: datetime) -> bool:
        """End a job that cannot be answered; False if the turn is no longer ours."""
        kept_until = now + keep_for
        values = {
            "state": JobState.FAILED.value,
            "failure": failure.value,
            "finished_at": now,
            "kept_until": kept_until,
        }
        async with self._sessions.writing(tenant=turn.tenant) as session:
            if not await _is_ours(session, turn, task=TurnTask.ERASE.value, due_at=kept_until, lease=None, attempts=0):
                return False
            await session.execute(update(_JOB).where(_of(turn)).values(values))
            await note_end(session, await found(session, turn.job, tenant=turn.tenant), at=now)
            return True

    async def erase(self, turn: Turn, *, by: Actor) -> bool:
        """Erase a job whose time is over; False if the turn is no longer ours."""
        async with self._sessions.writing(tenant=turn.tenant) as session:
            if not await _is_ours(session, turn, lease=turn.lease):
                return False
            if await erase(session, turn.job, tenant=turn.tenant):
                await note(session, Deed.JOB_REMOVED, tenant=turn.tenant, subject=turn.job, by=by)
            return True


def _of(turn: Turn) -> ColumnElement[bool]:
    return and_(_JOB.tenant_id == turn.tenant, _JOB.id == turn.job)


async def _is_ours(session: AsyncSession, turn: Turn, **values: object) -> bool:
    """Hold a turn, with new values, until this transaction ends; False if another has taken it, or nobody can."""
    ours = (
        update(_TURN)
        .where(_TURN.tenant == turn.tenant, _TURN.job_id == turn.job, _TURN.lease == turn.lease)
        .values(values)
        .returning(_TURN.job_id)
    )
    return await session.scalar(ours) is not None
