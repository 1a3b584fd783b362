"""Trial set document: the set, its share and the curve, as sent, and how an answer becomes one.

Numbers are rounded by the rule of `answer_parts`, shares as chances are, costs to 0.01.
"""

from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import (
    CautionDocument,
    Document,
    RemarkDocument,
    VersionsDocument,
    cautions,
    remarks,
    rounded,
    rounded_chance,
    versions_document,
)
from hooflast.exchange.herd_document import NamedSizeDocument, Share
from hooflast.exchange.match_document import ChartRangeDocument, MatchedBootDocument
from hooflast.exchange.match_writing import boot_document, range_document
from hooflast.fit.demand import Counting
from hooflast.matching.trial_set_answer import CarriedSize, CurvePoint, ServedBy, TrialSetAnswer
from hooflast.texts import Texts


class CarriedSizeDocument(Document, frozen=True):
    """One size of the set."""

    boot: MatchedBootDocument
    size: Annotated[str, Meta(description="The maker's size code.")]
    width_range: ChartRangeDocument | None
    length_range: ChartRangeDocument | None
    cost: Annotated[float, Meta(ge=0, description="What it costs, in the unit of the form's costs.")]
    is_asked_for: Annotated[bool, Meta(description="Whether it had to be in.")]
    best_for: Annotated[float, Meta(ge=0, le=1, description="Share of the hooves that it serves best of the set.")]


class CurvePointDocument(Document, frozen=True):
    """The best found with a number of sizes."""

    count: Annotated[int, Meta(ge=0, description="How many sizes are carried, beside those at hand.")]
    share: Share
    bound: Annotated[float, Meta(ge=0, le=1, description="No choice of as many sizes serves a larger share.")]
    is_exact: Annotated[bool, Meta(description="Whether this is proved to be the best choice of as many sizes.")]
    sizes: list[NamedSizeDocument]


class TrialSetDocument(Document, frozen=True):
    """A set of sizes for a herd. Nothing of it is kept."""

    horses: Annotated[int, Meta(ge=0, description="Horses counted: measured ones, or drawn ones that stand for kinds.")]
    hooves: Annotated[int, Meta(ge=0, description="Hooves counted.")]
    sizes_in_question: Annotated[int, Meta(ge=0, description="Sizes that could be chosen from.")]
    counting: Counting
    served_by: ServedBy
    threshold: Annotated[float, Meta(ge=0, le=1, description="The fit chance from which a hoof is served.")]
    wished: Annotated[float, Meta(ge=0, le=1, description="The share that was asked for.")]
    attainable: Annotated[float, Meta(ge=0, le=1, description="The share that all sizes in question serve together.")]
    sizes: Annotated[list[CarriedSizeDocument], Meta(description="The set, by boot model and from small to large.")]
    share: Annotated[float, Meta(ge=0, le=1, description="The share that the set serves.")]
    mean_chance: Annotated[
        float, Meta(ge=0, le=1, description="Mean over the hooves of the fit chance of the best size of the set.")
    ]
    cost: Annotated[float, Meta(ge=0, description="What the set costs; each size 1 where no cost was given.")]
    least_cost: Annotated[float, Meta(ge=0, description="Nothing cheaper than this serves the share.")]
    is_exact: Annotated[bool, Meta(description="Whether the set is proved to be the cheapest.")]
    curve: Annotated[
        list[CurvePointDocument], Meta(description="Share served against number of sizes, from the fewest.")
    ]
    cautions: list[CautionDocument]
    assumptions: list[RemarkDocument]
    versions: VersionsDocument


def trial_set_document(answer: TrialSetAnswer, *, texts: Texts) -> TrialSetDocument:
    """The answer as a document."""
    question = answer.question
    texts = texts.in_unit(question.herd.unit)
    return TrialSetDocument(
        horses=answer.horses,
        hooves=answer.hooves,
        sizes_in_question=answer.sizes_in_question,
        counting=question.counting,
        served_by=question.served_by,
        threshold=rounded_chance(question.threshold),
        wished=rounded_chance(question.share),
        attainable=rounded_chance(answer.attainable),
        sizes=[_carried(one) for one in answer.carried],
        share=rounded_chance(answer.share),
        mean_chance=rounded_chance(answer.mean_chance),
        cost=rounded(answer.cost, decimals=2),
        least_cost=rounded(answer.least_cost, decimals=2),
        is_exact=answer.is_exact,
        curve=[_point(point) for point in answer.curve],
        cautions=cautions(answer.cautions, texts=texts),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        versions=versions_document(answer.versions),
    )


def _carried(one: CarriedSize) -> CarriedSizeDocument:
    return CarriedSizeDocument(
        boot=boot_document(one.boot, maker=one.maker),
        size=one.size.code,
        width_range=range_document(one.size.width),
        length_range=range_document(one.size.length),
        cost=rounded(one.cost, decimals=2),
        is_asked_for=one.is_asked_for,
        best_for=rounded_chance(one.best_for),
    )


def _point(point: CurvePoint) -> CurvePointDocument:
    return CurvePointDocument(
        count=point.count,
        share=rounded_chance(point.share),
        bound=rounded_chance(point.bound),
        is_exact=point.is_exact,
        sizes=[NamedSizeDocument(boot=boot, size=size) for boot, size in point.sizes],
    )
