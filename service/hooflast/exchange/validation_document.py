"""Validation document: everything that was found in a catalog, written down in sentences, the gravest first."""

from datetime import date
from typing import Annotated

from msgspec import Meta

from hooflast.catalog.doubts import Doubt
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.plugin import Fate, RowFate
from hooflast.catalog.validation import Grade, Point, Validation
from hooflast.errors import Fault, PluginFailed
from hooflast.exchange.answer_parts import Document, Sentence
from hooflast.exchange.changes_document import CountsDocument, counts_documents
from hooflast.texts import Texts


class PointDocument(Document, frozen=True):
    """One thing that was found."""

    severity: Annotated[Grade, Meta(description="error: left out; warning: likely a slip; note: worth a look.")]
    code: Annotated[str, Meta(description="What it is, for programs; codes stay.")]
    plugin: Annotated[str, Meta(description="The catalog plugin it came through; empty: none.")]
    source: Annotated[str, Meta(description="The file, address or query it stands in; empty: none.")]
    place: Annotated[str, Meta(description="The cell, row or JSON Pointer in the source; empty: not known.")]
    record: Annotated[str, Meta(description="The id of what it is about; empty: the whole.")]
    text: Sentence
    accepted: Annotated[str, Meta(description="What would be accepted; empty where that goes without saying.")]


class RowCountsDocument(Document, frozen=True):
    """What became of the rows of a plugin's sources."""

    used: int
    skipped: int
    refused: int


class ReadPluginDocument(Document, frozen=True):
    """What was read from one plugin."""

    plugin: str
    version: str
    editions: list[date]
    refused: Annotated[list[date], Meta(description="Editions that were left out.")]
    rows: RowCountsDocument


class ValidationDocument(Document, frozen=True):
    """What validation found, and what the catalog release would change."""

    catalog_release: Annotated[str | None, Meta(description="Null: what was read makes none.")]
    edition: str | None
    since: Annotated[str | None, Meta(description="The catalog release it was seen beside; null: there is none.")]
    errors: int
    warnings: int
    notes: int
    points: Annotated[list[PointDocument], Meta(description="The gravest first.")]
    plugins: list[ReadPluginDocument]
    counts: list[CountsDocument]


def validation_document(validation: Validation, *, texts: Texts) -> ValidationDocument:
    """All that was found, in sentences."""
    release, active, changes = validation.release, validation.active, validation.changes
    return ValidationDocument(
        catalog_release=None if release is None else release.id,
        edition=None if release is None else release.edition,
        since=None if active is None else active.id,
        errors=validation.count(Grade.ERROR),
        warnings=validation.count(Grade.WARNING),
        notes=validation.count(Grade.NOTE),
        points=[point_document(point, texts=texts) for point in validation.points],
        plugins=[_plugin(report) for report in validation.plugins],
        counts=[] if changes is None else counts_documents(changes),
    )


def point_document(point: Point, *, texts: Texts) -> PointDocument:
    """One thing that was found, in a sentence."""
    code, text, accepted = _told(point, texts=texts)
    return PointDocument(
        severity=point.severity,
        code=code,
        plugin=point.plugin,
        source=point.source,
        place=point.place,
        record=point.record,
        text=text,
        accepted=accepted,
    )


def _told(point: Point, *, texts: Texts) -> tuple[str, str, str]:
    """Code, sentence, and what would be accepted."""
    found = point.found
    if isinstance(found, Fault):
        accepted = texts.say(f"fault.{found.code}.accepted", found.facts)
        return found.code, texts.say(f"fault.{found.code}", found.facts), accepted
    if isinstance(found, Doubt):
        return found.code.value.replace("_", "-"), texts.say(f"doubt.{found.code}", found.facts), ""
    if isinstance(found, RowFate):
        return f"row-{found.fate}", found.why or texts.say(f"fate.{found.fate}"), ""
    if isinstance(found, PluginFailed):
        return found.code, texts.say("cli.check.plugin-failed", {"reason": found.reason}), ""
    return "plugin-waits", texts.say("cli.plugins.waits-for", {"names": ", ".join(found.settings)}), ""


def _plugin(report: PluginReport) -> ReadPluginDocument:
    fates = [row.fate for row in report.rows]
    return ReadPluginDocument(
        plugin=report.plugin,
        version=report.version,
        editions=list(report.editions),
        refused=list(report.refused),
        rows=RowCountsDocument(
            used=fates.count(Fate.USED), skipped=fates.count(Fate.SKIPPED), refused=fates.count(Fate.REFUSED)
        ),
    )
