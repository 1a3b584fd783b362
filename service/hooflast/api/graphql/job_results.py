"""Job results: what a match job has answered so far, page by page, each answer read back into its type."""

from functools import cached_property
from typing import Annotated, Any, Final

import msgspec
import strawberry
from msgspec.structs import replace

from hooflast.api.graphql.bounds import FAULTS
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
from hooflast.api.graphql.loaders import ResultsOf
from hooflast.api.graphql.naming import camel
from hooflast.api.graphql.outputs import made_from, output_type
from hooflast.api.kept_match_jobs import AFTER, RESOURCE
from hooflast.api.parameters import ParameterUnreadable
from hooflast.api.refusals import QueryRefused
from hooflast.errors import Fault, NotFound
from hooflast.exchange.job_document import MatchJobDocument
from hooflast.exchange.job_result_document import (
    ChangesAnswerDocument,
    HorseFaultDocument,
    JobResultDocument,
    ShortAnswerDocument,
)
from hooflast.exchange.job_result_reading import (
    JobAnswerDocument,
    KeptResultDocument,
    engine_of,
    read_answer,
    read_result,
)
from hooflast.exchange.match_document import MatchAnswerDocument
from hooflast.matching.errors import CannotAnswerAgain
from hooflast.store.match_job_values import JobAnswers, JobId, JobOutcome, JobResult

AFTER_LINE: Final = "after_line"

AfterLine = Annotated[
    int,
    strawberry.argument(
        description="The last line whose result you have; what follows it is given. From 0 to 999999999."
    ),
]
Only = Annotated[JobOutcome | None, strawberry.argument(description="Only horses of which that has become.")]


class ResultFound:
    """One result. What was kept of it is only read where something of it is asked for."""

    def __init__(self, result: JobResult, *, job_id: str, job: MatchJobDocument) -> None:
        self._result = result
        self._job_id = job_id
        self._job = job

    @property
    def line(self) -> int:
        """Where the horse begins."""
        return self._result.line

    @property
    def outcome(self) -> JobOutcome:
        """What became of it."""
        return self._result.outcome

    @property
    def horse_name(self) -> str:
        """What it is called."""
        return self._kept.horse_name

    @property
    def faults(self) -> list[HorseFaultDocument]:
        """What is wrong with it, told of the places of the input that GraphQL has for it."""
        return [replace(fault, pointer=_spelled(fault.pointer)) for fault in self._kept.faults[:FAULTS]]

    @property
    def full(self) -> JobAnswerDocument | None:
        """Its match."""
        return self._answer(JobAnswers.FULL)

    @property
    def short(self) -> JobAnswerDocument | None:
        """Its match in short."""
        return self._answer(JobAnswers.SHORT)

    @property
    def changes(self) -> JobAnswerDocument | None:
        """What changes for it."""
        return self._answer(JobAnswers.CHANGES)

    @cached_property
    def _kept(self) -> KeptResultDocument:
        return read_result(self._result.body)

    def _answer(self, answers: JobAnswers) -> JobAnswerDocument | None:
        """Raises CannotAnswerAgain for one that an older Hooflast wrote otherwise."""
        if answers is not self._job.answer:
            return None
        try:
            return read_answer(self._kept, answers=answers)
        except msgspec.ValidationError:
            raise CannotAnswerAgain(
                match=f"{self._job_id}/{self.line}",
                catalog_release=self._job.catalog_release,
                engine=engine_of(self._kept),
            ) from None


@made_from(MatchAnswerDocument, without=("id",))
class MatchAnswer:
    """A match that is not kept as one."""


@made_from(JobResultDocument, name="MatchJobResult")
class MatchJobResult:
    """A result with its answer, in the field that is called as the job's `answer`."""

    full = strawberry.field(
        graphql_type=MatchAnswer | None,
        description="The whole match, where the job's `answer` is `FULL`. It is not kept as a match.",
    )
    short = strawberry.field(
        graphql_type=output_type(ShortAnswerDocument) | None,
        description="The match in short, where the job's `answer` is `SHORT`.",
    )
    changes = strawberry.field(
        graphql_type=output_type(ChangesAnswerDocument) | None,
        description="What the newer catalog release answers otherwise, where the job's `answer` is `CHANGES`.",
    )


ResultConnection = connection_type(MatchJobResult, name="MatchJobResult")


async def results_of(
    root: Any,
    info: Info,
    *,
    first: First = USUAL,
    after: After = None,
    after_line: AfterLine = 0,
    only: Only = None,
) -> PageFound:
    """A page of the results of a job. Raises QueryRefused, NotFound if they are erased meanwhile."""
    job: MatchJobDocument = root.document
    asked = Asked(
        scope=f"match-jobs/{root.rest_id}/results",
        first=first,
        after=after,
        filters={AFTER_LINE: after_line, "only": only},
        faults=_faults(after_line),
    )
    query, had = asked.query(), _line_had(asked)
    start = max(after_line, had or 0)
    found = await info.context.job_results.load(
        ResultsOf(job=JobId(root.rest_id), answered_to=job.answered_to, after=start, only=only, limit=first + 1)
    )
    is_last = len(found) <= first
    if is_last and only is None and (found[-1].line if found else start) < job.answered_to:
        raise NotFound(resource=RESOURCE, name=root.rest_id)
    return PageFound(
        edges=[
            EdgeFound(
                node=ResultFound(one, job_id=root.rest_id, job=job),
                key=str(one.line),
                query=query,
                scope=asked.scope,
                release="",
            )
            for one in found[:first]
        ],
        has_next_page=not is_last,
        has_previous_page=had is not None,
    )


def _faults(after_line: int) -> tuple[Fault, ...]:
    try:
        AFTER.read(str(after_line))
    except ParameterUnreadable as unreadable:
        return (Fault(path=(AFTER_LINE,), code=unreadable.code, received=after_line, facts=unreadable.facts),)
    return ()


def _line_had(asked: Asked) -> int | None:
    """The line that a cursor stands for. Raises QueryRefused for one that leads nowhere."""
    cursor = cursor_in(asked)
    if cursor is None:
        return None
    try:
        return AFTER.read(cursor.after)
    except ParameterUnreadable:
        raise QueryRefused(faults=(Fault(path=("after",), code="cursor-led-nowhere", received=asked.after),)) from None


def _spelled(pointer: str | None) -> str | None:
    return None if pointer is None else "/".join(map(camel, pointer.split("/")))
