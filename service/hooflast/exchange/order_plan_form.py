"""Order plan form: what may stand in the request of an order plan, and how it becomes a question."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from typing import Annotated, Final, Self

from pydantic import ConfigDict, Field, model_validator

from hooflast.errors import Fault, Path
from hooflast.exchange import form_fields as fields
from hooflast.exchange.faults import FaultCode, refusal
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import (
    Form,
    KindOfPad,
    MeasuredForm,
    SoftnessOfPad,
    WornPad,
    measured_question,
    named_twice,
)
from hooflast.exchange.price_fields import Currency, Price, minor_units, price_faults
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.pad import PadKind, Softness
from hooflast.fit.plan_order import Aim
from hooflast.matching.plan_question import PlanQuestion, SizeOffer

MOST_OFFERS: Final = 2_000
MOST_VALUES: Final = 10 * MOST_OFFERS

Name = Annotated[str, Field(strict=True, max_length=100, pattern=r"^[!-~]+$")]


class OfferForm(Form):
    """One size as it is sold, named by boot model and size code, or by GTIN alone."""

    boot: Name | None = Field(None, description="The boot model's id in the catalog.", examples=["ombrick-jorveth"])
    size: Name | None = Field(None, description="The maker's size code.", examples=["lapwing"])
    gtin: Annotated[str, Field(strict=True, pattern=r"^[0-9]{8,14}$")] | None = Field(
        None, description="The size's GTIN (GS1), in place of boot and size.", examples=["4012345000009"]
    )
    sold_as: fields.SoldAs | None = Field(
        None, description="Whether a single boot or a pair is sold; left out: as the catalog says.", examples=["single"]
    )
    price: Price | None = Field(
        None,
        description="The price of what is sold, a boot or a pair, in the currency; left out: not known.",
        examples=["64.90", 64.9],
    )
    stock: fields.Stock | None = Field(
        None, description="How many of what is sold, boots or pairs, are in stock; left out: enough.", examples=[3]
    )

    @model_validator(mode="after")
    def _named_one_way(self) -> Self:
        if (self.gtin is None) == (self.boot is None) or (self.boot is None) != (self.size is None):
            raise refusal(FaultCode.OFFER_UNNAMED)
        return self


class OrderPlanForm(MeasuredForm):
    """One horse, one to four of its hooves, what its boots are for, and what is on sale."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "horse": {"name": "Bramble"},
                    "method": "tape",
                    "hooves": [
                        {"limb": "LF", "width": 124, "length": 127},
                        {"limb": "RF", "width": 126, "length": 130},
                    ],
                    "uses": ["hacking"],
                    "currency": "EUR",
                    "budget": 200,
                    "offers": [
                        {"boot": "ombrick-jorveth", "size": "lapwing", "price": "64.90", "stock": 3},
                        {"boot": "ombrick-jorveth", "size": "jackdaw", "price": "64.90", "stock": 1},
                    ],
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
        description="Closures you would like, dearest first. A wish decides between plans that fit alike.",
        examples=[["strap", "buckle"]],
    )
    pad: WornPad = None
    pad_kind: KindOfPad = PadKind.FULL
    pad_softness: SoftnessOfPad = Softness.UNKNOWN
    offers: list[OfferForm] | None = Field(
        None,
        max_length=MOST_OFFERS,
        description="What is on sale; left out: every boot model of the catalog release, at unknown prices.",
        examples=[[{"boot": "ombrick-jorveth", "size": "lapwing", "price": "64.90", "stock": 3}]],
    )
    currency: Currency | None = Field(
        None, description="The currency of all prices and of the budget (ISO 4217).", examples=["EUR"]
    )
    budget: Price | None = Field(
        None,
        description="What the boots may cost together. Within a budget, nothing is planned whose price is not known.",
        examples=[200, "199.90"],
    )
    aim: fields.Aim = Field(
        Aim.SUREST,
        description="surest: the surest fit, and of plans that fit alike the cheapest; cheapest: the cheapest of those "
        "whose every hoof is given the least fit chance.",
        examples=["cheapest"],
    )
    least_fit_chance: fields.Probability | None = Field(
        None,
        description="No hoof is given a size less likely to fit; left out: 0.25 for the surest plan, 0.5 for the "
        "cheapest.",
        examples=[0.5],
    )


def read_plan_question(raw: object, *, today: date) -> PlanQuestion:
    """Read the request of an order plan. Raises InputRefused with every fault there is."""
    form = read_form(raw, form=OrderPlanForm, today=today, look_further=_look_further, most_values=MOST_VALUES)
    return PlanQuestion(
        horse=replace(
            measured_question(form, today=today),
            uses=frozenset(form.uses),
            closures=tuple(dict.fromkeys(form.closures)),
            pad_mm=form.pad.mm if form.pad else 0.0,
            pad_kind=form.pad_kind,
            pad_softness=form.pad_softness,
        ),
        offers=None if form.offers is None else tuple(_offer(offer, form=form) for offer in form.offers),
        currency=form.currency,
        budget=_minor(form.budget, form=form),
        aim=form.aim,
        least_fit_chance=form.least_fit_chance,
    )


def _look_further(document: object) -> Iterator[Fault]:
    yield from named_twice(document)
    if isinstance(document, dict):
        yield from price_faults(dict(_prices(document)), currency=document.get("currency"))


def _prices(document: dict[str, object]) -> Iterator[tuple[Path, object]]:
    """Every price in a document, with its place."""
    if document.get("budget") is not None:
        yield ("budget",), document["budget"]
    offers = document.get("offers")
    for at, offer in enumerate(offers if isinstance(offers, list) else []):
        if isinstance(offer, dict) and offer.get("price") is not None:
            yield ("offers", at, "price"), offer["price"]


def _offer(offer: OfferForm, *, form: OrderPlanForm) -> SizeOffer:
    return SizeOffer(
        boot=offer.boot,
        size=offer.size,
        gtin=offer.gtin,
        sold_as=offer.sold_as,
        price=_minor(offer.price, form=form),
        stock=offer.stock,
    )


def _minor(price: Decimal | None, *, form: OrderPlanForm) -> int | None:
    return None if price is None or form.currency is None else minor_units(price, currency=form.currency)
