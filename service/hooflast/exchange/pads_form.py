"""Pads form: what may stand in a question about a pad, and how it becomes a PadsQuestion."""

from dataclasses import replace
from datetime import date

from pydantic import ConfigDict, Field

from hooflast.catalog.values import BootId
from hooflast.exchange import form_fields as fields
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.length_fields import PadThickness
from hooflast.exchange.match_form import KindOfPad, MeasuredForm, measured_question, named_twice
from hooflast.fit.boot import IntendedUse
from hooflast.fit.pad import PadKind, Softness
from hooflast.matching.pads_answer import PadsQuestion


class PadsForm(MeasuredForm):
    """One horse, one to four of its hooves, and the pad that is to lie in its boots."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horse": {"name": "Old Tom"},
                    "method": "tape",
                    "hooves": [{"limb": "LF", "width": 126, "length": 127}],
                    "pad": 6,
                    "pad_softness": "soft",
                }
            ]
        }
    )

    pad: PadThickness = Field(
        description="How thick the pad is; a wedge's thickness is that at the heels.", examples=[6, "1/4 in"]
    )
    pad_kind: KindOfPad = PadKind.FULL
    pad_softness: fields.Softness = Field(
        Softness.UNKNOWN, description="How much it gives way under the horse.", examples=["soft"]
    )
    boot: fields.BootId | None = Field(
        None,
        description="The id of the one boot model to look at; left out: those that suit the padded hooves best.",
        examples=["haskeby-ingleworth"],
    )
    uses: list[fields.Use] = Field(
        default=[],
        max_length=len(IntendedUse),
        description="Every use the boots must serve; none: any.",
        examples=[["turnout"]],
    )
    boots_per_hoof: fields.BootCount = Field(
        5, description="How many boot models to show for each hoof, at most.", examples=[5]
    )


def read_pads_question(raw: object, *, today: date) -> PadsQuestion:
    """Read a question about a pad, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    return pads_question(read_form(raw, form=PadsForm, today=today, look_further=named_twice), today=today)


def pads_question(form: PadsForm, *, today: date) -> PadsQuestion:
    """The question that a form asks."""
    horse = replace(
        measured_question(form, today=today),
        uses=frozenset(form.uses),
        pad_mm=form.pad.mm,
        pad_kind=form.pad_kind,
        pad_softness=form.pad_softness,
        boots_per_hoof=form.boots_per_hoof,
    )
    return PadsQuestion(horse=horse, boot=None if form.boot is None else BootId(form.boot))
