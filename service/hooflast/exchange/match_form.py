"""Match form: what may stand in the request of a match, field by field, and how it becomes a question."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Annotated, Final

from pydantic import BaseModel, ConfigDict, Field, ValidationInfo, field_validator

from hooflast.errors import Fact, Fault
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, fault, refusal
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.length_fields import HOOF, Allowance, ChestGirth, PadThickness, ReadingStep, Repeats
from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, HoofState, Limb, Method, Observer
from hooflast.fit.pad import PadKind, Softness
from hooflast.matching.question import AskedAssortment, MatchQuestion, NamedNeed, SizesOf, TryFrom
from hooflast.units import Length, Unit

WIDTH_TO_LENGTH: Final = (0.55, 1.6)
"""Width against length outside of which two readings cannot be of one hoof [C]."""

OUT_OF_SHOES_DRIFT: Final = 2.0
SEASON_DRIFT: Final = 1.5
"""A hoof changes faster after the shoes came off, and at the change of season [C]."""

CHANGE_OF_SEASON: Final = frozenset({3, 4, 9, 10})
"""Months of spring and autumn on either half of the earth [C]."""


class Form(BaseModel):
    """What all forms share: no field beside those declared."""

    model_config = ConfigDict(extra="forbid", frozen=True)


class HorseForm(Form):
    """The animal whose hooves were measured."""

    name: fields.Name = Field(
        "", description="What the animal is called, for the answer to repeat.", examples=["Bramble"]
    )
    animal_type: fields.AnimalType = Field(
        AnimalType.HORSE, description="What kind of animal it is.", examples=["pony"]
    )
    is_foal: bool = Field(
        default=False,
        strict=True,
        description="Whether it is a foal. A foal's hooves grow otherwise, so its match is stopped.",
        examples=[False],
    )
    unit: fields.Unit | None = Field(
        None, description="The unit of the girth, where it is not the form's.", examples=["cm"]
    )
    girth: ChestGirth | None = Field(
        None,
        description="Chest girth, just behind the withers and elbows. The fore hooves' width is held against it.",
        examples=["180 cm"],
    )
    build: fields.Build | None = Field(
        None, description="What the girth is judged by; not told, it is judged more loosely.", examples=["konik"]
    )


class HoofForm(Form):
    """One hoof as it was measured. What is left out here is taken from the form's own fields."""

    limb: fields.Limb = Field(
        description="Which hoof: left or right (L, R), fore or hind (F, H). Each limb may come once.", examples=["LF"]
    )
    unit: fields.Unit | None = Field(
        None, description="The unit of this hoof's lengths, where it is not the form's.", examples=["mm"]
    )
    width: Repeats = Field(
        description="The widest point of the bearing surface, across: one length, or up to 10 repeated readings.",
        examples=[124, [124, 125, 124], "4 7/8 in"],
    )
    length: Repeats = Field(
        description="From the toe tip to the line across the rearmost weight-bearing heel buttresses, along the "
        "hoof's own axis: one length, or up to 10 repeated readings.",
        examples=[128, [128, 127], "5 in"],
    )
    resolution: ReadingStep | None = Field(
        None,
        description="The step the readings were read to. Left out, it is taken from the way they are written.",
        examples=[1],
    )
    allowance: Allowance | None = Field(
        None,
        description="What is worn on the hoof inside the boot (bandage, cast or shoe), on each side.",
        examples=["5 mm"],
    )
    states: list[fields.State] = Field(
        default=[],
        max_length=len(HoofState),
        description="What makes the reading doubtful: faults of the trim, a dirty sole, a foot that bore weight.",
        examples=[["long_toe"]],
    )
    method: fields.Method | None = Field(
        None, description="How this hoof was measured, where it is not as the form says.", examples=["calliper"]
    )
    observer: fields.Observer | None = Field(
        None, description="Who measured this hoof, where it is not as the form says.", examples=["professional"]
    )
    measured_on: fields.Day | None = Field(
        None,
        description="The day this hoof was measured on, where it is not as the form says.",
        examples=["2026-03-14"],
    )
    weeks_since_trim: fields.Weeks | None = Field(
        None, description="Weeks from the last trim to the reading, where it is not as the form says.", examples=[2]
    )

    @field_validator("length")
    @classmethod
    def _belongs_to_the_width(cls, length: list[Length], info: ValidationInfo) -> list[Length]:
        width: list[Length] = info.data.get("width", [])
        if width:
            width_mm, length_mm = _mean(width), _mean(length)
            if not (HOOF.holds(width_mm) and HOOF.holds(length_mm)):
                return length
            if not WIDTH_TO_LENGTH[0] <= width_mm / length_mm <= WIDTH_TO_LENGTH[1]:
                unit = length[0].unit.value
                raise refusal(FaultCode.NOT_ONE_HOOF, width_mm=width_mm, length_mm=length_mm, unit=unit)
        return length


