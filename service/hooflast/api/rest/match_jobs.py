"""Match jobs: many horses handed over at once, answered beside other requests; followed, cancelled, removed."""

from datetime import timedelta
from enum import StrEnum
from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.access.key import Scope
from hooflast.api.answers import REVALIDATE, entity_tag, holds, json_answer
from hooflast.api.body import body_pieces
from hooflast.api.idempotency import once
from hooflast.api.known_ids import require_id
from hooflast.api.negotiation import CSV, JSON, media_type_of
from hooflast.api.operations import Link, Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link
from hooflast.api.parameters import Query, one_of, read_query, written_as
from hooflast.api.refusals import QueryRefused
from hooflast.api.rest.pinning import CATALOG_RELEASE
from hooflast.api.service import HttpRequest, Service
from hooflast.catalog.values import ReleaseId
from hooflast.errors import Fact, Fault
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.job_document import MatchJobDocument, MatchJobPage, job_document, job_page
from hooflast.jobs.receiving import Bounds, take_in
from hooflast.store.match_job_values import JobAnswers, JobFormat, JobId, JobWish, MatchJob

PATH: Final = "/v1/match-jobs"
TAG: Final = "Match jobs"
JOB_ID: Final = PathParameter(
    name="job_id", meaning="The job's id: a UUID.", schema={"type": "string", "format": "uuid"}
)


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
_ID_IN_ANSWER: Final = "$response.body#/id"
_ID_IN_PATH: Final = "$request.path.job_id"

CREATE_JOB: Final = Operation(
    id="create_match_job",
    method="POST",
    path=PATH,
    tag=TAG,
    summary="Match many horses",
    description=(
        "Hand over a file of horses as NDJSON (the form of a match, one a line) or CSV (one hoof a row). It is kept as "
        "it comes, up to 64 MB and 100,000 horses unless the service is set otherwise, and answered in the background, "
        "a few horses at a turn. All horses are answered from one catalog release and for one day; the catalog release "
        "that a horse pins itself plays no part. A horse that cannot be read has its faults among the results and "
        "stops no other. Up to 20 jobs may wait or run at once."
    ),
    query=(ANSWER, CATALOG_RELEASE, COMPARE_WITH, RECEIPTS),
    takes="horses",
    gives=MatchJobDocument,
    status=201,
    meaning="The job, which waits for its turn.",
    is_made_once=True,
    problems=(404, 409, 410, 503),
    speaks=True,
    scope=Scope.JOBS,
    links=(
        Link(name="read", to="read_match_job", parameter="job_id", expression=_ID_IN_ANSWER, meaning="How far it is."),
        Link(
            name="results",
            to="read_match_job_results",
            parameter="job_id",
            expression=_ID_IN_ANSWER,
            meaning="What is answered so far.",
        ),
        Link(
            name="cancel", to="cancel_match_job", parameter="job_id", expression=_ID_IN_ANSWER, meaning="Ends it early."
        ),
        Link(name="remove", to="remove_match_job", parameter="job_id", expression=_ID_IN_ANSWER, meaning="Erases it."),
    ),
)
LIST_JOBS: Final = Operation(
    id="list_match_jobs",
    method="GET",
    path=PATH,
    tag=TAG,
    summary="List match jobs",
    description="Newest first. A job is erased 30 days after it is over, unless the service is set otherwise.",
    query=(LIMIT, CURSOR),
    gives=MatchJobPage,
    meaning="A page of jobs.",
    problems=(503,),
    speaks=True,
    scope=Scope.JOBS,
)
READ_JOB: Final = Operation(
    id="read_match_job",
    method="GET",
    path=PATH + "/{job_id}",
    tag=TAG,
    summary="See how far a match job is",
    path_parameters=(JOB_ID,),
    gives=MatchJobDocument,
    meaning="The job.",
    problems=(404, 503),
    revalidates=True,
    speaks=True,
    scope=Scope.JOBS,
)
CANCEL_JOB: Final = Operation(
    id="cancel_match_job",
    method="POST",
    path=PATH + "/{job_id}/cancellation",
    tag=TAG,
    summary="Cancel a match job",
    description="No further horse is answered. What was answered stays until the job is removed or its time is over.",
    path_parameters=(JOB_ID,),
    gives=MatchJobDocument,
    meaning="The job, cancelled.",
    problems=(404, 409, 503),
    speaks=True,
    scope=Scope.JOBS,
)
REMOVE_JOB: Final = Operation(
    id="remove_match_job",
    method="DELETE",
    path=PATH + "/{job_id}",
    tag=TAG,
    summary="Remove a match job",
    description="Erases it with its input and its results for good, whether it is over or not.",
    path_parameters=(JOB_ID,),
    status=204,
    meaning="It is erased.",
    problems=(404, 503),
    scope=Scope.JOBS,
    links=(
        Link(
            name="read",
            to="read_match_job",
            parameter="job_id",
            expression=_ID_IN_PATH,
            meaning="From now on it is not found.",
        ),
    ),
)


