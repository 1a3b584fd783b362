"""Fitting form: what may stand in a question about a boot being tried on, and how it becomes a FittingQuestion."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Final

from pydantic import ConfigDict, Field

from hooflast.catalog.values import BootId, SizeCode
from hooflast.errors import Fault
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import Form, HoofForm, MeasuredForm, measured_question, named_twice
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.findings import Finding, Seen
from hooflast.fit.lookahead import Order
from hooflast.matching.fitting_answer import FittingQuestion, TriedSize

MOST_TRY_ONS: Final = 24
AFTER_MOVEMENT: Final = ("rotation", "heel_gap", "bulb_marks")


class TryOnForm(Form):
    """One size that was tried on, and what was seen."""

    boot: fields.BootId | None = Field(
        None,
        description="The id of the boot model it is a size of, where it is another than the form's.",
        examples=["haskeby-ingleworth"],
    )
    size: fields.SizeCode = Field(description="The maker's code of the size that was tried.", examples=["tansy"])
    finding: fields.TryOnFinding = Field(
        description="What was seen of it on the standing horse. stays_put: it is seated and does not turn by hand; "
        "turns: it is seated, yet turns on the foot; will_not_go_on: it does not go on or does not seat; "
        "heel_not_seated: it is on, and the heel is not down yet; heel_still_not_seated: the same once it was seated "
        "with care and looked at again.",
        examples=["turns"],
    )
    indicator: fields.Indicator | None = Field(
        None,
        description="What the boot model's own fit indicator reads, where its maker gives one.",
        examples=["too_large"],
    )
    rotation: fields.Rotation | None = Field(
        None,
        description="How far it turned on the foot in movement. Like the two below, only of a boot that stays put.",
        examples=["none"],
    )
    heel_gap: fields.HeelGap | None = Field(
        None, description="Whether a gap opened at the heel in movement.", examples=["none"]
    )
    bulb_marks: fields.BulbMarks | None = Field(
        None, description="Whether the heel bulbs were marked after movement.", examples=["none"]
    )


class FittingForm(MeasuredForm):
    """One hoof, the boot model that is being tried on it, and every try-on so far."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horse": {"name": "Juniper"},
                    "method": "tape",
                    "hooves": [{"limb": "LF", "width": 126, "length": 127}],
                    "order": "shortest",
                }
            ]
        }
    )

    hooves: list[HoofForm] = Field(
        min_length=1,
        max_length=1,
        description="The one hoof that is tried on.",
        examples=[[{"limb": "LF", "width": 126, "length": 127}]],
    )
    boot: fields.BootId | None = Field(
        None,
        description="The id of the boot model that is being tried on; left out: the one that follows the hoof best, of "
        "those not tried yet.",
        examples=["haskeby-ingleworth"],
    )
    try_ons: list[TryOnForm] = Field(
        default=[],
        max_length=MOST_TRY_ONS,
        description="Every try-on on this hoof so far, in order, of this boot model or of others before it.",
        examples=[[]],
    )
    order: fields.TryOrder = Field(
        Order.SHORTEST,
        description="In which order to try. shortest: the fewest try-ons; one_above: from one above the best size and "
        "down; best: from the best size.",
        examples=["shortest"],
    )
    at_home: fields.SizeCode | None = Field(
        None,
        description="The size at home, where only one boot is: the answer then names beforehand what to exchange it "
        "for.",
        examples=["tansy"],
    )
    uses: list[fields.Use] = Field(
        default=[],
        max_length=len(IntendedUse),
        description="Every use the boot must serve, for the next boot model; none: any.",
        examples=[["hacking"]],
    )
    closures: list[fields.Closure] = Field(
        default=[],
        max_length=len(Closure),
        description="Closures you would like, dearest first, for the next boot model.",
        examples=[["strap"]],
    )


def read_fitting_question(raw: object, *, today: date) -> FittingQuestion:
    """Read the request, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    return _question(read_form(raw, form=FittingForm, today=today, look_further=_look_further), today=today)


def _look_further(document: object) -> Iterator[Fault]:
    """Limbs and needs named twice, sizes of no boot model, and movement in a boot that does not stay put."""
    yield from named_twice(document)
    if not isinstance(document, dict):
        return
    unnamed = document.get("boot") is None
    if unnamed and document.get("at_home") is not None:
        yield fault(FaultCode.SIZE_WITHOUT_BOOT, path=("at_home",), received=document["at_home"])
    listed = document.get("try_ons")
    for row, one in enumerate(listed if isinstance(listed, list) else []):
        if not isinstance(one, dict):
            continue
        if unnamed and one.get("boot") is None and one.get("size") is not None:
            yield fault(FaultCode.SIZE_WITHOUT_BOOT, path=("try_ons", row, "size"), received=one["size"])
        if one.get("finding") in [finding for finding in Finding if finding is not Finding.STAYS_PUT]:
            yield from _moved(one, row=row)


def _moved(one: dict[str, object], *, row: int) -> Iterator[Fault]:
    for kind in AFTER_MOVEMENT:
        if one.get(kind) is not None:
            yield fault(FaultCode.MOVED_WITHOUT_SEAT, path=("try_ons", row, kind), received=one[kind])


def _question(form: FittingForm, *, today: date) -> FittingQuestion:
    horse = replace(
        measured_question(form, today=today),
        uses=frozenset(form.uses),
        closures=tuple(dict.fromkeys(form.closures)),
    )
    return FittingQuestion(
        horse=horse,
        boot=None if form.boot is None else BootId(form.boot),
        tried=tuple(_tried(one, boot=form.boot) for one in form.try_ons),
        order=form.order,
        at_home=None if form.at_home is None else SizeCode(form.at_home),
    )


def _tried(one: TryOnForm, *, boot: str | None) -> TriedSize:
    seen = Seen(
        finding=one.finding,
        indicator=one.indicator,
        rotation=one.rotation,
        heel_gap=one.heel_gap,
        bulb_marks=one.bulb_marks,
    )
    return TriedSize(boot=BootId(str(one.boot or boot)), size=SizeCode(one.size), seen=seen)
