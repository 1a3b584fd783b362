"""Match job values: jobs, what they were handed and what they answered, on their way into the store and out of it."""

from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from hashlib import sha256
from typing import NewType

from hooflast.catalog.values import ReleaseId
from hooflast.store.values import TenantId

JobId = NewType("JobId", str)


class JobState(StrEnum):
    """How far a job has come."""

    QUEUED = "queued"
    RUNNING = "running"
    DONE = "done"
    FAILED = "failed"
    CANCELLED = "cancelled"

    @property
    def is_over(self) -> bool:
        """Whether nothing more is answered."""
        return self not in (JobState.QUEUED, JobState.RUNNING)


class JobAnswers(StrEnum):
    """What a job answers for each horse: a match, the first boot of each hoof, or what another catalog changes."""

    FULL = "full"
    SHORT = "short"
    CHANGES = "changes"


class JobFormat(StrEnum):
    """How the input of a job is written."""

    NDJSON = "ndjson"
    CSV = "csv"


class JobOutcome(StrEnum):
    """What became of one horse of a job."""

    ANSWERED = "answered"
    CHANGED = "changed"
    REFUSED = "refused"


class JobFailure(StrEnum):
    """Why a job has failed as a whole."""

    RELEASE_GONE = "release_gone"
    GIVEN_UP = "given_up"


@dataclass(frozen=True, slots=True, kw_only=True)
class JobWish:
    """What a job is to answer, and all that its answers depend on besides the horses.

    `is_fixed` says that its catalog release is that of a client in test mode, served whatever becomes of it.
    """

    answers: JobAnswers
    written_as: JobFormat
    catalog_release: ReleaseId
    compared_with: ReleaseId | None = None
    language: str
    day: date
    has_receipts: bool = False
    is_fixed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class JobLine:
    """One horse as it was written, and the line that it begins on, from 1; no body if that was too long."""

    line: int
    body: bytes | None = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class JobInput:
    """What is known of a job's input once it has come whole. `heading` is the first row of a CSV, else empty."""

    horses: int
    bytes: int
    digest: str
    heading: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class JobResult:
    """What was answered for the horse of a line. `totals` are what it adds to the sums of its job."""

    line: int
    outcome: JobOutcome
    body: bytes = field(repr=False)
    totals: dict[str, int] = field(default_factory=dict)


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchJob:
    """One job. `answered_to` is the last line that is answered, `kept_until` when the job will be erased."""

    id: JobId
    tenant: TenantId
    wish: JobWish
    given: JobInput
    state: JobState
    failure: JobFailure | None
    created_at: datetime
    started_at: datetime | None
    finished_at: datetime | None
    kept_until: datetime | None
    answered: int
    refused: int
    answered_to: int
    totals: dict[str, int]


@dataclass(frozen=True, slots=True, kw_only=True)
class JobEnd:
    """A job that is over, as it stood then: `number` says the how manieth of its tenant's jobs to end it was."""

    number: int
    job: JobId
    state: JobState
    catalog_release: ReleaseId
    horses: int
    answered: int
    refused: int
    at: datetime

    @property
    def event_id(self) -> str:
        """The same for the same job, whoever works it out: a job ends once."""
        return f"evt_{sha256(f'{self.job} {self.state}'.encode()).hexdigest()[:32]}"


class TurnTask(StrEnum):
    """What there is to do for a job."""

    ANSWER = "answer"
    ERASE = "erase"


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """A turn that this process has taken: for which job, what to do, and the name of its lease."""

    tenant: TenantId
    job: JobId
    task: TurnTask
    lease: str
    attempts: int
