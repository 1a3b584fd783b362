"""Job document: a match job, how far it has come, and what it adds up to, as it is sent."""

from collections.abc import Sequence
from datetime import date, datetime
from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import Document, Sentence
from hooflast.store.match_job_values import JobAnswers, JobFailure, JobFormat, JobState, MatchJob
from hooflast.texts import Texts

Count = Annotated[int, Meta(ge=0)]
_STATE = Meta(description="queued, running, or how it ended: done, failed, cancelled.")


class JobTotalsDocument(Document, frozen=True):
    """What changes between two catalog releases, added up over the horses that are answered."""

    hooves: Annotated[int, Meta(ge=0, description="Hooves that were asked about.")]
    horses_changed: Annotated[int, Meta(ge=0, description="Horses with at least one hoof that is answered otherwise.")]
    hooves_changed: Count
    other_boot: Annotated[int, Meta(ge=0, description="Hooves for which another boot model is first.")]
    other_size: Annotated[int, Meta(ge=0, description="Hooves whose first boot model before is best in another size.")]
    no_boot_now: Annotated[int, Meta(ge=0, description="Hooves that had a boot and have none now.")]
    a_boot_now: Annotated[int, Meta(ge=0, description="Hooves that had no boot and have one now.")]


class MatchJobDocument(Document, frozen=True):
    """One match job."""

    id: Annotated[str, Meta(description="The job's id: a UUID.")]
    state: Annotated[JobState, _STATE]
    answer: Annotated[JobAnswers, Meta(description="What is answered for each horse.")]
    receipts: Annotated[bool, Meta(description="Whether full answers carry match receipts.")]
    catalog_release: Annotated[str, Meta(description="The catalog release that all its horses are answered from.")]
    compare_with: Annotated[str | None, Meta(description="The older catalog release that answers are compared with.")]
    language: Annotated[str, Meta(description="The language of its sentences.")]
    day: Annotated[date, Meta(description="The day that its horses are answered for.")]
    written_as: Annotated[JobFormat, Meta(description="How its input is written.")]
    input_bytes: Count
    input_sha256: Annotated[str, Meta(description="The SHA-256 digest of its input, in hexadecimal.")]
    horses: Annotated[int, Meta(ge=0, description="How many horses its input holds.")]
    answered: Annotated[int, Meta(ge=0, description="How many of them are answered.")]
    refused: Annotated[int, Meta(ge=0, description="How many of them could not be read; their results say why.")]
    answered_to: Annotated[int, Meta(ge=0, description="The last line of the input that has its result; 0: none yet.")]
    changes: Annotated[JobTotalsDocument | None, Meta(description="Null: it does not compare catalog releases.")]
    failure: Annotated[JobFailure | None, Meta(description="Why it failed as a whole, for programs.")]
    failure_text: Sentence | None
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None
    kept_until: Annotated[datetime | None, Meta(description="When it will be erased with all its results.")]
    results: Annotated[str, Meta(description="The address of its results.")]


class MatchJobPage(Document, frozen=True):
    """Some match jobs, newest first."""

    items: Annotated[list[MatchJobDocument], Meta(max_length=100)]
    next: Annotated[str | None, Meta(description="The address of the next page; null on the last one.")]


def job_document(job: MatchJob, *, results: str, texts: Texts) -> MatchJobDocument:
    """A job as a document."""
    wish, given = job.wish, job.given
    return MatchJobDocument(
        id=job.id,
        state=job.state,
        answer=wish.answers,
        receipts=wish.has_receipts,
        catalog_release=wish.catalog_release,
        compare_with=wish.compared_with,
        language=wish.language,
        day=wish.day,
        written_as=wish.written_as,
        input_bytes=given.bytes,
        input_sha256=given.digest,
        horses=given.horses,
        answered=job.answered,
        refused=job.refused,
        answered_to=job.answered_to,
        changes=_totals(job),
        failure=job.failure,
        failure_text=None if job.failure is None else texts.say(f"job_failure.{job.failure}"),
        created_at=job.created_at,
        started_at=job.started_at,
        finished_at=job.finished_at,
        kept_until=job.kept_until,
        results=results,
    )


def job_page(items: Sequence[MatchJobDocument], *, there: str | None) -> MatchJobPage:
    """A page of jobs."""
    return MatchJobPage(items=list(items), next=there)


def _totals(job: MatchJob) -> JobTotalsDocument | None:
    if job.wish.answers is not JobAnswers.CHANGES:
        return None
    return JobTotalsDocument(**{name: job.totals.get(name, 0) for name in JobTotalsDocument.__struct_fields__})
