"""Event document: what a hook is told, written down: the kind of event, when it happened, and what it is about.

The bytes are written once for each event and sent the same at every attempt, since they are what is signed.
"""

from datetime import date, datetime
from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta

from hooflast.catalog.comparing import ReleaseChanges
from hooflast.catalog.live_events import ReleaseEvent, ReleaseEventKind
from hooflast.exchange.answer_parts import Document, encode
from hooflast.exchange.changes_document import CountsDocument, counts_documents
from hooflast.exchange.event_kinds import JobEventKind, kind_of_end
from hooflast.store.match_job_values import JobEnd, JobState

TEST_KIND: Final = "hook.test"
"""What only a test tells."""

_HAPPENED = Meta(description="When it happened; not when it was sent.")


class ReleaseEventData(Document, frozen=True):
    """What became of a catalog release."""

    catalog_release: Annotated[str, Meta(description="The catalog release it is about, by its id.")]
    edition: Annotated[str, Meta(description="What people call it.")]
    released_on: date
    before: Annotated[str | None, Meta(description="The catalog release that was active before; null: none was.")]
    active: Annotated[str | None, Meta(description="The one that is active from then on; null: none is.")]
    changes: Annotated[
        list[CountsDocument] | None,
        Meta(description="How many records the one from then on has otherwise than the one before; null: unknown."),
    ]


class ReleaseEventDocument(Document, frozen=True):
    """A catalog release was published, rolled back to, or withdrawn."""

    type: ReleaseEventKind
    timestamp: Annotated[datetime, _HAPPENED]
    data: ReleaseEventData


class MatchJobEventData(Document, frozen=True):
    """How a match job stood when it came to its end. It tells nothing of any horse."""

    match_job: Annotated[str, Meta(description="The job it is about, by its id.")]
    state: Annotated[JobState, Meta(description="How it ended: done, failed or cancelled.")]
    horses: Annotated[int, Meta(ge=0, description="How many horses its input holds.")]
    answered: Annotated[int, Meta(ge=0, description="How many of them are answered.")]
    refused: Annotated[int, Meta(ge=0, description="How many of them could not be read; their results say why.")]
    catalog_release: Annotated[str, Meta(description="The catalog release that they are answered from.")]
    results: Annotated[str, Meta(description="Where its results are, below the address of the service.")]


class MatchJobEventDocument(Document, frozen=True):
    """A match job is over: it was done, has failed as a whole, or was cancelled."""

    type: JobEventKind
    timestamp: Annotated[datetime, _HAPPENED]
    data: MatchJobEventData


class HookTestData(Document, frozen=True):
    """Nothing but the hook that is tried."""

    hook: Annotated[str, Meta(description="The hook's id.")]


class HookTestDocument(Document, frozen=True):
    """Somebody tries the hook. Nothing has happened."""

    type: Literal["hook.test"]
    timestamp: Annotated[datetime, _HAPPENED]
    data: HookTestData


EVENT_DOCUMENTS: Final[dict[str, type[msgspec.Struct]]] = {
    **{kind.value: ReleaseEventDocument for kind in ReleaseEventKind},
    **{kind.value: MatchJobEventDocument for kind in JobEventKind},
    TEST_KIND: HookTestDocument,
}
"""Every kind of event, with how it is written."""


def write_release_event(event: ReleaseEvent, *, changes: ReleaseChanges | None) -> bytes:
    """What is said of an event; `changes` lead from the catalog release before to the one from then on."""
    taken = event.taken
    return encode(
        ReleaseEventDocument(
            type=event.kind,
            timestamp=taken.at,
            data=ReleaseEventData(
                catalog_release=taken.release,
                edition=taken.edition,
                released_on=taken.released_on,
                before=event.before,
                active=event.active,
                changes=None if changes is None else counts_documents(changes),
            ),
        )
    )


def write_job_event(end: JobEnd) -> bytes:
    """What is said of a job that is over."""
    return encode(
        MatchJobEventDocument(
            type=kind_of_end(end.state),
            timestamp=end.at,
            data=MatchJobEventData(
                match_job=end.job,
                state=end.state,
                horses=end.horses,
                answered=end.answered,
                refused=end.refused,
                catalog_release=end.catalog_release,
                results=f"/v1/match-jobs/{end.job}/results",
            ),
        )
    )


def write_test_event(hook_id: str, *, at: datetime) -> bytes:
    """What is said where a hook is only tried."""
    return encode(HookTestDocument(type=TEST_KIND, timestamp=at, data=HookTestData(hook=hook_id)))
