"""Outcome form: what may stand in a list of outcomes of sold boots, row by row, and how it becomes a question."""

from collections.abc import Iterator
from datetime import date
from typing import Annotated, Final

from pydantic import ConfigDict, Discriminator, Field, Tag

from hooflast.errors import Fact, Fault
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.length_fields import HOOF
from hooflast.exchange.match_form import Form, HoofForm, axis_reading
from hooflast.fit.hoof import AnimalType, HoofReading, Method, Observer
from hooflast.fit.outcome import ReadingGroup
from hooflast.matching.outcomes import OutcomesQuestion, ReceiptedHoof, SoldBoot
from hooflast.units import Unit

MOST_OUTCOMES: Final = 2_000
MOST_OUTCOMES_OF_A_FILE: Final = 20_000
VALUES_OF_AN_OUTCOME: Final = 100
"""More than the fields of an outcome with all its repeated readings and states, or with its receipt."""

_Mean = Annotated[float, Field(strict=True, ge=HOOF.low_mm - 20.0, le=HOOF.high_mm + 70.0)]
_Spread = Annotated[float, Field(strict=True, ge=0.1, le=100.0)]
_Correlation = Annotated[float, Field(strict=True, ge=-0.99, le=0.99)]

_ROW: Final = {
    "channel": "Where the boot was sold: readings of one method and one channel may be off in common.",
    "boot": "The boot model's id in the catalog release.",
    "size": "The maker's code of the size that was taken, also against advice.",
    "outcome": "What became of it: kept, or returned for the reason that was given.",
    "order": "What boots of one order share: a word of yours that names no one. They stand and fall together.",
}


class OutcomeForm(HoofForm):
    """One boot on one hoof as it was measured, and what became of it. Its age is that on the day it was sold."""

    animal_type: fields.AnimalType = Field(
        AnimalType.HORSE, description="What kind of animal it is.", examples=["pony"]
    )
    sold_on: fields.Day | None = Field(
        None,
        description="The day the boot was sold on; not told, it counts as the day of the reading.",
        examples=["2026-03-20"],
    )
    channel: fields.Channel = Field(description=_ROW["channel"], examples=["web"])
    boot: fields.BootId = Field(description=_ROW["boot"], examples=["haskeby-ingleworth"])
    size: fields.SizeCode = Field(description=_ROW["size"], examples=["perch"])
    outcome: fields.Outcome = Field(description=_ROW["outcome"], examples=["too_small"])
    order: fields.Name | None = Field(None, description=_ROW["order"], examples=["order-17"])


class ReceiptHoofForm(Form):
    """One hoof of a match receipt; what else the receipt says of it is not needed here."""

    model_config = ConfigDict(extra="ignore")

    limb: fields.Limb = Field(description="Which hoof.", examples=["LF"])
    method: fields.Method = Field(Method.UNKNOWN, description="How it was measured.", examples=["tape"])
    estimate_mm: list[_Mean] = Field(
        min_length=2,
        max_length=2,
        description="Means of width and length, in mm, once all that is known is weighed.",
        examples=[[124.2, 127.9]],
    )
    uncertainty_mm: list[_Spread] = Field(
        min_length=2, max_length=2, description="Their standard uncertainties, in mm.", examples=[[1.9, 2.7]]
    )
    correlation: _Correlation = Field(description="The correlation of their errors.", examples=[0.31])


class ReceiptForm(Form):
    """What a match receipt says: its payload. Its signature is not looked at here."""

    model_config = ConfigDict(extra="ignore")

    animal_type: fields.AnimalType = Field(description="What kind of animal it is.", examples=["horse"])
    hooves: list[ReceiptHoofForm] = Field(
        min_length=1,
        max_length=4,
        description="The hooves that were matched.",
        examples=[[{"limb": "LF", "estimate_mm": [124.2, 127.9], "uncertainty_mm": [1.9, 2.7], "correlation": 0.31}]],
    )


class ReceiptedOutcomeForm(Form):
    """One boot on one hoof of a match receipt, and what became of it."""

    receipt: ReceiptForm = Field(
        description="The payload of the match receipt.",
        examples=[
            {
                "animal_type": "horse",
                "hooves": [
                    {
                        "limb": "LF",
                        "method": "tape",
                        "estimate_mm": [124.2, 127.9],
                        "uncertainty_mm": [1.9, 2.7],
                        "correlation": 0.31,
                    }
                ],
            }
        ],
    )
    limb: fields.Limb = Field(description="Which of its hooves the boot was for.", examples=["LF"])
    channel: fields.Channel = Field(description=_ROW["channel"], examples=["web"])
    boot: fields.BootId = Field(description=_ROW["boot"], examples=["haskeby-ingleworth"])
    size: fields.SizeCode = Field(description=_ROW["size"], examples=["perch"])
    outcome: fields.Outcome = Field(description=_ROW["outcome"], examples=["kept"])
    order: fields.Name | None = Field(None, description=_ROW["order"], examples=["order-17"])


def _kind(row: object) -> str:
    return "receipted" if isinstance(row, dict) and "receipt" in row else "measured"


Row = Annotated[
    Annotated[OutcomeForm, Tag("measured")] | Annotated[ReceiptedOutcomeForm, Tag("receipted")], Discriminator(_kind)
]