class NeedForm(Form):
    """A condition that a veterinarian or hoof-care professional has named. Hooflast never names one itself."""

    need: fields.Need = Field(description="What was named.", examples=["heel_pain"])
    course: fields.Course = Field(
        Course.ACUTE, description="Whether it is acute or chronic; not told, it counts as acute.", examples=["chronic"]
    )


class AskedAssortmentForm(Form):
    """The assortment to answer from: only what it has comes into question, and sizes come with their SKU."""

    id: fields.Uuid = Field(
        description="The id of one of your assortments.", examples=["0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11"]
    )
    sizes: fields.SizesOf = Field(
        SizesOf.LISTED, description="Whether all its sizes count, or those in stock alone.", examples=["in_stock"]
    )
    prefer_stock: bool = Field(
        default=False,
        strict=True,
        description="Of boot models that fit alike, those first whose best size is in stock.",
        examples=[True],
    )


class MeasuredForm(Form):
    """One horse with one to four of its hooves as they were measured: what every question about a horse begins with."""

    horse: HorseForm = Field(
        HorseForm(), description="The animal.", examples=[{"name": "Bramble", "animal_type": "horse"}]
    )
    unit: fields.Unit = Field(Unit.MM, description="The unit of lengths that are written without one.", examples=["mm"])
    method: fields.Method | None = Field(
        None, description="How the hooves were measured; not told, the readings count as rough.", examples=["tape"]
    )
    observer: fields.Observer | None = Field(
        None, description="Who measured; not told, it counts as the owner.", examples=["owner"]
    )
    measured_on: fields.Day | None = Field(
        None,
        description="The day the hooves were measured on (RFC 3339 full-date); not told, it counts as today.",
        examples=["2026-03-14"],
    )
    weeks_since_trim: fields.Weeks | None = Field(
        None,
        description="Weeks from the last trim to the reading; not told, the hooves count as freshly trimmed.",
        examples=[1],
    )
    hooves: list[HoofForm] = Field(
        min_length=1,
        max_length=len(Limb),
        description="One to four hooves, each limb once.",
        examples=[[{"limb": "LF", "width": 124, "length": 128}]],
    )
    needs: list[NeedForm] = Field(
        default=[],
        max_length=len(Need),
        description="Conditions that a veterinarian or hoof-care professional has named, each once.",
        examples=[[{"need": "heel_pain", "course": "chronic"}]],
    )
    catalog_release: fields.ReleasePin | None = Field(
        None,
        description="The id of the catalog release to answer from; left out: the active one.",
        examples=["sha256-9f2c4e0b7d1a6358c4e2f0917b3d5a68e1c79f04b2d683a5507e9c1f4a3b2d86"],
    )
    assortment: AskedAssortmentForm | None = Field(
        None,
        description="An assortment of yours to answer from; left out: the whole catalog release.",
        examples=[{"id": "0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11", "sizes": "in_stock"}],
    )


WornPad = Annotated[
    PadThickness | None,
    Field(
        description="How thick a pad lies in the boots, a wedge at the heels; sizes are those with it. Left out: none.",
        examples=[6, "1/4 in"],
    ),
]
KindOfPad = Annotated[
    fields.PadKind,
    Field(
        description="full: under the whole foot with its wall; partial: inside the wall, under frog or sole; wedge: "
        "rising from nothing at the toe towards the heels.",
        examples=["full"],
    ),
]
SoftnessOfPad = Annotated[
    fields.Softness, Field(description="How much the pad gives way under the horse.", examples=["soft"])
]


class MatchForm(MeasuredForm):
    """One horse, one to four of its hooves, and what its boots are for."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horse": {"name": "Bramble", "animal_type": "horse"},
                    "unit": "mm",
                    "method": "tape",
                    "measured_on": "2026-03-14",
                    "weeks_since_trim": 1,
                    "hooves": [
                        {"limb": "LF", "width": [124, 125], "length": 128},
                        {"limb": "RF", "width": "4 7/8 in", "length": "5 in"},
                    ],
                    "uses": ["hacking", "road"],
                }
            ]
        }
    )

    uses: list[fields.Use] = Field(
        default=[],
        max_length=len(IntendedUse),
        description="Every use the boots must serve; none: any.",
        examples=[["hacking", "road"]],
    )
    closures: list[fields.Closure] = Field(
        default=[],
        max_length=len(Closure),
        description="Closures you would like, dearest first. A wish orders boots that fit alike; it leaves none out.",
        examples=[["strap", "buckle"]],
    )
    pad: WornPad = None
    pad_kind: KindOfPad = PadKind.FULL
    pad_softness: SoftnessOfPad = Softness.UNKNOWN
    cycle_weeks: fields.CycleWeeks | None = Field(
        None,
        description="Weeks from one trim to the next; told, the best size of each hoof's first boot is looked at over "
        "the trim cycle as well.",
        examples=[7],
    )
    boots_per_hoof: fields.BootCount = Field(
        5, description="How many boot models to show for each hoof, at most.", examples=[5]
    )
    try_from: fields.TryFrom = Field(
        TryFrom.ONE_ABOVE,
        description="Where to begin trying sizes: one above the best and down, or at the best.",
        examples=["best"],
    )


def read_match_question(raw: object, *, today: date) -> MatchQuestion:
    """Read the request of a match, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    return match_question(read_form(raw, form=MatchForm, today=today, look_further=named_twice), today=today)