@route(CREATE_JOB)
async def create_match_job(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A new job."""
    query = read_query(request.scope["query_string"], parameters=CREATE_JOB.query)
    settings = service.settings
    wish = await _wish(request, service, query=query)
    jobs, tenant, actor = service.store.match_jobs, service.tenant, service.actor(request)
    await service.store.tenants.ensure(tenant, now=service.real_clock())
    taken = await take_in(
        wish,
        body_pieces(request, limit=settings.job_bytes, seconds=settings.request_seconds),
        store=service.store,
        tenant=tenant,
        now=service.real_clock(),
        bounds=Bounds(most_horses=settings.job_horses),
    )

    async def make() -> Response[bytes]:
        job = await jobs.received(taken.job, taken.given, tenant=tenant, by=actor)
        service.clerk.wake()
        headers = {"Location": f"{settings.public_url}{PATH}/{job.id}", "Content-Language": wish.language}
        return json_answer(_document(job, request=request, service=service), headers=headers)

    try:
        return await once(request, service, operation=CREATE_JOB, body=taken.given.digest.encode(), make=make)
    finally:
        await jobs.abandon(taken.job, tenant=tenant)


@route(LIST_JOBS)
async def list_match_jobs(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A page of jobs."""
    query = read_query(request.scope["query_string"], parameters=LIST_JOBS.query)
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    limit = query.get(LIMIT) or 0
    found = await service.store.match_jobs.page(
        tenant=service.tenant, before=cursor.after if cursor else None, limit=limit + 1
    )
    shown, there, headers = found[:limit], None, _spoken(request, service)
    if len(found) > limit:
        address = next_link(path, query=query, scope=path, release="", after=shown[-1].id)
        there = service.settings.public_url + address
        headers["Link"] = f'<{there}>; rel="next"'
    items = [_document(job, request=request, service=service) for job in shown]
    return json_answer(job_page(items, there=there), headers=headers)


@route(READ_JOB)
async def read_match_job(
    *, request: HttpRequest, job_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """One job."""
    read_query(request.scope["query_string"], parameters=READ_JOB.query)
    body = encode(_document(await find_job(service, job_id), request=request, service=service))
    tag = entity_tag(body.decode())
    headers = {"ETag": tag, "Cache-Control": REVALIDATE, **_spoken(request, service)}
    if holds(request.headers.get("if-none-match"), tag):
        return Response(b"", status_code=304, headers=headers)
    return Response(body, media_type=JSON, headers=headers)


@route(CANCEL_JOB)
async def cancel_match_job(
    *, request: HttpRequest, job_id: FromPath[str], service: NamedDependency[Service]
) -> Response[bytes]:
    """A job ended early."""
    read_query(request.scope["query_string"], parameters=CANCEL_JOB.query)
    job = await service.store.match_jobs.cancel(
        known_job_id(job_id),
        tenant=service.tenant,
        keep_for=timedelta(days=service.settings.job_days),
        by=service.actor(request),
    )
    return json_answer(_document(job, request=request, service=service), headers=_spoken(request, service))


@route(REMOVE_JOB)
async def remove_match_job(
    *, request: HttpRequest, job_id: FromPath[str], service: NamedDependency[Service]
) -> Response[None]:
    """One job less."""
    read_query(request.scope["query_string"], parameters=REMOVE_JOB.query)
    await service.store.match_jobs.remove(known_job_id(job_id), tenant=service.tenant, by=service.actor(request))
    return Response(None)


async def find_job(service: Service, job_id: str) -> MatchJob:
    """The job of who asks. Raises NotFound."""
    return await service.store.match_jobs.find(known_job_id(job_id), tenant=service.tenant)


def known_job_id(job_id: str) -> JobId:
    """What cannot be a job's id is not looked for. Raises NotFound."""
    return JobId(require_id(job_id, resource="match job"))


def results_path(job: MatchJob, *, service: Service) -> str:
    """The address of a job's results."""
    return f"{service.settings.public_url}{PATH}/{job.id}/results"


async def _wish(request: HttpRequest, service: Service, *, query: Query) -> JobWish:
    """What a job is to answer. Raises QueryRefused, NotFound, ReleaseGone, CatalogUnavailable."""
    compared_with, answers = query.get(COMPARE_WITH), query.get(ANSWER)
    answers = answers or (JobAnswers.FULL if compared_with is None else JobAnswers.CHANGES)
    faults = []
    if compared_with is not None and answers is not JobAnswers.CHANGES:
        facts: dict[str, Fact] = {"other": ANSWER.name, "value": JobAnswers.CHANGES.value}
        faults.append(Fault(path=(COMPARE_WITH.name,), code="parameter-goes-with", received=compared_with, facts=facts))
    receipts = query.get(RECEIPTS)
    if receipts is Receipts.WITH and answers is not JobAnswers.FULL:
        facts = {"other": ANSWER.name, "value": JobAnswers.FULL.value}
        faults.append(Fault(path=(RECEIPTS.name,), code="parameter-goes-with", received=receipts, facts=facts))
    if faults:
        raise QueryRefused(faults=tuple(faults))
    shelf = await service.catalog.pinned(query.get(CATALOG_RELEASE))
    older: ReleaseId | None = None
    if answers is JobAnswers.CHANGES:
        older = await _older(compared_with, newer=shelf.release.id, service=service)
    return JobWish(
        answers=answers,
        written_as=JobFormat.CSV if media_type_of(request) == CSV else JobFormat.NDJSON,
        catalog_release=shelf.release.id,
        compared_with=older,
        language=service.texts_for(request).language,
        day=service.clock().date(),
        has_receipts=receipts is Receipts.WITH,
        is_fixed=service.caller.fixed is not None,
    )


async def _older(compared_with: str | None, *, newer: ReleaseId, service: Service) -> ReleaseId:
    """The catalog release to compare with. Raises QueryRefused where there is none, NotFound, ReleaseGone."""
    if compared_with is not None:
        return (await service.catalog.pinned(compared_with)).release.id
    before = service.catalog.before(newer)
    if before is None:
        raise QueryRefused(faults=(Fault(path=(COMPARE_WITH.name,), code="no-release-before", received=None),))
    return before


def _document(job: MatchJob, *, request: HttpRequest, service: Service) -> MatchJobDocument:
    return job_document(job, results=results_path(job, service=service), texts=service.texts_for(request))


def _spoken(request: HttpRequest, service: Service) -> dict[str, str]:
    return {"Content-Language": service.texts_for(request).language, "Vary": "Accept, Accept-Language"}
