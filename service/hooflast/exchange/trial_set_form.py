"""Trial set form: what may stand in a question for a trial set, and how it becomes a TrialSetQuestion."""

from datetime import date
from typing import Annotated, Final

from pydantic import ConfigDict, Field

from hooflast.catalog.values import BootId, SizeCode
from hooflast.exchange import form_fields as fields
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.herd_form import MOST_VALUES, HerdForm, herd_faults, herd_question
from hooflast.exchange.match_form import Form
from hooflast.fit.demand import Counting
from hooflast.matching.trial_set_answer import NamedSize, ServedBy, TrialSetQuestion

MOST_NAMED: Final = 500

Share = Annotated[float, Field(strict=True, ge=0.01, le=1)]
Threshold = Annotated[float, Field(strict=True, ge=0.05, le=0.99)]
Cost = Annotated[float, Field(strict=True, ge=0.01, le=1_000_000)]


class NamedSizeForm(Form):
    """One size of a boot model in question."""

    boot: fields.BootId = Field(description="The boot model's id.", examples=["haskeby-ingleworth"])
    size: fields.SizeCode = Field(description="The size's code.", examples=["roach"])


class SizeCostForm(NamedSizeForm):
    """What one size costs."""

    cost: Cost = Field(description="Its cost, in the unit of all costs.", examples=[79])


class TrialSetForm(HerdForm):
    """A herd, the part of it to be served, and what is settled before sizes are chosen."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {"kinds": [{"animal_type": "horse"}], "share": 0.7, "uses": ["hacking"], "most": 12},
                {
                    "method": "calliper",
                    "observer": "professional",
                    "horses": [
                        {
                            "hooves": [
                                {"limb": "LF", "width": 124, "length": 128},
                                {"limb": "LH", "width": 119, "length": 126},
                            ]
                        },
                        {"hooves": [{"limb": "RF", "width": 131, "length": 130}]},
                        {"animal_type": "pony", "hooves": [{"limb": "LF", "width": 108, "length": 109}]},
                    ],
                    "share": 1,
                    "counting": "horses",
                },
            ]
        }
    )

    share: Share = Field(0.8, description="The share of the herd to be served.", examples=[0.9])
    counting: fields.Counting = Field(
        Counting.HOOVES,
        description="hooves: each hoof by itself; horses: a horse is served once all its hooves are.",
        examples=["horses"],
    )
    served_by: fields.ServedBy = Field(
        ServedBy.THRESHOLD,
        description="threshold: a hoof is served once a size's fit chance reaches `threshold`; chance: as far as its "
        "best size fits, to the nearest tenth.",
        examples=["chance"],
    )
    threshold: Threshold = Field(0.5, description="The fit chance from which a hoof is served.", examples=[0.6])
    most: fields.CurveLength = Field(20, description="The largest number of sizes on the curve.", examples=[12])
    must: list[NamedSizeForm] = Field(
        default=[],
        max_length=MOST_NAMED,
        description="Sizes that must be in the set.",
        examples=[[{"boot": "haskeby-ingleworth", "size": "roach"}]],
    )
    at_hand: list[NamedSizeForm] = Field(
        default=[],
        max_length=MOST_NAMED,
        description="Sizes that are there already: they serve, cost nothing and are not counted.",
        examples=[[{"boot": "haskeby-ingleworth", "size": "perch"}]],
    )
    costs: list[SizeCostForm] = Field(
        default=[],
        max_length=MOST_NAMED,
        description="What single sizes cost: the cheapest set is chosen, the smallest where all cost the same.",
        examples=[[{"boot": "haskeby-ingleworth", "size": "roach", "cost": 79}]],
    )
    other_cost: Cost = Field(1.0, description="What every other size costs.", examples=[85])


def read_trial_set_question(raw: object, *, today: date) -> TrialSetQuestion:
    """Read a question for a trial set, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    form = read_form(raw, form=TrialSetForm, today=today, look_further=herd_faults, most_values=MOST_VALUES)
    return TrialSetQuestion(
        herd=herd_question(form, today=today),
        share=form.share,
        counting=form.counting,
        served_by=form.served_by,
        threshold=form.threshold,
        most=form.most,
        must=tuple(map(_named, form.must)),
        at_hand=tuple(map(_named, form.at_hand)),
        costs={_named(one): one.cost for one in form.costs},
        other_cost=form.other_cost,
    )


def _named(form: NamedSizeForm) -> NamedSize:
    return BootId(form.boot), SizeCode(form.size)
