"""Event kinds: what a hook can be told of, by the names that clients ask for it with."""

from enum import StrEnum

from hooflast.catalog.live_events import ReleaseEventKind


class JobEventKind(StrEnum):
    """How a match job came to its end."""

    DONE = "match_job.done"
    FAILED = "match_job.failed"
    CANCELLED = "match_job.cancelled"


class EventKind(StrEnum):
    """Everything that a hook can be told of."""

    PUBLISHED = ReleaseEventKind.PUBLISHED.value
    ROLLED_BACK = ReleaseEventKind.ROLLED_BACK.value
    WITHDRAWN = ReleaseEventKind.WITHDRAWN.value
    MATCH_JOB_DONE = JobEventKind.DONE.value
    MATCH_JOB_FAILED = JobEventKind.FAILED.value
    MATCH_JOB_CANCELLED = JobEventKind.CANCELLED.value


def kind_of_end(state: str) -> JobEventKind:
    """What is told of a match job that ended in a state."""
    return JobEventKind(f"match_job.{state}")
