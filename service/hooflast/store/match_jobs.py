"""Match jobs: their input as it comes, their results as they are asked for, cancelled and erased. All filter by tenant.

An input comes in many small transactions, so that a slow client holds up nobody; a job is seen by others, and counts,
only once its input is whole. Until then its turn is to be erased, an hour later; so nothing stays of an input that
broke off with its process.
"""

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final
from zlib import decompress

import msgspec
from sqlalchemy import ColumnElement, Select, and_, delete, func, insert, select, union_all, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.catalog.values import ReleaseId
from hooflast.errors import NotFound
from hooflast.store import tables
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.errors import JobOver, TooManyJobs
from hooflast.store.idempotency import forget_answers
from hooflast.store.ids import new_id
from hooflast.store.match_job_ends import note_end
from hooflast.store.match_job_values import (
    JobAnswers,
    JobFailure,
    JobFormat,
    JobId,
    JobInput,
    JobLine,
    JobOutcome,
    JobResult,
    JobState,
    JobWish,
    MatchJob,
    TurnTask,
)
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

LARGEST_PAGE: Final = 200
MOST_OPEN: Final = 20
"""How many jobs of a tenant may wait or run at once."""
LONGEST_UPLOAD: Final = timedelta(hours=1)
"""After that an input that has not come whole is erased."""
MOST_TOGETHER: Final = 20
"""How many jobs' results are read by one query: there is one for each number of jobs, and each is compiled once."""
RESOURCE: Final = "match job"

_JOB: Final = tables.MatchJob
_LINE: Final = tables.MatchJobLine
_RESULT: Final = tables.MatchJobResult
_TURN: Final = tables.MatchJobTurn
_OPEN: Final = (JobState.QUEUED.value, JobState.RUNNING.value)


