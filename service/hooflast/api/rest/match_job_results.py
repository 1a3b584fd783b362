"""Match job results: what a job has answered so far, streamed, from any line on."""

from typing import Final

from litestar.di import NamedDependency
from litestar.params import FromPath
from litestar.response import Stream

from hooflast.access.key import Scope
from hooflast.api.answers import NEVER_KEEP
from hooflast.api.kept_match_jobs import AFTER, ONLY, PATH, find_job, results_address
from hooflast.api.negotiation import CSV, LISTED, dearest
from hooflast.api.operations import Operation, route
from hooflast.api.parameters import read_query
from hooflast.api.rest.match_jobs import JOB_ID, TAG
from hooflast.api.service import HttpRequest, Service
from hooflast.jobs.telling_results import as_csv, as_ndjson, pages_of

READ_RESULTS: Final = Operation(
    id="read_match_job_results",
    method="GET",
    path=PATH + "/{job_id}/results",
    tag=TAG,
    summary="Read the results of a match job",
    description=(
        "In the order of the input, as NDJSON or, if `Accept` likes that better, as CSV. Each says by `line` to which "
        "line of the input it belongs. While the job runs you get what is answered so far, and the `Link` header leads "
        "on from there; after a connection broke, go on with `after` and the last line you have."
    ),
    path_parameters=(JOB_ID,),
    query=(AFTER, ONLY),
    gives="job results",
    meaning="The results.",
    problems=(404, 503),
    scope=Scope.JOBS,
)


@route(READ_RESULTS)
async def read_match_job_results(
    *, request: HttpRequest, job_id: FromPath[str], service: NamedDependency[Service]
) -> Stream:
    """What is answered past a line."""
    query = read_query(request.scope["query_string"], parameters=READ_RESULTS.query)
    job = await find_job(service, job_id)
    media_type = dearest(LISTED, request)
    only = query.get(ONLY)
    pages = pages_of(job, store=service.store, after=query.get(AFTER) or 0, only=only)
    headers = {
        "Cache-Control": NEVER_KEEP,
        "Content-Language": job.wish.language,
        "Content-Type": f"{CSV}; charset=utf-8" if media_type == CSV else media_type,
        "Vary": "Accept",
    }
    if not job.state.is_over:
        wished = f"&only={only}" if only else ""
        headers["Link"] = f'<{results_address(job, service=service)}?after={job.answered_to}{wished}>; rel="next"'
    written = as_csv(pages, job=job) if media_type == CSV else as_ndjson(pages)
    return Stream(written, headers=headers)
