"""Order plan document: what to buy for one horse, written down with its sentences.

Money is written as a decimal number in text, lest a float round it, with its currency, and as people write it.
"""

from dataclasses import dataclass
from decimal import Decimal
from typing import Annotated

from babel.numbers import get_currency_precision
from msgspec import Meta

from hooflast.catalog.values import SoldAs
from hooflast.exchange.answer_parts import (
    CautionDocument,
    Chance,
    Document,
    RemarkDocument,
    Sentence,
    VersionsDocument,
    cautions,
    remarks,
    rounded,
    rounded_chance,
    versions_document,
)
from hooflast.exchange.match_document import LeftOutDocument, NeedAdviceDocument
from hooflast.exchange.match_writing import left_out_documents, need_document
from hooflast.fit.hoof import Limb
from hooflast.fit.plan_order import Aim
from hooflast.matching.plan_answer import (
    FrontierStep,
    HorsePlan,
    PlanAnswer,
    PlannedHoof,
    PlannedItem,
    PlannedSpare,
    RunnerUp,
    SizeOf,
    Unserved,
)
from hooflast.texts import Texts

Fitting = Annotated[
    float, Meta(ge=0, le=4, description="The expected number of hooves that fit: the sum of their fit chances.")
]


class MoneyDocument(Document, frozen=True):
    """A sum of money."""

    amount: Annotated[str, Meta(description="The amount as a decimal number.", examples=["129.80"])]
    currency: Annotated[str, Meta(description="ISO 4217 code.", examples=["EUR"])]
    text: Sentence


class PlannedSizeDocument(Document, frozen=True):
    """One size of one boot model."""

    boot: Annotated[str, Meta(description="The boot model's id.")]
    boot_name: str
    maker_name: str
    size: Annotated[str, Meta(description="The maker's size code.")]
    gtin: Annotated[str | None, Meta(description="The size's GTIN (GS1), if its maker states one.")]


class PlannedHoofDocument(Document, frozen=True):
    """What one hoof is to wear."""

    limb: Limb
    limb_text: Sentence
    wears: PlannedSizeDocument
    fit_chance: Chance
    cautions: list[CautionDocument]


class PlannedItemDocument(Document, frozen=True):
    """What to buy."""

    what: PlannedSizeDocument
    sold_as: SoldAs
    quantity: Annotated[int, Meta(ge=1, description="How many of what is sold: boots or pairs.")]
    price: Annotated[MoneyDocument | None, Meta(description="The price of one; null where it is not known.")]
    total: Annotated[MoneyDocument | None, Meta(description="The price of all; null where it is not known.")]
    offer: Annotated[int | None, Meta(description="The place of the offer in the request, from 0.")]
    sku: Annotated[str | None, Meta(description="The SKU in the asked assortment.")]


class PlannedSpareDocument(Document, frozen=True):
    """Boots that are bought with others and that no hoof wears."""

    what: PlannedSizeDocument
    boots: Annotated[int, Meta(ge=1)]


class HorsePlanDocument(Document, frozen=True):
    """What every hoof wears, what to buy, and what it comes to."""

    hooves: list[PlannedHoofDocument]
    items: list[PlannedItemDocument]
    spares: list[PlannedSpareDocument]
    expected_fitting: Fitting
    band: Annotated[int, Meta(ge=0, description="0: the readings cannot tell it from the surest fit on sale.")]
    total: Annotated[MoneyDocument | None, Meta(description="What the known prices add up to.")]
    boots_without_price: Annotated[int, Meta(ge=0, description="Boots in the plan whose price is not known.")]


class RunnerUpDocument(Document, frozen=True):
    """The best plan for the same hooves in other boot models, and what it gains and costs."""

    plan: HorsePlanDocument
    trade: list[RemarkDocument]


class FrontierStepDocument(Document, frozen=True):
    """A price from which a surer fit can be had."""

    total: MoneyDocument
    expected_fitting: Fitting
    boots: Annotated[list[str], Meta(description="The boot models' ids.")]


class UnservedDocument(Document, frozen=True):
    """A hoof the plan leaves without a boot."""

    limb: Limb
    limb_text: Sentence
    because: RemarkDocument
    next_best: Annotated[PlannedHoofDocument | None, Meta(description="The likeliest size on sale for it alone.")]


class PlannedReadingDocument(Document, frozen=True):
    """What to be careful about with the reading of one hoof."""

    limb: Limb
    limb_text: Sentence
    cautions: list[CautionDocument]


