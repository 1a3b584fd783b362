"""Kept match jobs: wished, handed over, begun, listed, found, cancelled and removed, whichever way it was asked for."""

from collections.abc import AsyncIterator, Iterable, Iterator, Mapping
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from datetime import timedelta
from enum import StrEnum
from typing import Final

from hooflast.api.known_ids import require_id
from hooflast.api.parameters import ParameterUnreadable, one_of, whole_number, written_as
from hooflast.api.refusals import QueryRefused
from hooflast.api.service import Service
from hooflast.catalog.values import ReleaseId
from hooflast.errors import Fault
from hooflast.exchange.job_document import MatchJobDocument, job_document
from hooflast.jobs.receiving import Bounds, TakenIn, take_in
from hooflast.store import StoreError, is_id
from hooflast.store.audit import Actor
from hooflast.store.match_job_values import JobAnswers, JobFormat, JobId, JobOutcome, JobWish, MatchJob
from hooflast.texts import Texts

PATH: Final = "/v1/match-jobs"
RESOURCE: Final = "match job"


class Receipts(StrEnum):
    """Whether full answers carry a match receipt."""

    WITH = "with"
    WITHOUT = "without"


ANSWER: Final = one_of(
    JobAnswers,
    name="answer",
    meaning=(
        "What is answered for each horse: `full` as a match is answered, `short` the first boot of each hoof, "
        "`changes` what another catalog release changes. Left out: `full`, or `changes` where `compare_with` is told."
    ),
)
COMPARE_WITH: Final = written_as(
    r"sha256-[0-9a-f]{64}",
    name="compare_with",
    meaning="The older catalog release to compare answers with, by its id; left out with `changes`: the one before.",
)
RECEIPTS: Final = one_of(
    Receipts, name="receipts", meaning="Whether full answers carry match receipts; left out: without."
)
AFTER: Final = whole_number(
    name="after",
    meaning="The last line whose result you have; what follows it is sent.",
    low=0,
    high=999_999_999,
    default=0,
)
ONLY: Final = one_of(JobOutcome, name="only", meaning="Only horses of which that has become.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wished:
    """What a job is to answer, as it was asked for; what is None was left out."""

    written_as: JobFormat
    answers: JobAnswers | None = None
    catalog_release: str | None = None
    compared_with: str | None = None
    receipts: Receipts | None = None


async def wish_of(wished: Wished, *, service: Service, language: str) -> JobWish:
    """What a job is to answer. Raises QueryRefused with every fault, NotFound, ReleaseGone, CatalogUnavailable."""
    answers = wished.answers or (JobAnswers.FULL if wished.compared_with is None else JobAnswers.CHANGES)
    faults = tuple(_faults(wished, answers=answers))
    if faults:
        raise QueryRefused(faults=faults)
    shelf = await service.catalog.pinned(wished.catalog_release)
    older: ReleaseId | None = None
    if answers is JobAnswers.CHANGES:
        older = await _older(wished.compared_with, newer=shelf.release.id, service=service)
    return JobWish(
        answers=answers,
        written_as=wished.written_as,
        catalog_release=shelf.release.id,
        compared_with=older,
        language=language,
        day=service.clock().date(),
        has_receipts=wished.receipts is Receipts.WITH,
        is_fixed=service.caller.fixed is not None,
    )


@asynccontextmanager
async def taken(wish: JobWish, pieces: AsyncIterator[bytes], *, service: Service) -> AsyncIterator[TakenIn]:
    """An input that has come whole. Unless its job is begun within the block, nothing stays of it.

    Raises as `take_in` does.
    """
    now = service.real_clock()
    await service.store.tenants.ensure(service.tenant, now=now)
    taken_in = await take_in(
        wish,
        pieces,
        store=service.store,
        tenant=service.tenant,
        now=now,
        bounds=Bounds(most_horses=service.settings.job_horses),
    )
    try:
        yield taken_in
    finally:
        with suppress(StoreError):  # what was not begun is erased an hour later, and what was begun is not undone
            await service.store.match_jobs.abandon(taken_in.job, tenant=service.tenant)


async def begin(taken_in: TakenIn, *, service: Service, by: Actor) -> MatchJob:
    """Let a job be worked on from now on. Raises NotFound if its input took too long and was erased."""
    job = await service.store.match_jobs.received(taken_in.job, taken_in.given, tenant=service.tenant, by=by)
    service.clerk.wake()
    return job


async def list_jobs(service: Service, *, before: str | None, limit: int) -> tuple[MatchJob, ...]:
    """The jobs of who asks, newest first, from the one before `before` on; none where that cannot be a job's id."""
    if before is not None and not is_id(before):
        return ()
    return await service.store.match_jobs.page(tenant=service.tenant, before=before, limit=limit)


async def find_job(service: Service, job_id: str) -> MatchJob:
    """The job of who asks. Raises NotFound."""
    return await service.store.match_jobs.find(_known(job_id), tenant=service.tenant)


async def find_jobs(service: Service, job_ids: Iterable[str]) -> Mapping[str, MatchJob]:
    """Those of some jobs that there are, by their ids, asked for at once."""
    known = [JobId(job_id) for job_id in job_ids if is_id(job_id)]
    return {job.id: job for job in await service.store.match_jobs.some(known, tenant=service.tenant)}


async def cancel_job(service: Service, job_id: str, *, by: Actor) -> MatchJob:
    """End a job early. Raises NotFound, JobOver."""
    keep_for = timedelta(days=service.settings.job_days)
    return await service.store.match_jobs.cancel(_known(job_id), tenant=service.tenant, keep_for=keep_for, by=by)


async def remove_job(service: Service, job_id: str, *, by: Actor) -> None:
    """Erase a job with its input and its results. Raises NotFound."""
    await service.store.match_jobs.remove(_known(job_id), tenant=service.tenant, by=by)


def results_address(job: MatchJob, *, service: Service) -> str:
    """The address of a job's results."""
    return f"{service.settings.public_url}{PATH}/{job.id}/results"


def told(job: MatchJob, *, service: Service, texts: Texts) -> MatchJobDocument:
    """A job as a document."""
    return job_document(job, results=results_address(job, service=service), texts=texts)


def _known(job_id: str) -> JobId:
    """What cannot be a job's id is not looked for. Raises NotFound."""
    return JobId(require_id(job_id, resource=RESOURCE))


def _faults(wished: Wished, *, answers: JobAnswers) -> Iterator[Fault]:
    named = (("catalog_release", wished.catalog_release), (COMPARE_WITH.name, wished.compared_with))
    for name, release_id in named:
        try:
            if release_id is not None:
                COMPARE_WITH.read(release_id)
        except ParameterUnreadable as unreadable:
            yield Fault(path=(name,), code=unreadable.code, received=release_id, facts=unreadable.facts)
    if wished.compared_with is not None and answers is not JobAnswers.CHANGES:
        yield _goes_with(COMPARE_WITH.name, JobAnswers.CHANGES, received=wished.compared_with)
    if wished.receipts is Receipts.WITH and answers is not JobAnswers.FULL:
        yield _goes_with(RECEIPTS.name, JobAnswers.FULL, received=wished.receipts)


def _goes_with(name: str, answers: JobAnswers, *, received: str) -> Fault:
    facts = {"other": ANSWER.name, "value": answers.value}
    return Fault(path=(name,), code="parameter-goes-with", received=received, facts=facts)


async def _older(compared_with: str | None, *, newer: ReleaseId, service: Service) -> ReleaseId:
    """The catalog release to compare with. Raises QueryRefused where there is none, NotFound, ReleaseGone."""
    if compared_with is not None:
        return (await service.catalog.pinned(compared_with)).release.id
    before = service.catalog.before(newer)
    if before is None:
        raise QueryRefused(faults=(Fault(path=(COMPARE_WITH.name,), code="no-release-before", received=None),))
    return before
