"""Kept release document: what is known of a catalog release in the store, and the report of a look at its content."""

from collections.abc import Iterable
from datetime import date, datetime
from typing import Annotated

from msgspec import Meta

from hooflast.catalog.comparing import ReleaseChanges
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import Doubt
from hooflast.catalog.lifecycle import KeptRelease, ReleaseStatus, ReleaseStep
from hooflast.exchange.answer_parts import Document, Sentence
from hooflast.exchange.changes_document import CountsDocument, counts_documents
from hooflast.texts import Texts


class StepDocument(Document, frozen=True):
    """One step in the life of a catalog release."""

    step: ReleaseStep
    by: str
    at: datetime
    note: str


class KeptReleaseDocument(Document, frozen=True):
    """A catalog release in the store, without its content."""

    id: str
    edition: str
    released_on: date
    note: str
    status: ReleaseStatus
    is_active: bool
    is_gone: Annotated[bool, Meta(description="Whether its content was purged.")]
    author: str
    digest: Annotated[str, Meta(description="The SHA-256 of its whole written form, provenance included.")]
    written_bytes: int
    steps: list[StepDocument]


class DoubtDocument(Document, frozen=True):
    """Something to look at again before the catalog release is published."""

    code: DoubtCode
    record: Annotated[str, Meta(description="The id of what it is about; empty: the whole.")]
    text: Sentence


class ReleaseReportDocument(Document, frozen=True):
    """What a look at a catalog release found. With a fault it could not have been staged."""

    catalog_release: str
    since: Annotated[
        str | None, Meta(description="The active catalog release it was seen beside; null: there is none.")
    ]
    faults: list[str]
    doubts: list[DoubtDocument]
    counts: list[CountsDocument]


def kept_release_document(kept: KeptRelease) -> KeptReleaseDocument:
    """A kept catalog release as a document."""
    return KeptReleaseDocument(
        id=kept.id,
        edition=kept.edition,
        released_on=kept.released_on,
        note=kept.note,
        status=kept.status,
        is_active=kept.is_active,
        is_gone=kept.is_gone,
        author=kept.author,
        digest=kept.digest,
        written_bytes=kept.written_bytes,
        steps=[
            StepDocument(step=one.step, by=one.signature.by, at=one.signature.at, note=one.signature.note)
            for one in kept.steps
        ],
    )


def report_document(doubts: Iterable[Doubt], *, changes: ReleaseChanges, texts: Texts) -> ReleaseReportDocument:
    """The report of a look at a catalog release."""
    return ReleaseReportDocument(
        catalog_release=changes.new,
        since=changes.old,
        faults=[],
        doubts=[
            DoubtDocument(code=one.code, record=one.record, text=texts.say(f"doubt.{one.code}", one.facts))
            for one in doubts
        ],
        counts=counts_documents(changes),
    )
