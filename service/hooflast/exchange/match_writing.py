"""Match writing: an answer as values, written down with its sentences as a match document."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import msgspec
from msgspec import UNSET
from msgspec.structs import replace

from hooflast.catalog.values import BootModel, Maker, Range
from hooflast.exchange.answer_parts import cautions, encode, remarks, rounded, rounded_chance, versions_document
from hooflast.exchange.assortment_document import sold_documents
from hooflast.exchange.cycle_parts import best_in_cycle_document
from hooflast.exchange.match_document import (
    AccessoryFitDocument,
    AlternativeDocument,
    AskedDocument,
    AxisReadingDocument,
    BootFitDocument,
    ChartRangeDocument,
    EstimateDocument,
    FeatureDocument,
    HoofAnswerDocument,
    LeftOutDocument,
    MatchAnswerDocument,
    MatchedBootDocument,
    NamedNeedDocument,
    NeedAdviceDocument,
    PaddedDocument,
    ShapeChancesDocument,
    ShapeDocument,
    SizeFitDocument,
    TroubleNameDocument,
    VerdictChancesDocument,
    VerdictDocument,
    WidthFromGirthDocument,
)
from hooflast.fit.girth import GirthWidth
from hooflast.fit.hoof import Axis, AxisReading
from hooflast.fit.shape import Shape
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import (
    AccessoryFit,
    Alternative,
    BootFit,
    Estimated,
    HoofAnswer,
    LeftOutBecause,
    MatchAnswer,
    Padded,
    SizeFit,
)
from hooflast.matching.needs import Feature, NeedAdvice
from hooflast.matching.question import MatchQuestion
from hooflast.matching.receipt import MatchReceipt
from hooflast.texts import Texts

_NOT_KEPT: Final = b'{"id":null,"receipt":null'
"""How an answer begins that is not kept; what follows is the same for one that is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AnswerWriter:
    """Writes answers in one language: a head with the receipt, each hoof, and everything after the receipt."""

    texts: Texts

    def head(self, receipt: MatchReceipt) -> bytes:
        """The beginning of what is sent and kept, with id and receipt."""
        return msgspec.json.encode({"id": receipt.id, "receipt": receipt.token})[:-1]

    def hoof(self, hoof: HoofAnswer, *, question: MatchQuestion) -> bytes:
        """One hoof of the answer to a question."""
        return encode(_hoof(hoof, texts=self.texts.in_unit(question.unit)))

    def rest(self, answer: MatchAnswer, *, hooves: Sequence[bytes]) -> bytes:
        """Everything after the receipt, with its hooves as they have been written; the same for every such answer."""
        document = match_document(answer, receipt=None, texts=self.texts)
        return encode(replace(document, hooves=[msgspec.Raw(hoof) for hoof in hooves]))[len(_NOT_KEPT) :]


def write_match_answer(answer: MatchAnswer, *, receipt: MatchReceipt | None, texts: Texts) -> bytes:
    """The answer as it is sent and kept; without a receipt, one that is not kept.

    Lengths in sentences are in the unit the asker measures in.
    """
    return encode(match_document(answer, receipt=receipt, texts=texts))


def match_document(answer: MatchAnswer, *, receipt: MatchReceipt | None, texts: Texts) -> MatchAnswerDocument:
    """The answer as a document."""
    texts = texts.in_unit(answer.question.unit)
    return MatchAnswerDocument(
        id=receipt.id if receipt else None,
        receipt=receipt.token if receipt else None,
        asked=_asked(answer.question),
        hooves=[_hoof(hoof, texts=texts) for hoof in answer.hooves],
        cautions=cautions(answer.cautions, texts=texts),
        needs=[need_document(need, texts=texts) for need in answer.needs],
        wearing=remarks(answer.wearing, family="wearing", texts=texts),
        level=remarks(answer.level, family="level", texts=texts),
        width_from_girth=_girth(answer.width_from_girth),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        left_out=left_out_documents(answer.left_out, texts=texts),
        versions=versions_document(answer.versions),
    )


def left_out_documents(left_out: Mapping[LeftOutBecause, int], *, texts: Texts) -> list[LeftOutDocument]:
    """How many boot models were left out, by reason."""
    return [
        LeftOutDocument(because=because, text=texts.say(f"left_out.{because}"), count=count)
        for because, count in sorted(left_out.items())
    ]


