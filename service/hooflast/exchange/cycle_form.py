"""Cycle form: what may stand in a question about a boot over the trim cycle, and how it becomes a CycleQuestion."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Annotated, Final

from pydantic import ConfigDict, Field

from hooflast.catalog.values import BootId, SizeCode
from hooflast.errors import Fault
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import HoofForm, MeasuredForm, hoof_readings, measured_question, named_twice
from hooflast.fit.boot import IntendedUse
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import PastReading
from hooflast.fit.hoof import Limb
from hooflast.matching.trim_cycle_answer import CycleQuestion

MOST_PAST_READINGS: Final = 40

BootName = Annotated[str, Field(strict=True, max_length=100, pattern=r"^[!-~]+$")]


class PastReadingForm(HoofForm):
    """One hoof as it was measured earlier, just before or just after a trim."""

    measured_on: fields.Day = Field(description="The day it was measured on.", examples=["2026-01-10"])
    beside: fields.Beside = Field(
        description="Whether it was measured just before a trim or just after one.", examples=["after_trim"]
    )


class CycleForm(MeasuredForm):
    """One horse, one to four of its hooves, the weeks between its trims, and a boot model to wear meanwhile."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horse": {"name": "Juniper"},
                    "method": "calliper",
                    "observer": "professional",
                    "weeks_since_trim": 1,
                    "hooves": [{"limb": "LF", "width": 124, "length": 128}],
                    "cycle_weeks": 7,
                    "history": [
                        {
                            "limb": "LF",
                            "measured_on": "2026-01-10",
                            "beside": "after_trim",
                            "width": 123,
                            "length": 126,
                        },
                        {
                            "limb": "LF",
                            "measured_on": "2026-02-28",
                            "beside": "before_trim",
                            "width": 126,
                            "length": 130,
                        },
                        {
                            "limb": "LF",
                            "measured_on": "2026-02-28",
                            "beside": "after_trim",
                            "width": 124,
                            "length": 127,
                        },
                    ],
                }
            ]
        }
    )

    weeks_since_trim: fields.Weeks | None = Field(
        None,
        description="Weeks from the last trim to the reading; not told, any week of the cycle is as likely as another.",
        examples=[1],
    )
    cycle_weeks: fields.CycleWeeks = Field(description="Weeks from one trim to the next.", examples=[7])
    boot: BootName | None = Field(
        None,
        description="The id of the boot model to look at; left out: for each hoof the one that follows it best once it "
        "is freshly trimmed.",
        examples=["vellory-marlowick"],
    )
    size: fields.Name | None = Field(
        None,
        description="The maker's code of the size to look at, of the boot model that is named; left out: the best for "
        "the freshly trimmed hoof.",
        examples=["tansy"],
    )
    uses: list[fields.Use] = Field(
        default=[],
        max_length=len(IntendedUse),
        description="Every use a boot must serve where none is named; none: any.",
        examples=[["hacking"]],
    )
    circumstances: list[fields.Circumstance] = Field(
        default=[],
        max_length=len(Circumstance),
        description="What else changes the hooves now.",
        examples=[["out_of_shoes"]],
    )
    history: list[PastReadingForm] = Field(
        default=[],
        max_length=MOST_PAST_READINGS,
        description="Earlier readings of the same hooves. With three or more of one hoof, its own growth and trim are "
        "learned from them; with fewer they change nothing.",
        examples=[[]],
    )


def read_cycle_question(raw: object, *, today: date) -> CycleQuestion:
    """Read the request, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    return _question(read_form(raw, form=CycleForm, today=today, look_further=_look_further), today=today)


def _look_further(document: object) -> Iterator[Fault]:
    """Limbs and needs named twice, a size of no boot model, and a past of hooves that are not asked about."""
    yield from named_twice(document)
    if not isinstance(document, dict):
        return
    if document.get("size") is not None and document.get("boot") is None:
        yield fault(FaultCode.SIZE_WITHOUT_BOOT, path=("size",), received=document["size"])
    asked = {limb for limb in _limbs(document.get("hooves")) if limb is not None}
    for index, limb in enumerate(_limbs(document.get("history"))):
        if asked and limb is not None and limb not in asked:
            place = ("history", index, "limb")
            yield fault(FaultCode.HISTORY_OF_ANOTHER_HOOF, path=place, received=limb.value, facts={"limb": limb.value})


def _limbs(hooves: object) -> list[Limb | None]:
    """The limb of each hoof of a list, as it came; None where that is no limb."""
    listed = hooves if isinstance(hooves, list) else []
    named = [hoof.get("limb") if isinstance(hoof, dict) else None for hoof in listed]
    return [Limb(limb) if isinstance(limb, str) and limb in list(Limb) else None for limb in named]


def _question(form: CycleForm, *, today: date) -> CycleQuestion:
    horse = replace(
        measured_question(form, today=today),
        uses=frozenset(form.uses),
    )
    readings = hoof_readings(form.model_copy(update={"hooves": form.history}), today=today)
    histories: dict[Limb, tuple[PastReading, ...]] = {}
    for past, reading in zip(form.history, readings, strict=True):
        one = PastReading(reading=reading, weeks_ago=reading.age_weeks, beside=past.beside)
        histories[reading.limb] = (*histories.get(reading.limb, ()), one)
    return CycleQuestion(
        horse=horse,
        cycle_weeks=form.cycle_weeks,
        boot=None if form.boot is None else BootId(form.boot),
        size=None if form.size is None else SizeCode(form.size),
        circumstances=frozenset(form.circumstances),
        histories=histories,
    )
