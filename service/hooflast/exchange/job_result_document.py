"""Job result document: what a match job answers for one horse, as a line of JSON."""

from collections.abc import Sequence
from typing import Annotated, Final

import msgspec
from msgspec import Meta

from hooflast.errors import Fault
from hooflast.exchange.answer_parts import (
    CautionDocument,
    Chance,
    Document,
    RemarkDocument,
    Sentence,
    VersionsDocument,
    cautions,
    encode,
    remarks,
    rounded_chance,
    versions_document,
)
from hooflast.exchange.effects_document import HoofEffectDocument, hoof_documents
from hooflast.exchange.match_document import MatchAnswerDocument
from hooflast.exchange.match_writing import write_match_answer
from hooflast.fit.hoof import Axis, Limb
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import HoofAnswer, MatchAnswer, Versions
from hooflast.matching.cautions import assumptions
from hooflast.matching.release_effects import HorseEffects
from hooflast.store.match_job_values import JobOutcome
from hooflast.texts import Texts

_NOT_KEPT: Final = b'{"id":null,"receipt":'
Line = Annotated[int, Meta(ge=1, description="The line of the input that the horse begins on, from 1.")]


class HorseFaultDocument(Document, frozen=True):
    """One thing that is wrong with a horse."""

    code: Annotated[str, Meta(description="What is wrong, for programs; codes stay.")]
    detail: Sentence
    accepted: Annotated[str, Meta(description="What would be accepted.")]
    pointer: Annotated[str | None, Meta(description="Where in the horse's JSON (RFC 6901); null for CSV.")]
    row: Annotated[int | None, Meta(description="In which row of the CSV, the heading being row 1; null for NDJSON.")]
    column: Annotated[str | None, Meta(description="In which column of the CSV, if it is one cell's.")]
    received: Annotated[str | int | float | bool | None, Meta(description="What came.")]


class FirstBootDocument(Document, frozen=True):
    """The first boot model for a hoof, in its best size."""

    boot: str
    boot_name: str
    maker_name: str
    size: str
    fit_chance: Chance
    width: Annotated[
        Verdict | None, Meta(description="Where the width lies in the size; null: its chart leaves it out.")
    ]
    length: Annotated[Verdict | None, Meta(description="Where the length lies in it; null: its chart leaves it out.")]


class ShortHoofDocument(Document, frozen=True):
    """One hoof in short."""

    limb: Limb
    first: Annotated[FirstBootDocument | None, Meta(description="Null: hardly any boot fits.")]
    cautions: Annotated[list[CautionDocument], Meta(description="About the hoof, and about that boot on it.")]


class ShortAnswerDocument(Document, frozen=True):
    """One horse's match in short."""

    hooves: Annotated[list[ShortHoofDocument], Meta(max_length=4)]
    cautions: Annotated[list[CautionDocument], Meta(description="What to be careful about with this horse.")]
    assumptions: Annotated[list[RemarkDocument], Meta(description="What was taken for granted.")]
    versions: VersionsDocument


class ChangesAnswerDocument(Document, frozen=True):
    """What the newer catalog release answers otherwise for one horse."""

    since: Annotated[str, Meta(description="The older catalog release.")]
    hooves: Annotated[list[HoofEffectDocument], Meta(max_length=4, description="Those with a change; often none.")]
    cautions: Annotated[list[CautionDocument], Meta(description="What to be careful about with this horse.")]
    assumptions: Annotated[list[RemarkDocument], Meta(description="What was taken for granted.")]
    versions: VersionsDocument


class JobResultDocument(Document, frozen=True):
    """What became of one horse of a match job."""

    line: Line
    outcome: JobOutcome
    horse_name: str
    faults: Annotated[list[HorseFaultDocument], Meta(description="What is wrong with the horse, if it was refused.")]


class FullResultDocument(JobResultDocument, frozen=True):
    """One horse of a job that answers matches."""

    answer: Annotated[MatchAnswerDocument | None, Meta(description="Null: it was refused.")]