def _asked(question: MatchQuestion) -> AskedDocument:
    return AskedDocument(
        horse_name=question.horse_name,
        animal_type=question.animal_type,
        is_foal=question.is_foal,
        unit=question.unit,
        uses=sorted(question.uses),
        needs=[NamedNeedDocument(need=named.need, course=named.course) for named in question.needs],
        closures=list(question.closures),
        pad_mm=rounded(question.pad_mm, decimals=1),
        pad_kind=question.pad_kind,
        pad_softness=question.pad_softness,
        boots_per_hoof=question.boots_per_hoof,
        try_from=question.try_from,
        cycle_weeks=None if question.cycle_weeks is None else rounded(question.cycle_weeks, decimals=1),
        girth_mm=None if question.girth_mm is None else rounded(question.girth_mm, decimals=1),
        build=question.build,
    )


def _hoof(hoof: HoofAnswer, *, texts: Texts) -> HoofAnswerDocument:
    reading = hoof.reading
    since_trim = reading.weeks_since_trim
    return HoofAnswerDocument(
        limb=reading.limb,
        limb_text=texts.say(f"limb.{reading.limb}"),
        method=reading.method,
        observer=reading.observer,
        states=sorted(reading.states),
        age_weeks=rounded(reading.age_weeks, decimals=1),
        weeks_since_trim=None if since_trim is None else rounded(since_trim, decimals=1),
        allowance_mm=rounded(reading.allowance_mm, decimals=1),
        width_reading=_reading(reading.width),
        length_reading=_reading(reading.length),
        width=estimate_document(hoof.width),
        length=estimate_document(hoof.length),
        correlation=rounded(hoof.correlation, decimals=3),
        shape=_shape(hoof.shape, texts=texts),
        in_boot=None if hoof.in_boot is None else _padded(hoof.in_boot),
        boots=[_boot_fit(fit, texts=texts) for fit in hoof.boots],
        alternatives=[_alternative(one, texts=texts) for one in hoof.alternatives],
        turns=remarks(hoof.turns, family="turn", texts=texts),
        in_cycle=best_in_cycle_document(hoof.in_cycle),
        cautions=cautions(hoof.cautions, texts=texts),
    )


def _padded(padded: Padded) -> PaddedDocument:
    return PaddedDocument(width=estimate_document(padded.width), length=estimate_document(padded.length))


def _reading(axis: AxisReading) -> AxisReadingDocument:
    return AxisReadingDocument(
        values_mm=[rounded(value, decimals=1) for value in axis.values_mm],
        resolution_mm=rounded(axis.resolution_mm, decimals=1),
    )


def estimate_document(estimated: Estimated) -> EstimateDocument:
    """What is believed of one dimension."""
    return EstimateDocument(
        mean_mm=rounded(estimated.mean_mm, decimals=1),
        standard_uncertainty_mm=rounded(estimated.standard_uncertainty_mm, decimals=1),
    )


def _boot_fit(fit: BootFit, *, texts: Texts) -> BootFitDocument:
    return BootFitDocument(
        place=fit.place,
        band=fit.band,
        boot=boot_document(fit.boot, maker=fit.maker),
        closeness=rounded_chance(fit.closeness),
        chance_some_size_fits=rounded_chance(fit.chance_some_size_fits),
        best=size_fit_document(fit.best, texts=texts),
        smaller=None if fit.smaller is None else size_fit_document(fit.smaller, texts=texts),
        larger=None if fit.larger is None else size_fit_document(fit.larger, texts=texts),
        size_by_width=fit.size_by_width,
        size_by_length=fit.size_by_length,
        steps_apart=fit.steps_apart,
        try_order=list(fit.try_order),
        watch_for=[
            TroubleNameDocument(trouble=trouble, text=texts.say(f"trouble.{trouble}")) for trouble in fit.watch_for
        ],
        accessories=[_accessory(one, texts=texts) for one in fit.accessories],
        why=remarks(fit.why, family="why", texts=texts),
        cautions=cautions(fit.cautions, texts=texts),
    )


