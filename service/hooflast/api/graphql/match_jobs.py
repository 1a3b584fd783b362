"""Match jobs: many horses handed over at once, answered beside other requests; followed, cancelled, removed."""

import json
from collections.abc import AsyncIterator, Sequence
from typing import Annotated, Any, Final

import strawberry

from hooflast.access.key import Scope
from hooflast.api.graphql.bounds import BOUND
from hooflast.api.graphql.connections import (
    USUAL,
    After,
    Asked,
    EdgeFound,
    First,
    PageFound,
    connection_type,
    cursor_in,
)
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.enumerations import enumeration
from hooflast.api.graphql.fields import EACH, KEPT_ANSWER, LOOK_UP, MANY_HORSES, WEIGHT, declared
from hooflast.api.graphql.inputs import as_body, input_type
from hooflast.api.graphql.job_results import ResultConnection, results_of
from hooflast.api.graphql.nodes import ID_MEANING, Found, Gone, Node, NodeId, id_of, node_from
from hooflast.api.kept_match_jobs import (
    RESOURCE,
    Receipts,
    Wished,
    begin,
    cancel_job,
    list_jobs,
    remove_job,
    taken,
    told,
    wish_of,
)
from hooflast.api.refusals import BodyTooLarge
from hooflast.errors import InputRefused
from hooflast.exchange import MatchForm
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.job_document import MatchJobDocument
from hooflast.store.match_job_values import JobAnswers, JobFormat, MatchJob

MATCH_JOB: Final = "MatchJob"
MOST_HORSES: Final = 1_000
"""How many horses a job may be handed in GraphQL, which reads them as one document; REST takes them as they come."""

enumeration(Receipts)
Id = Annotated[strawberry.ID, strawberry.argument(description=ID_MEANING)]
HorseInput: Any = input_type(MatchForm)
Horses: Any = Annotated[
    list[HorseInput],
    strawberry.argument(
        description=(
            "The horses. The first one is line 1 of the job, the next line 2; the catalog release that a horse pins "
            f"itself plays no part. At most {MOST_HORSES}."
        ),
        metadata={BOUND: MOST_HORSES},
    ),
]
Answer = Annotated[
    JobAnswers | None,
    strawberry.argument(
        description="What is answered for each horse; left out, `FULL`, or `CHANGES` where `compareWith` is told."
    ),
]
Release = Annotated[
    str | None,
    strawberry.argument(
        description="The REST id of the catalog release that all horses are answered from; left out, the active one."
    ),
]
CompareWith = Annotated[
    str | None,
    strawberry.argument(
        description=(
            "The REST id of the older catalog release to compare answers with; left out with `CHANGES`, the one before."
        )
    ),
]
WithReceipts = Annotated[
    Receipts | None,
    strawberry.argument(description="Whether full answers carry match receipts; left out, without."),
]


def _job_found(job: MatchJob, info: Info) -> Found:
    context = info.context
    document = told(job, service=context.service, texts=context.texts)
    return Found(kind=MATCH_JOB, rest_id=job.id, document=document)


@node_from(MatchJobDocument, kind=MATCH_JOB, renamed={"results": "resultsAddress"})
class MatchJobNode(Node):
    """One match job, with its results."""

    answered_so_far = strawberry.field(
        resolver=results_of,
        graphql_type=ResultConnection,
        name="results",
        description=(
            "What is answered so far, in the order of the input. Each says by `line` to which line of the input it "
            "belongs. While the job runs, go on with `afterLine` and the last line you have."
        ),
        metadata={WEIGHT: LOOK_UP, EACH: KEPT_ANSWER},
    )


MatchJobConnection = connection_type(MatchJobNode, name="MatchJob")


@strawberry.type(name="RemovedMatchJob", description="A match job that was erased for good.")
class RemovedMatchJob(Gone):
    """What was removed."""


async def _match_jobs(info: Info, *, first: First = USUAL, after: After = None) -> PageFound:
    asked = Asked(scope="match-jobs", first=first, after=after)
    query, cursor = asked.query(), cursor_in(asked)
    found = await list_jobs(info.context.service, before=cursor.after if cursor else None, limit=first + 1)
    return PageFound(
        edges=[
            EdgeFound(node=_job_found(job, info), key=job.id, query=query, scope=asked.scope, release="")
            for job in found[:first]
        ],
        has_next_page=len(found) > first,
        has_previous_page=cursor is not None,
    )