class OutcomesForm(Form):
    """Outcomes of sold boots to learn from, and the catalog release whose sizes they were."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "unit": "mm",
                    "outcomes": [
                        {
                            "limb": "LF",
                            "width": 124,
                            "length": 128,
                            "method": "tape",
                            "channel": "web",
                            "boot": "haskeby-ingleworth",
                            "size": "perch",
                            "outcome": "kept",
                            "order": "order-17",
                        },
                        {
                            "limb": "RF",
                            "width": 126,
                            "length": 128,
                            "method": "tape",
                            "channel": "web",
                            "boot": "haskeby-ingleworth",
                            "size": "perch",
                            "outcome": "too_small",
                            "order": "order-17",
                        },
                    ],
                }
            ]
        }
    )

    unit: fields.Unit = Field(Unit.MM, description="The unit of lengths that are written without one.", examples=["mm"])
    method: fields.Method | None = Field(
        None, description="How the hooves were measured; not told, the readings count as rough.", examples=["tape"]
    )
    observer: fields.Observer | None = Field(
        None, description="Who measured; not told, it counts as the owner.", examples=["owner"]
    )
    outcomes: list[Row] = Field(
        min_length=1,
        max_length=MOST_OUTCOMES,
        description=f"One boot on one hoof each, at most {MOST_OUTCOMES}.",
        examples=[
            [
                {
                    "limb": "LF",
                    "width": 124,
                    "length": 128,
                    "channel": "web",
                    "boot": "haskeby-ingleworth",
                    "size": "perch",
                    "outcome": "kept",
                }
            ]
        ],
    )
    catalog_release: fields.ReleasePin | None = Field(
        None,
        description="The id of the catalog release whose sizes were sold; left out: the active one.",
        examples=["sha256-9f2c4e0b7d1a6358c4e2f0917b3d5a68e1c79f04b2d683a5507e9c1f4a3b2d86"],
    )


class OutcomesFileForm(OutcomesForm):
    """The same from a file, which may hold more."""

    outcomes: list[Row] = Field(min_length=1, max_length=MOST_OUTCOMES_OF_A_FILE)


def read_outcomes(
    raw: object, *, today: date, form: type[OutcomesForm] = OutcomesForm, most: int = MOST_OUTCOMES
) -> OutcomesQuestion:
    """Read outcomes, as `read_form` reads any form. Raises InputRefused with every fault there is."""
    read = read_form(
        raw, form=form, today=today, look_further=_not_in_the_receipt, most_values=(most + 1) * VALUES_OF_AN_OUTCOME
    )
    sold = tuple(
        _measured(row, form=read) if isinstance(row, OutcomeForm) else _receipted(row) for row in read.outcomes
    )
    return OutcomesQuestion(sold=sold, catalog_release=read.catalog_release)


def read_outcomes_of_a_file(document: object, *, today: date) -> OutcomesQuestion:
    """Read outcomes that stand in a file. Raises InputRefused with every fault there is."""
    return read_outcomes(document, today=today, form=OutcomesFileForm, most=MOST_OUTCOMES_OF_A_FILE)


def _not_in_the_receipt(document: object) -> Iterator[Fault]:
    """Limbs that a row's receipt does not name."""
    rows = document.get("outcomes") if isinstance(document, dict) else None
    for place, row in enumerate(rows if isinstance(rows, list) else []):
        if _kind(row) == "measured":
            continue
        limbs = list(_limbs_of(row["receipt"]))
        if limbs and "limb" in row and row["limb"] not in limbs:
            facts: dict[str, Fact] = {"limb": str(row["limb"])}
            yield fault(
                FaultCode.LIMB_NOT_IN_RECEIPT, path=("outcomes", place, "limb"), received=row["limb"], facts=facts
            )


def _limbs_of(receipt: object) -> Iterator[object]:
    hooves = receipt.get("hooves") if isinstance(receipt, dict) else None
    for hoof in hooves if isinstance(hooves, list) else []:
        if isinstance(hoof, dict):
            yield hoof.get("limb")


def _measured(row: OutcomeForm, *, form: OutcomesForm) -> SoldBoot:
    method = row.method or form.method or Method.UNKNOWN
    aged = (row.sold_on - row.measured_on).days if row.sold_on and row.measured_on else 0
    return SoldBoot(
        animal_type=row.animal_type,
        hoof=HoofReading(
            limb=row.limb,
            width=axis_reading(row.width, step=row.resolution),
            length=axis_reading(row.length, step=row.resolution),
            method=method,
            observer=row.observer or form.observer or Observer.OWNER,
            states=frozenset(row.states),
            age_weeks=max(0, aged) / 7,
            weeks_since_trim=row.weeks_since_trim,
            allowance_mm=row.allowance.mm if row.allowance else 0.0,
        ),
        group=ReadingGroup(method=method, channel=row.channel),
        boot=row.boot,
        size=row.size,
        outcome=row.outcome,
        order=row.order or None,
    )


def _receipted(row: ReceiptedOutcomeForm) -> SoldBoot:
    hoof = next(hoof for hoof in row.receipt.hooves if hoof.limb is row.limb)
    width, length = hoof.estimate_mm
    width_sd, length_sd = hoof.uncertainty_mm
    return SoldBoot(
        animal_type=row.receipt.animal_type,
        hoof=ReceiptedHoof(
            limb=hoof.limb,
            means_mm=(width, length),
            deviations_mm=(width_sd, length_sd),
            correlation=hoof.correlation,
        ),
        group=ReadingGroup(method=hoof.method, channel=row.channel),
        boot=row.boot,
        size=row.size,
        outcome=row.outcome,
        order=row.order or None,
    )