class ShortResultDocument(JobResultDocument, frozen=True):
    """One horse of a job that answers in short."""

    answer: Annotated[ShortAnswerDocument | None, Meta(description="Null: it was refused.")]


class ChangesResultDocument(JobResultDocument, frozen=True):
    """One horse of a job that tells what changes."""

    answer: Annotated[ChangesAnswerDocument | None, Meta(description="Null: it was refused.")]


RESULT_DOCUMENTS: Final = (FullResultDocument, ShortResultDocument, ChangesResultDocument)


class _Written(JobResultDocument, frozen=True):
    answer: msgspec.Raw | None


def write_answered(line: int, *, horse_name: str, answer: bytes, outcome: JobOutcome) -> bytes:
    """The line of a horse that was answered."""
    return encode(_Written(line=line, outcome=outcome, horse_name=horse_name, faults=[], answer=msgspec.Raw(answer)))


def write_refused(line: int, faults: Sequence[Fault], *, texts: Texts) -> bytes:
    """The line of a horse that could not be read or answered."""
    told = [_fault(found, texts=texts) for found in faults]
    return encode(_Written(line=line, outcome=JobOutcome.REFUSED, horse_name="", faults=told, answer=None))


def write_full(answer: MatchAnswer, *, receipt: str | None, texts: Texts) -> bytes:
    """A match as `POST /v1/matches` answers it, not kept as a match; with a receipt if there is one."""
    written = write_match_answer(answer, receipt=None, texts=texts)
    if receipt is None:
        return written
    return _NOT_KEPT + msgspec.json.encode(receipt) + written.removeprefix(_NOT_KEPT + b"null")


def write_short(answer: MatchAnswer, *, texts: Texts) -> bytes:
    """A match in short."""
    return encode(
        ShortAnswerDocument(
            hooves=[_short_hoof(hoof, texts=texts.in_unit(answer.question.unit)) for hoof in answer.hooves],
            cautions=cautions(answer.cautions, texts=texts.in_unit(answer.question.unit)),
            assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
            versions=versions_document(answer.versions),
        )
    )


def write_changes(horse: HorseEffects, *, since: str, versions: Versions, texts: Texts) -> bytes:
    """What changes for a horse."""
    texts = texts.in_unit(horse.question.unit)
    return encode(
        ChangesAnswerDocument(
            since=since,
            hooves=hoof_documents(horse.hooves, texts=texts),
            cautions=cautions(horse.cautions, texts=texts),
            assumptions=remarks(assumptions(horse.question), family="assumption", texts=texts),
            versions=versions_document(versions),
        )
    )


def _short_hoof(hoof: HoofAnswer, *, texts: Texts) -> ShortHoofDocument:
    first = hoof.boots[0] if hoof.boots else None
    said = (*hoof.cautions, *(first.cautions if first else ()))
    return ShortHoofDocument(
        limb=hoof.reading.limb,
        first=None
        if first is None
        else FirstBootDocument(
            boot=first.boot.id,
            boot_name=first.boot.name,
            maker_name=first.maker.name,
            size=first.best.size.code,
            fit_chance=rounded_chance(first.best.fit_chance),
            width=first.best.verdicts.get(Axis.WIDTH),
            length=first.best.verdicts.get(Axis.LENGTH),
        ),
        cautions=cautions(said, texts=texts),
    )


def _fault(found: Fault, *, texts: Texts) -> HorseFaultDocument:
    row, column = found.facts.get("row"), found.facts.get("column")
    in_table = isinstance(row, int)
    received = found.received
    return HorseFaultDocument(
        code=found.code,
        detail=texts.say(f"fault.{found.code}", found.facts),
        accepted=texts.say(f"fault.{found.code}.accepted", found.facts),
        pointer=None if in_table else found.pointer,
        row=row if isinstance(row, int) else None,
        column=column if in_table and isinstance(column, str) else None,
        received=received if isinstance(received, str | int | float | bool) else None,
    )
