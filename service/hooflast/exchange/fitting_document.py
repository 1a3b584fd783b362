"""Fitting document: what to do next while a boot is being tried on, as it is sent, and how an answer becomes one.

Numbers are rounded by the rule of `answer_parts`, try-ons to 0.01.
"""

from typing import Annotated

from msgspec import Meta

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
from hooflast.exchange.match_document import MatchedBootDocument
from hooflast.exchange.match_writing import boot_document
from hooflast.fit.findings import Finding, Standing
from hooflast.fit.hoof import Limb
from hooflast.fit.lookahead import Order
from hooflast.matching.fitting_answer import Advice, Exchange, Expected, FittingAnswer, NextBoot, SizeStanding
from hooflast.texts import Texts

TryOns = Annotated[float, Meta(ge=0, description="Expected number of try-ons from here, rounded to 0.01.")]


class ExpectedDocument(Document, frozen=True):
    """What comes of an order from here; where a size is to be looked at again, what comes if it fails."""

    size: Annotated[str | None, Meta(description="Its next size; null: it has none.")]
    try_ons_left: TryOns
    ends_fitting: Annotated[float, Meta(ge=0, le=1, description="Chance that it ends with a size that fits.")]


class SizeStandingDocument(Document, frozen=True):
    """How one size stands to the hoof, all findings weighed; the four chances are one together."""

    size: Annotated[str, Meta(description="The maker's size code.")]
    was_tried: bool
    right: Chance
    too_large: Chance
    too_narrow: Chance
    too_short: Chance


class ExchangeDocument(Document, frozen=True):
    """What to do once the boot at home has shown a finding."""

    finding: Finding
    finding_text: Sentence
    chance: Annotated[float, Meta(ge=0, le=1, description="How likely this finding is.")]
    advice: Advice
    size: Annotated[str | None, Meta(description="The size to exchange it for; null: none of this boot model.")]
    text: Sentence


class NextBootDocument(Document, frozen=True):
    """The boot model to turn to, with what was learned carried over."""

    boot: MatchedBootDocument
    expected: ExpectedDocument


class FittingAnswerDocument(Document, frozen=True):
    """What to do next on one hoof. Nothing of it is kept: the next question brings every try-on again."""

    horse_name: str
    limb: Limb
    limb_text: Sentence
    boot: Annotated[MatchedBootDocument | None, Meta(description="Null where none was named and none is to be tried.")]
    advice: Annotated[
        Advice,
        Meta(
            description="try: put the named size on; try_again: look at it once more; seat_again: seat its heel and "
            "look again; move: let the horse move in it; keep: it is the size; change_boot: leave the boot model; "
            "measure_again: the findings contradict each other or the reading; stop: try nothing on."
        ),
    ]
    size: Annotated[str | None, Meta(description="The size that the advice is about.")]
    text: Sentence
    order: Order
    chosen: Annotated[ExpectedDocument | None, Meta(description="The order that was chosen. Null where all stops.")]
    shortest: Annotated[ExpectedDocument | None, Meta(description="The shortest order. Null where all stops.")]
    sizes: Annotated[list[SizeStandingDocument], Meta(description="Small to large. Empty where all stops.")]
    exchanges: Annotated[
        list[ExchangeDocument], Meta(description="Named beforehand for the one boot at home, while it is not tried.")
    ]
    next_boot: Annotated[NextBootDocument | None, Meta(description="Where the boot model is left, if there is one.")]
    steps: Annotated[list[RemarkDocument], Meta(description="What to do and what to look at, in order.")]
    cautions: list[CautionDocument]
    assumptions: list[RemarkDocument]
    versions: VersionsDocument


def fitting_document(answer: FittingAnswer, *, texts: Texts) -> FittingAnswerDocument:
    """The answer as a document; lengths in sentences are in the unit the asker measures in."""
    horse = answer.question.horse
    texts = texts.in_unit(horse.unit)
    (reading,) = horse.hooves
    return FittingAnswerDocument(
        horse_name=horse.horse_name,
        limb=reading.limb,
        limb_text=texts.say(f"limb.{reading.limb}"),
        boot=_boot(answer),
        advice=answer.advice,
        size=answer.size,
        text=advice_text(answer.advice, size=answer.size, texts=texts),
        order=answer.question.order,
        chosen=None if answer.chosen is None else _expected(answer.chosen),
        shortest=None if answer.shortest is None else _expected(answer.shortest),
        sizes=[_size(one) for one in answer.sizes],
        exchanges=[_exchange(one, texts=texts) for one in answer.exchanges],
        next_boot=None if answer.next_boot is None else _next_boot(answer.next_boot),
        steps=remarks(answer.steps, family="trying", texts=texts),
        cautions=cautions(answer.cautions, texts=texts),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        versions=versions_document(answer.versions),
    )


def _boot(answer: FittingAnswer) -> MatchedBootDocument | None:
    if answer.boot is None or answer.maker is None:
        return None
    return boot_document(answer.boot, maker=answer.maker)


def advice_text(advice: Advice, *, size: str | None, texts: Texts) -> str:
    """An advice as a sentence, with the size it is about."""
    return texts.say(f"advice.{advice}", {} if size is None else {"size": size})


def _expected(expected: Expected) -> ExpectedDocument:
    return ExpectedDocument(
        size=expected.size,
        try_ons_left=rounded(expected.try_ons, decimals=2),
        ends_fitting=rounded_chance(expected.ends_fitting),
    )


def _size(one: SizeStanding) -> SizeStandingDocument:
    chances = {standing.value: rounded_chance(one.chances[standing]) for standing in Standing}
    return SizeStandingDocument(size=one.size.code, was_tried=one.was_tried, **chances)


def _exchange(exchange: Exchange, *, texts: Texts) -> ExchangeDocument:
    return ExchangeDocument(
        finding=exchange.finding,
        finding_text=texts.say(f"finding.{exchange.finding}"),
        chance=rounded_chance(exchange.chance),
        advice=exchange.advice,
        size=exchange.size,
        text=advice_text(exchange.advice, size=exchange.size, texts=texts),
    )


def _next_boot(found: NextBoot) -> NextBootDocument:
    return NextBootDocument(boot=boot_document(found.boot, maker=found.maker), expected=_expected(found.expected))
