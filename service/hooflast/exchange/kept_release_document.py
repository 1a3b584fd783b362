"""Kept release document: what is known of a catalog release in the store, without its content."""

from datetime import date, datetime
from typing import Annotated

from msgspec import Meta

from hooflast.catalog.lifecycle import KeptRelease, ReleaseStatus, ReleaseStep
from hooflast.exchange.answer_parts import Document


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