class MatchJobs:
    """The jobs of all tenants, each reached only by its own."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def begin(self, wish: JobWish, *, tenant: TenantId, now: datetime) -> JobId:
        """A job whose input is to come. Raises TooManyJobs."""
        job_id = JobId(new_id())
        row = {
            "tenant_id": tenant,
            "id": job_id,
            "answers": wish.answers.value,
            "has_receipts": wish.has_receipts,
            "catalog_release": wish.catalog_release,
            "compared_with": wish.compared_with,
            "is_fixed": wish.is_fixed,
            "language": wish.language,
            "day": wish.day,
            "written_as": wish.written_as.value,
            "heading": "",
            "input_bytes": 0,
            "input_digest": "",
            "created_at": now,
            "state": JobState.QUEUED.value,
            "horses": 0,
            "answered": 0,
            "refused": 0,
            "answered_to": 0,
            "totals": "{}",
        }
        turn = {"tenant": tenant, "job_id": job_id, "task": TurnTask.ERASE.value, "due_at": now + LONGEST_UPLOAD}
        mine = select(func.count()).select_from(_JOB).where(_JOB.tenant_id == tenant, _JOB.state.in_(_OPEN))
        async with self._sessions.writing(tenant=tenant) as session:
            if (await session.scalar(mine) or 0) >= MOST_OPEN:
                raise TooManyJobs(limit=MOST_OPEN)
            await session.execute(insert(_JOB), row)
            await session.execute(insert(_TURN), {**turn, "attempts": 0})
        return job_id

    async def add(self, job_id: JobId, lines: Sequence[JobLine], *, tenant: TenantId) -> None:
        """Keep some horses of an input. Raises NotFound if it took too long and was erased."""
        if not lines:
            return
        rows = [{"tenant_id": tenant, "job_id": job_id, "line": one.line, "body": one.body} for one in lines]
        async with self._sessions.writing(tenant=tenant) as session:
            await _require(session, _one(job_id, tenant=tenant), job_id=job_id)
            await session.execute(insert(_LINE), rows)

    async def received(self, job_id: JobId, given: JobInput, *, tenant: TenantId, by: Actor) -> MatchJob:
        """The input has come whole: from now on the job counts. Raises NotFound."""
        values = {
            "heading": given.heading,
            "input_bytes": given.bytes,
            "input_digest": given.digest,
            "horses": given.horses,
            "received_at": by.at,
        }
        turn = update(_TURN).where(_TURN.tenant == tenant, _TURN.job_id == job_id)
        async with self._sessions.writing(tenant=tenant) as session:
            begun = turn.values(task=TurnTask.ANSWER.value, due_at=by.at, lease=None, attempts=0)
            if await session.scalar(begun.returning(_TURN.job_id)) is None:
                raise NotFound(resource=RESOURCE, name=job_id)
            await session.execute(update(_JOB).where(_one(job_id, tenant=tenant)).values(values))
            await note(session, Deed.JOB_STARTED, tenant=tenant, subject=job_id, by=by)
            return await found(session, job_id, tenant=tenant)

    async def find(self, job_id: JobId, *, tenant: TenantId) -> MatchJob:
        """The job of that id, if it is `tenant`'s. Raises NotFound."""
        async with self._sessions.reading(tenant=tenant) as session:
            return await found(session, job_id, tenant=tenant)

    async def some(self, job_ids: Collection[JobId], *, tenant: TenantId) -> tuple[MatchJob, ...]:
        """Those of the jobs of these ids that there are and that are `tenant`'s, by one query."""
        if not job_ids:
            return ()
        these = select(_JOB).where(_JOB.tenant_id == tenant, _JOB.id.in_(job_ids), _JOB.received_at.is_not(None))
        async with self._sessions.reading(tenant=tenant) as session:
            return tuple(as_job(row) for row in await session.scalars(these))

    async def page(self, *, tenant: TenantId, before: str | None = None, limit: int = 50) -> tuple[MatchJob, ...]:
        """The jobs of `tenant`, newest first, from the one before `before` on."""
        query = select(_JOB).where(_JOB.tenant_id == tenant, _JOB.received_at.is_not(None)).order_by(_JOB.id.desc())
        if before is not None:
            query = query.where(_JOB.id < before)
        async with self._sessions.reading(tenant=tenant) as session:
            rows = await session.scalars(query.limit(max(0, min(limit, LARGEST_PAGE))))
            return tuple(as_job(row) for row in rows)

    async def lines(self, job: MatchJob, *, limit: int) -> tuple[JobLine, ...]:
        """The next horses that are not answered yet."""
        query = (
            select(_LINE.line, _LINE.body)
            .where(_LINE.tenant_id == job.tenant, _LINE.job_id == job.id, _LINE.line > job.answered_to)
            .order_by(_LINE.line)
            .limit(limit)
        )
        async with self._sessions.reading(tenant=job.tenant) as session:
            return tuple(JobLine(line=row.line, body=row.body) for row in await session.execute(query))

    async def results(
        self, job: MatchJob, *, after: int, limit: int, only: JobOutcome | None = None
    ) -> tuple[JobResult, ...]:
        """What is answered past a line and up to where `job` stood, in the order of the input."""
        query = _results(job.id, tenant=job.tenant, after=after, to=job.answered_to, limit=limit, only=only)
        async with self._sessions.reading(tenant=job.tenant) as session:
            return tuple(_as_result(row) for row in await session.execute(query))

    async def results_of_each(
        self,
        answered_to: Mapping[JobId, int],
        *,
        tenant: TenantId,
        after: int,
        limit: int,
        only: JobOutcome | None = None,
    ) -> dict[JobId, list[JobResult]]:
        """What `results` gives for each of some jobs, read together; beside its id stands how far a job had come."""
        found: dict[JobId, list[JobResult]] = {job_id: [] for job_id in answered_to}
        pages = [
            _results(job_id, tenant=tenant, after=after, to=to, limit=limit, only=only)
            for job_id, to in answered_to.items()
        ]
        async with self._sessions.reading(tenant=tenant) as session:
            for start in range(0, len(pages), MOST_TOGETHER):
                some = pages[start : start + MOST_TOGETHER]
                for row in await session.execute(union_all(*(select(page.subquery()) for page in some))):
                    found[JobId(row.job_id)].append(_as_result(row))
        return {job_id: sorted(results, key=lambda one: one.line) for job_id, results in found.items()}

    async def cancel(self, job_id: JobId, *, tenant: TenantId, keep_for: timedelta, by: Actor) -> MatchJob:
        """Answer no more horses of a job; once more changes nothing. Raises NotFound, JobOver if it came to an end."""
        kept_until = by.at + keep_for
        turn = update(_TURN).where(_TURN.tenant == tenant, _TURN.job_id == job_id)
        ended = {"state": JobState.CANCELLED.value, "finished_at": by.at, "kept_until": kept_until}
        async with self._sessions.writing(tenant=tenant) as session:
            await session.execute(turn.values(attempts=_TURN.attempts))  # the turn is held before its job, as elsewhere
            job = await found(session, job_id, tenant=tenant)
            if job.state is JobState.CANCELLED:
                return job
            if job.state.is_over:
                raise JobOver(job=job_id, state=job.state.value)
            await session.execute(turn.values(task=TurnTask.ERASE.value, due_at=kept_until, lease=None, attempts=0))
            await session.execute(update(_JOB).where(_one(job_id, tenant=tenant)).values(ended))
            await note(session, Deed.JOB_CANCELLED, tenant=tenant, subject=job_id, by=by)
            cancelled = await found(session, job_id, tenant=tenant)
            await note_end(session, cancelled, at=by.at)
            return cancelled

    async def remove(self, job_id: JobId, *, tenant: TenantId, by: Actor) -> None:
        """Erase a job with its input and results; nothing replays them afterwards. Raises NotFound."""
        async with self._sessions.writing(tenant=tenant) as session:
            if not await erase(session, job_id, tenant=tenant):
                raise NotFound(resource=RESOURCE, name=job_id)
            await forget_answers(session, tenant=tenant, about=job_id)
            await note(session, Deed.JOB_REMOVED, tenant=tenant, subject=job_id, by=by)

    async def abandon(self, job_id: JobId, *, tenant: TenantId) -> None:
        """Erase a job that does not count yet; one that counts stays."""
        waits = select(_JOB.id).where(_one(job_id, tenant=tenant), _JOB.received_at.is_(None))
        async with self._sessions.writing(tenant=tenant) as session:
            if await session.scalar(waits) is not None:
                await erase(session, job_id, tenant=tenant)