def named_twice(document: object) -> Iterator[Fault]:
    """Limbs and needs that come a second time, whatever else is wrong with them."""
    for collection, member, code in (
        ("hooves", "limb", FaultCode.DUPLICATE_LIMB),
        ("needs", "need", FaultCode.DUPLICATE_NEED),
    ):
        items = document.get(collection) if isinstance(document, dict) else None
        seen = set()
        for index, item in enumerate(items if isinstance(items, list) else []):
            name = item.get(member) if isinstance(item, dict) else None
            if not isinstance(name, str):
                continue
            if name in seen:
                facts: dict[str, Fact] = {member: name}
                yield fault(code, path=(collection, index, member), received=name, facts=facts)
            seen.add(name)


def match_question(form: MatchForm, *, today: date) -> MatchQuestion:
    """The question that a form asks."""
    return replace(
        measured_question(form, today=today),
        uses=frozenset(form.uses),
        closures=tuple(dict.fromkeys(form.closures)),
        pad_mm=form.pad.mm if form.pad else 0.0,
        pad_kind=form.pad_kind,
        pad_softness=form.pad_softness,
        boots_per_hoof=form.boots_per_hoof,
        try_from=form.try_from,
        cycle_weeks=form.cycle_weeks,
    )


def measured_question(form: MeasuredForm, *, today: date) -> MatchQuestion:
    """What every question about a horse begins with: the horse, its hooves and its needs, with nothing wished for."""
    return MatchQuestion(
        horse_name=form.horse.name.strip(),
        animal_type=form.horse.animal_type,
        hooves=hoof_readings(form, today=today),
        is_foal=form.horse.is_foal,
        needs=named_needs(form),
        girth_mm=form.horse.girth.mm if form.horse.girth else None,
        build=form.horse.build,
        unit=form.unit,
        catalog_release=form.catalog_release,
        assortment=None if form.assortment is None else _asked(form.assortment),
    )


def _asked(form: AskedAssortmentForm) -> AskedAssortment:
    return AskedAssortment(id=form.id, sizes=form.sizes, prefer_stock=form.prefer_stock)


def hoof_readings(form: MeasuredForm, *, today: date) -> tuple[HoofReading, ...]:
    """The hooves of a form, each with what it leaves to the form."""
    return tuple(_reading(hoof, form=form, today=today) for hoof in form.hooves)


def named_needs(form: MeasuredForm) -> tuple[NamedNeed, ...]:
    """The needs of a form, each with its course."""
    return tuple(NamedNeed(need=named.need, course=named.course) for named in form.needs)


def _reading(hoof: HoofForm, *, form: MeasuredForm, today: date) -> HoofReading:
    measured_on = hoof.measured_on or form.measured_on or today
    own_weeks = hoof.weeks_since_trim
    return HoofReading(
        limb=hoof.limb,
        width=axis_reading(hoof.width, step=hoof.resolution),
        length=axis_reading(hoof.length, step=hoof.resolution),
        method=hoof.method or form.method or Method.UNKNOWN,
        observer=hoof.observer or form.observer or Observer.OWNER,
        states=frozenset(hoof.states),
        age_weeks=max(0, (today - measured_on).days) / 7,
        weeks_since_trim=form.weeks_since_trim if own_weeks is None else own_weeks,
        drift_factor=_drift_factor(form, measured_on=measured_on),
        allowance_mm=hoof.allowance.mm if hoof.allowance else 0.0,
    )


def _drift_factor(form: MeasuredForm, *, measured_on: date) -> float:
    """How much faster than usual the hooves change since they were measured."""
    shoes_came_off = any(named.need is Need.OUT_OF_SHOES for named in form.needs)
    return (OUT_OF_SHOES_DRIFT if shoes_came_off else 1.0) * (
        SEASON_DRIFT if measured_on.month in CHANGE_OF_SEASON else 1.0
    )


def axis_reading(readings: list[Length], *, step: Length | None) -> AxisReading:
    """What was read on one axis; the step it was read to is the coarsest of its readings, if none is told."""
    coarsest = max(reading.resolution_mm for reading in readings)
    return AxisReading(values_mm=tuple(reading.mm for reading in readings), resolution_mm=step.mm if step else coarsest)


def _mean(readings: list[Length]) -> float:
    return sum(reading.mm for reading in readings) / len(readings)