class OrderPlanDocument(Document, frozen=True):
    """What to buy for one horse."""

    horse_name: str
    aim: Aim
    least_fit_chance: Annotated[Chance, Meta(description="No hoof is given a size less likely to fit.")]
    plan: Annotated[HorsePlanDocument | None, Meta(description="The best plan; null where no hoof can be served.")]
    runner_up: RunnerUpDocument | None
    frontier: Annotated[
        list[FrontierStepDocument],
        Meta(description="From the cheapest plan for the same hooves to the surest, where prices are known."),
    ]
    unserved: list[UnservedDocument]
    missed: Annotated[list[RemarkDocument], Meta(description="What stood in the way of another plan.")]
    readings: list[PlannedReadingDocument]
    cautions: list[CautionDocument]
    needs: list[NeedAdviceDocument]
    assumptions: list[RemarkDocument]
    left_out: list[LeftOutDocument]
    versions: VersionsDocument


def order_plan_document(answer: PlanAnswer, *, texts: Texts) -> OrderPlanDocument:
    """The answer as a document."""
    question = answer.question
    texts = texts.in_unit(question.horse.unit)
    writer = _Writer(texts=texts, currency=question.currency)
    return OrderPlanDocument(
        horse_name=question.horse.horse_name,
        aim=question.aim,
        least_fit_chance=rounded_chance(question.least),
        plan=None if answer.plan is None else writer.plan(answer.plan),
        runner_up=None if answer.runner_up is None else writer.runner_up(answer.runner_up),
        frontier=[step for step in map(writer.step, answer.frontier) if step is not None],
        unserved=[writer.unserved(one) for one in answer.unserved],
        missed=remarks(answer.missed, family="missed", texts=texts),
        readings=[
            PlannedReadingDocument(
                limb=reading.limb,
                limb_text=texts.say(f"limb.{reading.limb}"),
                cautions=cautions(found, texts=texts),
            )
            for reading, found in answer.readings
        ],
        cautions=cautions(answer.cautions, texts=texts),
        needs=[need_document(need, texts=texts) for need in answer.needs],
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        left_out=left_out_documents(answer.left_out, texts=texts),
        versions=versions_document(answer.versions),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Writer:
    """Writes the parts of one plan."""

    texts: Texts
    currency: str | None

    def plan(self, plan: HorsePlan) -> HorsePlanDocument:
        return HorsePlanDocument(
            hooves=[self.hoof(hoof) for hoof in plan.hooves],
            items=[self.item(item) for item in plan.items],
            spares=[self.spare(spare) for spare in plan.spares],
            expected_fitting=rounded(plan.expected_fitting, decimals=3),
            band=plan.band,
            total=self.money(plan.price),
            boots_without_price=plan.unpriced,
        )

    def hoof(self, hoof: PlannedHoof) -> PlannedHoofDocument:
        return PlannedHoofDocument(
            limb=hoof.limb,
            limb_text=self.texts.say(f"limb.{hoof.limb}"),
            wears=_size(hoof.wears),
            fit_chance=rounded_chance(hoof.fit_chance),
            cautions=cautions(hoof.cautions, texts=self.texts),
        )

    def item(self, item: PlannedItem) -> PlannedItemDocument:
        return PlannedItemDocument(
            what=_size(item.of),
            sold_as=item.sold_as,
            quantity=item.quantity,
            price=self.money(item.price),
            total=None if item.price is None else self.money(item.quantity * item.price),
            offer=item.offer,
            sku=item.sku,
        )

    def spare(self, spare: PlannedSpare) -> PlannedSpareDocument:
        return PlannedSpareDocument(what=_size(spare.of), boots=spare.boots)

    def runner_up(self, runner_up: RunnerUp) -> RunnerUpDocument:
        return RunnerUpDocument(
            plan=self.plan(runner_up.plan), trade=remarks(runner_up.trade, family="trade", texts=self.texts)
        )

    def step(self, step: FrontierStep) -> FrontierStepDocument | None:
        total = self.money(step.price)
        if total is None:
            return None
        return FrontierStepDocument(
            total=total,
            expected_fitting=rounded(step.expected_fitting, decimals=3),
            boots=[boot.id for boot in step.boots],
        )

    def unserved(self, one: Unserved) -> UnservedDocument:
        (because,) = remarks([one.because], family="unserved", texts=self.texts)
        return UnservedDocument(
            limb=one.limb,
            limb_text=self.texts.say(f"limb.{one.limb}"),
            because=because,
            next_best=None if one.next_best is None else self.hoof(one.next_best),
        )

    def money(self, minor: int | None) -> MoneyDocument | None:
        if minor is None or self.currency is None:
            return None
        digits = get_currency_precision(self.currency)
        return MoneyDocument(
            amount=f"{Decimal(minor).scaleb(-digits):.{digits}f}",
            currency=self.currency,
            text=self.texts.money(minor, currency=self.currency),
        )


def _size(of: SizeOf) -> PlannedSizeDocument:
    return PlannedSizeDocument(
        boot=of.boot.id,
        boot_name=of.boot.name,
        maker_name=of.maker.name,
        size=of.size.code,
        gtin=of.size.gtin,
    )
