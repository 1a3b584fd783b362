"""Cycle document: the answer to a question about a boot over the trim cycle, written down with its sentences.

Numbers are rounded by the rule of `answer_parts`; rates and trims to 0.01 mm.
"""

from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import (
    CautionDocument,
    Document,
    RemarkDocument,
    Sentence,
    VersionsDocument,
    Weeks,
    cautions,
    remarks,
    rounded,
    rounded_chance,
    versions_document,
)
from hooflast.exchange.cycle_parts import SizeInCycleDocument, TurnDocument, size_in_cycle, turn_document
from hooflast.exchange.match_document import EstimateDocument, MatchedBootDocument
from hooflast.exchange.match_writing import boot_document, estimate_document
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import Learned
from hooflast.fit.hoof import AnimalType, Axis, Limb
from hooflast.matching.trim_cycle_answer import CycleAnswer, CycleQuestion, HoofInCycle, WeekInCycle
from hooflast.texts import Texts
from hooflast.units import Unit


class WeekInCycleDocument(Document, frozen=True):
    """The hoof so many weeks after the next trim, and the size looked at."""

    week: Weeks
    width: EstimateDocument
    length: EstimateDocument
    fit_chance: Annotated[float, Meta(ge=0, le=1, description="Chance that the size fits in this week.")]
    still_fits_chance: Annotated[
        float, Meta(ge=0, le=1, description="Chance that it fits in every week from the trim to this one.")
    ]


class LearnedRateDocument(Document, frozen=True):
    """What is believed of one change, mm, and the interval that holds it with a chance of 90 %."""

    mean_mm: float
    low_mm: float
    high_mm: float


class LearnedDocument(Document, frozen=True):
    """Net growth (growth less wear) and the usual trim of this hoof."""

    own_readings: Annotated[
        int, Meta(ge=0, description="How many of its own readings this was learned from; 0: what is usual.")
    ]
    width_per_week: LearnedRateDocument
    length_per_week: LearnedRateDocument
    width_at_trim: LearnedRateDocument
    length_at_trim: LearnedRateDocument


class HoofInCycleDocument(Document, frozen=True):
    """One hoof over its trim cycle. Without `sizes`, none is to be told; a caution says why."""

    limb: Limb
    limb_text: Sentence
    boot: Annotated[MatchedBootDocument | None, Meta(description="The boot model looked at; null: none.")]
    weeks_since_trim: Annotated[float | None, Meta(description="Weeks from the last trim to the reading.")]
    sizes: Annotated[list[SizeInCycleDocument], Meta(description="The size looked at, then its neighbours.")]
    weeks: Annotated[list[WeekInCycleDocument], Meta(description="Week by week after the next trim.")]
    width_turn: Annotated[TurnDocument | None, Meta(description="Null: in width it hardly ever turns.")]
    length_turn: Annotated[TurnDocument | None, Meta(description="Null: in length it hardly ever turns.")]
    learned: Annotated[LearnedDocument | None, Meta(description="Null: a foal's hoof grows otherwise.")]
    advice: Annotated[list[RemarkDocument], Meta(description="What holds, what to do, and when best to measure.")]
    cautions: list[CautionDocument]


class AskedCycleDocument(Document, frozen=True):
    """What was asked, as it was understood."""

    horse_name: str
    animal_type: AnimalType
    is_foal: bool
    unit: Unit
    cycle_weeks: Weeks
    boot: str | None
    size: str | None
    circumstances: list[Circumstance]


class CycleAnswerDocument(Document, frozen=True):
    """One horse's hooves over the trim cycle: which size holds, how long, and what to do."""

    asked: AskedCycleDocument
    hooves: list[HoofInCycleDocument]
    cautions: list[CautionDocument]
    assumptions: Annotated[list[RemarkDocument], Meta(description="What was taken for granted.")]
    versions: VersionsDocument


def cycle_document(answer: CycleAnswer, *, texts: Texts) -> CycleAnswerDocument:
    """The answer as a document."""
    texts = texts.in_unit(answer.question.horse.unit)
    return CycleAnswerDocument(
        asked=_asked(answer.question),
        hooves=[_hoof(hoof, texts=texts) for hoof in answer.hooves],
        cautions=cautions(answer.cautions, texts=texts),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        versions=versions_document(answer.versions),
    )


def _asked(question: CycleQuestion) -> AskedCycleDocument:
    horse = question.horse
    return AskedCycleDocument(
        horse_name=horse.horse_name,
        animal_type=horse.animal_type,
        is_foal=horse.is_foal,
        unit=horse.unit,
        cycle_weeks=rounded(question.cycle_weeks, decimals=1),
        boot=question.boot,
        size=question.size,
        circumstances=sorted(question.circumstances),
    )


def _hoof(hoof: HoofInCycle, *, texts: Texts) -> HoofInCycleDocument:
    reading = hoof.reading
    since_trim = reading.weeks_since_trim
    return HoofInCycleDocument(
        limb=reading.limb,
        limb_text=texts.say(f"limb.{reading.limb}"),
        boot=_boot(hoof),
        weeks_since_trim=None if since_trim is None else rounded(since_trim, decimals=1),
        sizes=[size_in_cycle(size) for size in hoof.sizes],
        weeks=[_week(week) for week in hoof.weeks],
        width_turn=turn_document(hoof.turns.get(Axis.WIDTH)),
        length_turn=turn_document(hoof.turns.get(Axis.LENGTH)),
        learned=None if hoof.learned is None else _learned(hoof.learned),
        advice=remarks(hoof.advice, family="cycle", texts=texts),
        cautions=cautions(hoof.cautions, texts=texts),
    )


def _boot(hoof: HoofInCycle) -> MatchedBootDocument | None:
    boot, maker = hoof.boot, hoof.maker
    if boot is None or maker is None:
        return None
    return boot_document(boot, maker=maker)


def _week(week: WeekInCycle) -> WeekInCycleDocument:
    return WeekInCycleDocument(
        week=rounded(week.week, decimals=1),
        width=estimate_document(week.width),
        length=estimate_document(week.length),
        fit_chance=rounded_chance(week.fit_chance),
        still_fits_chance=rounded_chance(week.still_fits_chance),
    )


def _learned(learned: Learned) -> LearnedDocument:
    rates = [
        LearnedRateDocument(
            mean_mm=rounded(float(mean), decimals=2),
            low_mm=rounded(float(low), decimals=2),
            high_mm=rounded(float(high), decimals=2),
        )
        for mean, (low, high) in zip(learned.changes.mean, learned.interval, strict=True)
    ]
    return LearnedDocument(
        own_readings=learned.readings,
        width_per_week=rates[0],
        length_per_week=rates[1],
        width_at_trim=rates[2],
        length_at_trim=rates[3],
    )