async def find_match_job(info: Info, node: NodeId) -> Found:
    """The job that a node's id means. Raises NotFound, ScopeMissing."""
    info.context.require(Scope.JOBS)
    return _job_found(await info.context.match_jobs.load(node.rest_id), info)


async def _match_job(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    return await find_match_job(info, id_of(id, kind=MATCH_JOB, resource=RESOURCE))


async def _create_match_job(
    info: Info,
    *,
    horses: Horses,
    answer: Answer = None,
    catalog_release: Release = None,
    compare_with: CompareWith = None,
    receipts: WithReceipts = None,
) -> Found:
    context, service = info.context, info.context.service
    wished = Wished(
        written_as=JobFormat.NDJSON,
        answers=answer,
        catalog_release=catalog_release,
        compared_with=compare_with,
        receipts=receipts,
    )
    wish = await wish_of(wished, service=service, language=context.texts.language)
    if len(horses) > MOST_HORSES:
        too_many = fault(FaultCode.TOO_MANY, path=("horses",), received=len(horses), facts={"limit": MOST_HORSES})
        raise InputRefused(faults=(too_many,))
    try:
        async with taken(wish, _lines(horses, limit=service.settings.job_bytes), service=service) as taken_in:
            return _job_found(await begin(taken_in, service=service, by=context.actor), info)
    except InputRefused as refused:
        raise InputRefused(faults=tuple(found.under("horses") for found in refused.faults)) from None


async def _lines(horses: Sequence[Any], *, limit: int) -> AsyncIterator[bytes]:
    """Horses as lines of NDJSON, as REST is handed them. Raises BodyTooLarge where they are more than `limit` bytes."""
    size = 0
    for horse in horses:
        line = json.dumps(as_body(horse), separators=(",", ":")).encode() + b"\n"
        size += len(line)
        if size > limit:
            raise BodyTooLarge(limit=limit)
        yield line


async def _cancel_match_job(info: Info, *, id: Id) -> Found:  # noqa: A002 (the argument's name)
    context, node = info.context, id_of(id, kind=MATCH_JOB, resource=RESOURCE)
    job = await cancel_job(context.service, node.rest_id, by=context.actor)
    context.making.about.append(job.id)
    return _job_found(job, info)


async def _remove_match_job(info: Info, *, id: Id) -> RemovedMatchJob:  # noqa: A002 (the argument's name)
    context, node = info.context, id_of(id, kind=MATCH_JOB, resource=RESOURCE)
    await remove_job(context.service, node.rest_id, by=context.actor)
    return RemovedMatchJob.was(node)


def _declared(resolver: Any, *, gives: Any, description: str, weight: int = LOOK_UP) -> Any:
    return declared(resolver, gives=gives, scope=Scope.JOBS, weight=weight, description=description)


FIELDS = {
    "match_jobs": _declared(_match_jobs, gives=MatchJobConnection, description="Match jobs, newest first."),
    "match_job": _declared(_match_job, gives=MatchJobNode, description="One match job, and how far it is."),
}
MUTATIONS = {
    "create_match_job": _declared(
        _create_match_job,
        gives=MatchJobNode,
        weight=MANY_HORSES,
        description=(
            f"Hands over up to {MOST_HORSES} horses, which are answered in the background, a few at a turn. All are "
            "answered from one catalog release and for one day. A horse that cannot be read has its faults among the "
            "results and stops no other. Up to 20 jobs may wait or run at once. A large file is for REST, which takes "
            "it as it comes, as NDJSON or CSV, at /v1/match-jobs."
        ),
    ),
    "cancel_match_job": _declared(
        _cancel_match_job,
        gives=MatchJobNode,
        description="Answers no more horses of a job. What was answered stays until it is removed or its time is over.",
    ),
    "remove_match_job": _declared(
        _remove_match_job,
        gives=RemovedMatchJob,
        description="Erases a job with its input and its results for good, whether it is over or not.",
    ),
}
FINDERS = {MATCH_JOB: find_match_job}
