"""Answer parts: what the documents of all answers share, and how it is written.

Numbers are rounded by one rule: lengths to 0.1 mm, chances and correlations to 0.001, weeks to 0.1, each to the
nearest and halves to even, as Python's `round` does on the binary value. Chances are first held to [0, 1].
"""

from collections.abc import Iterable
from datetime import datetime
from typing import Annotated

import msgspec
from msgspec import Meta

from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.matching.answer import Versions
from hooflast.texts import Texts

Chance = Annotated[float, Meta(ge=0, le=1, description="A probability, rounded to 0.001.")]
Millimetres = Annotated[float, Meta(description="A length in mm, rounded to 0.1.")]
Weeks = Annotated[float, Meta(ge=0, description="Weeks, rounded to 0.1.")]
Sentence = Annotated[str, Meta(description="A sentence or word for people, in the answer's language.")]


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """What all parts of the answer share: every member is always there."""


class RemarkDocument(Document, frozen=True):
    """A reason or an assumption."""

    code: Annotated[str, Meta(description="What is said, for programs; codes stay.")]
    text: Sentence


class CautionDocument(Document, frozen=True):
    """A message about safety or doubt."""

    code: Annotated[str, Meta(description="What is said, for programs; codes stay.")]
    severity: Annotated[
        Severity,
        Meta(description="note: read it; look_again: before ordering; stop: do not use, ask a professional."),
    ]
    text: Sentence
    source: Annotated[str, Meta(description="What it rests on: a publication, common practice, our convention.")]


class VersionsDocument(Document, frozen=True):
    """Everything this answer depends on besides what was asked."""

    catalog_release: Annotated[str, Meta(description="The catalog release, by its content.")]
    catalog_edition: str
    engine: str
    calibration: str
    assortment: Annotated[str | None, Meta(description="The asked assortment at its revision: `id@revision`.")]
    assortment_as_of: Annotated[datetime | None, Meta(description="When its prices and stock were so.")]
    language: str


def encode(document: msgspec.Struct) -> bytes:
    """The document as JSON in UTF-8: members in the order declared here, so that equal answers are equal bytes."""
    return msgspec.json.encode(document, order="deterministic")


def remarks(said: Iterable[Remark], *, family: str, texts: Texts) -> list[RemarkDocument]:
    """Remarks with their sentences, from one family of texts."""
    return [
        RemarkDocument(code=remark.code, text=texts.say(f"{family}.{remark.code}", remark.facts)) for remark in said
    ]


def cautions(said: Iterable[Caution], *, texts: Texts) -> list[CautionDocument]:
    """Cautions with their sentences."""
    return [
        CautionDocument(
            code=caution.code,
            severity=caution.severity,
            text=texts.say(f"caution.{caution.code}", caution.facts),
            source=texts.source(caution.source),
        )
        for caution in said
    ]


def versions_document(versions: Versions) -> VersionsDocument:
    """What an answer depends on besides the question."""
    return VersionsDocument(
        catalog_release=versions.catalog_release,
        catalog_edition=versions.catalog_edition,
        engine=versions.engine,
        calibration=versions.calibration,
        assortment=versions.assortment,
        assortment_as_of=versions.assortment_as_of,
        language=versions.language,
    )


def rounded(number: float, *, decimals: int) -> float:
    """A number by the document's rule of rounding; there is no negative zero."""
    return round(number, decimals) + 0.0


def rounded_chance(chance: float) -> float:
    """A probability by the document's rule of rounding."""
    return rounded(min(max(chance, 0.0), 1.0), decimals=3)
