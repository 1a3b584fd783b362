"""Match jobs: many horses handed over at once, answered beside other requests; followed, cancelled, removed."""

from typing import Final

from litestar import Response
from litestar.di import NamedDependency
from litestar.params import FromPath

from hooflast.access.key import Scope
from hooflast.api.answers import REVALIDATE, entity_tag, holds, json_answer
from hooflast.api.body import body_pieces
from hooflast.api.idempotency import once
from hooflast.api.kept_match_jobs import (
    ANSWER,
    COMPARE_WITH,
    PATH,
    RECEIPTS,
    Wished,
    begin,
    cancel_job,
    find_job,
    list_jobs,
    remove_job,
    taken,
    told,
    wish_of,
)
from hooflast.api.negotiation import CSV, JSON, media_type_of
from hooflast.api.operations import Link, Operation, PathParameter, route
from hooflast.api.paging import CURSOR, LIMIT, cursor_of, next_link
from hooflast.api.parameters import read_query
from hooflast.api.rest.pinning import CATALOG_RELEASE
from hooflast.api.service import HttpRequest, Service
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.job_document import MatchJobDocument, MatchJobPage, job_page
from hooflast.store.match_job_values import JobFormat, MatchJob

TAG: Final = "Match jobs"
JOB_ID: Final = PathParameter(
    name="job_id", meaning="The job's id: a UUID.", schema={"type": "string", "format": "uuid"}
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
    settings, actor = service.settings, service.actor(request)
    wished = Wished(
        written_as=JobFormat.CSV if media_type_of(request) == CSV else JobFormat.NDJSON,
        answers=query.get(ANSWER),
        catalog_release=query.get(CATALOG_RELEASE),
        compared_with=query.get(COMPARE_WITH),
        receipts=query.get(RECEIPTS),
    )
    wish = await wish_of(wished, service=service, language=service.texts_for(request).language)
    pieces = body_pieces(request, limit=settings.job_bytes, seconds=settings.request_seconds)
    async with taken(wish, pieces, service=service) as taken_in:

        async def make() -> Response[bytes]:
            job = await begin(taken_in, service=service, by=actor)
            headers = {"Location": f"{settings.public_url}{PATH}/{job.id}", "Content-Language": wish.language}
            return json_answer(_document(job, request=request, service=service), headers=headers)

        return await once(request, service, operation=CREATE_JOB, body=taken_in.given.digest.encode(), make=make)


@route(LIST_JOBS)
async def list_match_jobs(*, request: HttpRequest, service: NamedDependency[Service]) -> Response[bytes]:
    """A page of jobs."""
    query = read_query(request.scope["query_string"], parameters=LIST_JOBS.query)
    path = request.url.path
    cursor = cursor_of(query, scope=path)
    limit = query.get(LIMIT) or 0
    found = await list_jobs(service, before=cursor.after if cursor else None, limit=limit + 1)
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
    job = await cancel_job(service, job_id, by=service.actor(request))
    return json_answer(_document(job, request=request, service=service), headers=_spoken(request, service))


@route(REMOVE_JOB)
async def remove_match_job(
    *, request: HttpRequest, job_id: FromPath[str], service: NamedDependency[Service]
) -> Response[None]:
    """One job less."""
    read_query(request.scope["query_string"], parameters=REMOVE_JOB.query)
    await remove_job(service, job_id, by=service.actor(request))
    return Response(None)


def _document(job: MatchJob, *, request: HttpRequest, service: Service) -> MatchJobDocument:
    return told(job, service=service, texts=service.texts_for(request))


def _spoken(request: HttpRequest, service: Service) -> dict[str, str]:
    return {"Content-Language": service.texts_for(request).language, "Vary": "Accept, Accept-Language"}