async def erase(session: AsyncSession, job_id: JobId, *, tenant: TenantId) -> bool:
    """Erase a job with all that belongs to it; whether it counted. The turn goes first, as whoever works holds it."""
    await session.execute(delete(_TURN).where(_TURN.tenant == tenant, _TURN.job_id == job_id))
    for table in (_RESULT, _LINE):
        await session.execute(delete(table).where(table.tenant_id == tenant, table.job_id == job_id))
    one = delete(_JOB).where(_one(job_id, tenant=tenant)).returning(_JOB.received_at)
    return await session.scalar(one) is not None


async def found(session: AsyncSession, job_id: JobId, *, tenant: TenantId) -> MatchJob:
    """The job of that id in a transaction that somebody else holds. Raises NotFound."""
    query = select(_JOB).where(_one(job_id, tenant=tenant), _JOB.received_at.is_not(None))
    row = await session.scalar(query.execution_options(populate_existing=True))
    if row is None:
        raise NotFound(resource=RESOURCE, name=job_id)
    return as_job(row)


def _results(
    job_id: JobId, *, tenant: TenantId, after: int, to: int, limit: int, only: JobOutcome | None
) -> Select[str, int, str, bytes]:
    """What is answered past a line and up to another, in the order of the input."""
    query = (
        select(_RESULT.job_id, _RESULT.line, _RESULT.outcome, _RESULT.packed)
        .where(_RESULT.tenant_id == tenant, _RESULT.job_id == job_id, _RESULT.line > after, _RESULT.line <= to)
        .order_by(_RESULT.line)
        .limit(max(0, min(limit, LARGEST_PAGE)))
    )
    return query if only is None else query.where(_RESULT.outcome == only.value)


def _as_result(row: Any) -> JobResult:
    return JobResult(line=row.line, outcome=JobOutcome(row.outcome), body=decompress(row.packed))


def _one(job_id: JobId, *, tenant: TenantId) -> ColumnElement[bool]:
    return and_(_JOB.tenant_id == tenant, _JOB.id == job_id)


async def _require(session: AsyncSession, which: ColumnElement[bool], *, job_id: JobId) -> None:
    """Hold the row of a job whose input is coming until this transaction ends."""
    if await session.scalar(select(_JOB.id).where(which).with_for_update()) is None:
        raise NotFound(resource=RESOURCE, name=job_id)


def as_job(row: tables.MatchJob) -> MatchJob:
    """A row as a value."""
    return MatchJob(
        id=JobId(row.id),
        tenant=TenantId(row.tenant_id),
        wish=JobWish(
            answers=JobAnswers(row.answers),
            written_as=JobFormat(row.written_as),
            catalog_release=ReleaseId(row.catalog_release),
            compared_with=None if row.compared_with is None else ReleaseId(row.compared_with),
            language=row.language,
            day=row.day,
            has_receipts=row.has_receipts,
            is_fixed=row.is_fixed,
        ),
        given=JobInput(horses=row.horses, bytes=row.input_bytes, digest=row.input_digest, heading=row.heading),
        state=JobState(row.state),
        failure=None if row.failure is None else JobFailure(row.failure),
        created_at=row.created_at,
        started_at=row.started_at,
        finished_at=row.finished_at,
        kept_until=row.kept_until,
        answered=row.answered,
        refused=row.refused,
        answered_to=row.answered_to,
        totals=msgspec.json.decode(row.totals, type=dict[str, int]),
    )