def boot_document(boot: BootModel, *, maker: Maker) -> MatchedBootDocument:
    """The boot model that is meant."""
    return MatchedBootDocument(
        id=boot.id,
        name=boot.name,
        maker=maker.id,
        maker_name=maker.name,
        closure=boot.closure,
        shape=boot.shape,
        sides=boot.sides,
        sold_as=boot.sold_as,
    )


def _accessory(fit: AccessoryFit, *, texts: Texts) -> AccessoryFitDocument:
    accessory = fit.accessory
    return AccessoryFitDocument(
        id=accessory.id,
        name=accessory.name,
        kind=accessory.kind,
        kind_text=texts.say(f"accessory.{accessory.kind}"),
        size=fit.size,
    )


def _alternative(alternative: Alternative, *, texts: Texts) -> AlternativeDocument:
    return AlternativeDocument(
        fit=_boot_fit(alternative.fit, texts=texts),
        gains=remarks(alternative.gains, family="gain", texts=texts),
        losses=remarks(alternative.losses, family="loss", texts=texts),
    )


def _shape(shape: Shape, *, texts: Texts) -> ShapeDocument:
    chances = {kind.value: rounded_chance(chance) for kind, chance in shape.chances.items()}
    return ShapeDocument(
        ratio=rounded(shape.ratio, decimals=3),
        likeliest=shape.likeliest,
        text=texts.say(f"shape.{shape.likeliest}"),
        chances=ShapeChancesDocument(**chances),
    )


def need_document(advice: NeedAdvice, *, texts: Texts) -> NeedAdviceDocument:
    """What practice says to one named need."""

    def features(listed: Iterable[Feature]) -> list[FeatureDocument]:
        return [FeatureDocument(feature=feature, text=texts.say(f"feature.{feature}")) for feature in listed]

    return NeedAdviceDocument(
        need=advice.need,
        course=advice.course,
        text=texts.say(f"need.{advice.need}"),
        suits=features(advice.suits),
        as_directed=features(advice.as_directed),
        never=features(advice.never),
    )


def _girth(expected: GirthWidth | None) -> WidthFromGirthDocument | None:
    if expected is None:
        return None
    return WidthFromGirthDocument(
        mean_mm=rounded(expected.mean_mm, decimals=1), sd_mm=rounded(expected.sd_mm, decimals=1)
    )


def size_fit_document(fit: SizeFit, *, texts: Texts) -> SizeFitDocument:
    """One size on one hoof."""
    return SizeFitDocument(
        size=fit.size.code,
        gtin=fit.size.gtin,
        fit_chance=rounded_chance(fit.fit_chance),
        width_range=range_document(fit.size.width),
        length_range=range_document(fit.size.length),
        width=_verdict(fit, axis=Axis.WIDTH, texts=texts),
        length=_verdict(fit, axis=Axis.LENGTH, texts=texts),
        sold=UNSET if fit.sold is None else sold_documents(fit.sold),
    )


def range_document(printed: Range | None) -> ChartRangeDocument | None:
    """The hoof range of one axis of a size; none where its chart leaves it out."""
    if printed is None:
        return None
    low_mm, high_mm = (rounded(edge, decimals=1) for edge in (printed.low_mm, printed.high_mm))
    return ChartRangeDocument(low_mm=low_mm, high_mm=high_mm)


def _verdict(fit: SizeFit, *, axis: Axis, texts: Texts) -> VerdictDocument | None:
    if axis not in fit.verdicts:
        return None
    verdict = fit.verdicts[axis]
    return VerdictDocument(
        verdict=verdict, text=texts.say(f"verdict.{verdict}"), chances=_chances(fit.verdict_chances[axis])
    )


def _chances(chances: Mapping[Verdict, float]) -> VerdictChancesDocument:
    return VerdictChancesDocument(
        too_tight=rounded_chance(chances.get(Verdict.TOO_TIGHT, 0.0)),
        snug=rounded_chance(chances.get(Verdict.SNUG, 0.0)),
        even=rounded_chance(chances.get(Verdict.EVEN, 0.0)),
        roomy=rounded_chance(chances.get(Verdict.ROOMY, 0.0)),
        too_loose=rounded_chance(chances.get(Verdict.TOO_LOOSE, 0.0)),
    )
