"""Herd form: whose hooves and which sizes a question about a herd is about, and how that becomes a HerdQuestion."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Final

from pydantic import Field

from hooflast.catalog.values import BootId, LimbSet, MakerId
from hooflast.errors import Fault
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.length_fields import HoofLength, SizeSpread
from hooflast.exchange.match_form import Form, HoofForm, HorseForm, MeasuredForm, NeedForm, hoof_readings, named_needs
from hooflast.exchange.match_form import named_twice as named_twice_in_a_horse
from hooflast.fit.boot import Closure, IntendedUse, Need
from hooflast.fit.herd import Kind
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.matching.herd_question import HerdHorse, HerdQuestion, StockFilter
from hooflast.units import Unit

MOST_HORSES: Final = 500
MOST_KINDS: Final = 8
MOST_BOOTS: Final = 200
MOST_MAKERS: Final = 50
MOST_VALUES: Final = 40_000
"""Values in a form: 500 horses with all their hooves, repeats and days."""

Weight = Annotated[float, Field(strict=True, ge=0.001, le=1_000_000)]


class HerdHorseForm(Form):
    """One measured horse of the herd."""

    animal_type: fields.AnimalType = Field(
        AnimalType.HORSE, description="What kind of animal it is.", examples=["pony"]
    )
    is_foal: bool = Field(
        default=False,
        strict=True,
        description="Whether it is a foal. A foal's hooves grow otherwise: it is left out.",
        examples=[False],
    )
    needs: list[NeedForm] = Field(
        default=[],
        max_length=len(Need),
        description="Conditions that a veterinarian or hoof-care professional has named, each once. A horse with an "
        "acutely painful foot is left out.",
        examples=[[{"need": "heel_pain", "course": "chronic"}]],
    )
    hooves: list[HoofForm] = Field(
        min_length=1,
        max_length=len(Limb),
        description="One to four hooves, each limb once.",
        examples=[[{"limb": "LF", "width": 124, "length": 128}]],
    )


class MeanForm(Form):
    """Mean dimensions of hooves."""

    unit: fields.Unit | None = Field(
        None, description="The unit of these lengths, where it is not the form's.", examples=["mm"]
    )
    width: HoofLength = Field(description="Mean width.", examples=[118])
    length: HoofLength = Field(description="Mean length.", examples=[121])


class KindForm(Form):
    """A kind of animal, or a breed of it by its own means, that stands for a part of the herd."""

    unit: fields.Unit | None = Field(
        None, description="The unit of the spread, where it is not the form's.", examples=["mm"]
    )
    animal_type: fields.AnimalType = Field(
        AnimalType.HORSE, description="What kind of animal it is.", examples=["pony"]
    )
    weight: Weight = Field(1.0, description="How much of the herd it is, against the other kinds.", examples=[3])
    fore: MeanForm | None = Field(
        None,
        description="Means of its fore hooves; left out: the animal type's.",
        examples=[{"width": 118, "length": 121}],
    )
    hind: MeanForm | None = Field(
        None,
        description="Means of its hind hooves; left out: from the fore ones by the usual proportion, or the animal "
        "type's.",
        examples=[{"width": 113, "length": 120}],
    )
    size_spread: SizeSpread | None = Field(
        None,
        description="Standard deviation of (width + length) / 2 from horse to horse; left out: 12.5 % of the mean.",
        examples=[8],
    )


class HerdForm(Form):
    """Measured horses, or kinds that stand for them, and the boot models in question."""

    unit: fields.Unit = Field(Unit.MM, description="The unit of lengths that are written without one.", examples=["mm"])
    method: fields.Method | None = Field(
        None, description="How the hooves were measured; not told, the readings count as rough.", examples=["tape"]
    )
    observer: fields.Observer | None = Field(
        None, description="Who measured; not told, it counts as the owner.", examples=["professional"]
    )
    measured_on: fields.Day | None = Field(
        None, description="The day the hooves were measured on; not told, it counts as today.", examples=["2026-03-14"]
    )
    weeks_since_trim: fields.Weeks | None = Field(
        None,
        description="Weeks from the last trim to the reading; not told, the hooves count as freshly trimmed.",
        examples=[1],
    )
    horses: list[HerdHorseForm] = Field(
        default=[],
        max_length=MOST_HORSES,
        description="The horses that were measured. Give these or `kinds`.",
        examples=[[{"hooves": [{"limb": "LF", "width": 124, "length": 128}]}]],
    )
    kinds: list[KindForm] = Field(
        default=[],
        max_length=MOST_KINDS,
        description="Kinds of animal that stand for the herd. Give these or `horses`.",
        examples=[[{"animal_type": "horse"}]],
    )
    limbs: fields.Limbs = Field(LimbSet.ALL, description="Which hooves count: fore, hind or all.", examples=["fore"])
    makers: list[fields.MakerId] = Field(
        default=[],
        max_length=MOST_MAKERS,
        description="Ids of the makers in question; none: all.",
        examples=[["vellory"]],
    )
    boots: list[fields.BootId] = Field(
        default=[],
        max_length=MOST_BOOTS,
        description="Ids of the boot models in question; none: all in sale.",
        examples=[["haskeby-ingleworth"]],
    )
    uses: list[fields.Use] = Field(
        default=[],
        max_length=len(IntendedUse),
        description="Every use the boot models must serve; none: any.",
        examples=[["hacking"]],
    )
    closures: list[fields.Closure] = Field(
        default=[], max_length=len(Closure), description="Closures in question; none: all.", examples=[["strap"]]
    )
    catalog_release: fields.ReleasePin | None = Field(
        None,
        description="The id of the catalog release to answer from; left out: the active one.",
        examples=["sha256-9f2c4e0b7d1a6358c4e2f0917b3d5a68e1c79f04b2d683a5507e9c1f4a3b2d86"],
    )


def herd_faults(document: object) -> Iterator[Fault]:
    """What no single field shows: limbs and needs named twice in a horse, and a herd given twice or not at all."""
    if not isinstance(document, dict):
        return
    horses, kinds = document.get("horses"), document.get("kinds")
    for index, horse in enumerate(horses if isinstance(horses, list) else []):
        yield from (found.under("horses", index) for found in named_twice_in_a_horse(horse))
    if horses and kinds:
        yield fault(FaultCode.HERD_TWICE, path=("kinds",), received=kinds)
    if not horses and not kinds:
        yield fault(FaultCode.HERD_MISSING, path=("horses",), received=horses)


def herd_question(form: HerdForm, *, today: date) -> HerdQuestion:
    """The herd that a form is about."""
    return HerdQuestion(
        horses=tuple(_horse(horse, form=form, today=today) for horse in form.horses),
        kinds=tuple(_kind(kind) for kind in form.kinds),
        limbs=form.limbs,
        stock=StockFilter(
            makers=frozenset(map(MakerId, form.makers)),
            boots=frozenset(map(BootId, form.boots)),
            uses=frozenset(form.uses),
            closures=frozenset(form.closures),
        ),
        unit=form.unit,
        catalog_release=form.catalog_release,
    )


def _horse(horse: HerdHorseForm, *, form: HerdForm, today: date) -> HerdHorse:
    measured = MeasuredForm.model_construct(
        horse=HorseForm(animal_type=horse.animal_type, is_foal=horse.is_foal),
        unit=form.unit,
        method=form.method,
        observer=form.observer,
        measured_on=form.measured_on,
        weeks_since_trim=form.weeks_since_trim,
        hooves=horse.hooves,
        needs=horse.needs,
    )
    return HerdHorse(
        animal_type=horse.animal_type,
        hooves=hoof_readings(measured, today=today),
        is_foal=horse.is_foal,
        needs=named_needs(measured),
    )


def _kind(kind: KindForm) -> Kind:
    return Kind(
        animal_type=kind.animal_type,
        weight=kind.weight,
        fore_mm=_mean(kind.fore),
        hind_mm=_mean(kind.hind),
        size_sd_mm=kind.size_spread.mm if kind.size_spread else None,
    )


def _mean(mean: MeanForm | None) -> tuple[float, float] | None:
    return None if mean is None else (mean.width.mm, mean.length.mm)
