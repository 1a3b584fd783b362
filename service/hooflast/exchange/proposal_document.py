"""Proposal document: what outcomes teach, written down. Offsets are rounded to 0.01 mm, scores to 0.0001."""

from collections.abc import Mapping
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
from hooflast.fit.evidence import Bar, Evidence, Reliability
from hooflast.fit.hoof import Axis, Method
from hooflast.fit.learned import HowFar, Learned, Unclear
from hooflast.fit.outcome import Channel, Outcome, Side
from hooflast.matching.calibration import DECIMALS, DECIMALS_MM, BootOffset, CalibrationProposal, SizeOffset
from hooflast.texts import Texts

Offset = Annotated[float, Meta(description="mm, rounded to 0.01.")]
Score = Annotated[float, Meta(description="Log score per outcome, in nats, rounded to 0.0001.")]


class LearnedLengthDocument(Document, frozen=True):
    """A length that was learned, with its 95 % interval."""

    value_mm: Offset
    low_mm: Offset
    high_mm: Offset
    share_told: Annotated[
        float, Meta(ge=0, le=1, description="Share of what was not known before that outcomes removed.")
    ]
    how_far: HowFar
    text: Sentence


class LearnedChanceDocument(Document, frozen=True):
    """How often a boot is kept, by the side its fit errs on, with its 95 % interval."""

    side: Side
    text: Sentence
    chance: Chance
    low: Chance
    high: Chance
    share_told: Annotated[
        float, Meta(ge=0, le=1, description="Share of what was not known before that outcomes removed.")
    ]


class SizeOffsetDocument(Document, frozen=True):
    """How much larger a hoof a size takes than its chart says. An axis that its chart leaves out is null."""

    size: Annotated[str, Meta(description="The maker's size code.")]
    width: LearnedLengthDocument | None
    length: LearnedLengthDocument | None


class EvidenceDocument(Document, frozen=True):
    """How well offsets foretold outcomes that were held out, against charts as they are."""

    outcomes: Annotated[int, Meta(ge=0, description="Outcomes that say something of fit.")]
    returns: Annotated[int, Meta(ge=0, description="Returns among them.")]
    gain: Score
    gain_error: Annotated[float, Meta(ge=0, description="The gain's standard error.")]
    bar: Annotated[Bar, Meta(description="Whether that is over the bar, or what it lacks.")]
    text: Sentence


class UnclearDocument(Document, frozen=True):
    """What outcomes could not tell apart."""

    code: Unclear
    text: Sentence


class BootOffsetDocument(Document, frozen=True):
    """What was learned of one boot model."""

    boot: Annotated[str, Meta(description="The boot model's id.")]
    name: str
    maker: Annotated[str, Meta(description="The maker's id.")]
    maker_name: str
    proposed: Annotated[bool, Meta(description="Whether its offsets are proposed.")]
    evidence: EvidenceDocument
    width: Annotated[LearnedLengthDocument | None, Meta(description="The mean over the sizes that were sold.")]
    length: Annotated[LearnedLengthDocument | None, Meta(description="The mean over the sizes that were sold.")]
    unclear: list[UnclearDocument]
    sizes: Annotated[list[SizeOffsetDocument], Meta(description="Every size, small to large; they stay in order.")]


class ReadingBiasDocument(Document, frozen=True):
    """How much too large the readings of one method in one channel are, in common."""

    method: Method
    channel: Channel
    width: LearnedLengthDocument
    length: LearnedLengthDocument


class BinDocument(Document, frozen=True):
    """Outcomes with like chances of being kept."""

    outcomes: Annotated[int, Meta(ge=1)]
    foretold: Annotated[float, Meta(ge=0, le=1, description="What share was foretold to be kept.")]
    kept: Annotated[float, Meta(ge=0, le=1, description="What share was kept.")]


class ReliabilityDocument(Document, frozen=True):
    """Chances of being kept against what came about, on outcomes that were held out."""

    bins: list[BinDocument]
    likelihood: Annotated[
        float, Meta(ge=0, le=1, description="How likely gaps as large would be if the chances held (chi-squared).")
    ]
    borne_out: Annotated[bool, Meta(description="Whether the chances agree with what came about.")]


class CountDocument(Document, frozen=True):
    """How many outcomes there were of one kind."""

    outcome: Outcome
    text: Sentence
    count: Annotated[int, Meta(ge=1)]


class CalibrationProposalDocument(Document, frozen=True):
    """What outcomes of sold boots teach about a catalog release. Nothing is switched on by it."""

    id: Annotated[str, Meta(description="A digest of what is proposed and what it rests on (RFC 8785, SHA-256).")]
    learned_from: Annotated[str, Meta(description="A digest of the outcomes, in whatever order they came.")]
    outcomes: list[CountDocument]
    set_aside: Annotated[int, Meta(ge=0, description="Outcomes that say nothing of fit.")]
    boots: list[BootOffsetDocument]
    readings: list[ReadingBiasDocument]
    keeping: list[LearnedChanceDocument]
    evidence: Annotated[EvidenceDocument | None, Meta(description="All boot models together.")]
    reliability: ReliabilityDocument | None
    cautions: list[CautionDocument]
    assumptions: list[RemarkDocument]
    versions: VersionsDocument


def proposal_document(proposal: CalibrationProposal, *, texts: Texts) -> CalibrationProposalDocument:
    """The proposal as a document."""
    return CalibrationProposalDocument(
        id=proposal.id,
        learned_from=proposal.learned_from,
        outcomes=[
            CountDocument(outcome=outcome, text=texts.say(f"outcome.{outcome}"), count=count)
            for outcome, count in proposal.outcomes.items()
        ],
        set_aside=proposal.set_aside,
        boots=[_boot(boot, texts=texts) for boot in proposal.boots],
        readings=[
            ReadingBiasDocument(
                method=group.method,
                channel=group.channel,
                width=_length(biases[Axis.WIDTH], texts=texts),
                length=_length(biases[Axis.LENGTH], texts=texts),
            )
            for group, biases in proposal.biases.items()
        ],
        keeping=[
            LearnedChanceDocument(
                side=side,
                text=texts.say(f"side.{side}"),
                chance=rounded_chance(kept.value),
                low=rounded_chance(kept.low),
                high=rounded_chance(kept.high),
                share_told=rounded(kept.share, decimals=3),
            )
            for side, kept in proposal.keeping.items()
        ],
        evidence=None if proposal.whole is None else _evidence(proposal.whole, texts=texts),
        reliability=None if proposal.reliability is None else _reliability(proposal.reliability),
        cautions=cautions(proposal.cautions, texts=texts),
        assumptions=remarks(proposal.assumptions, family="assumption", texts=texts),
        versions=versions_document(proposal.versions),
    )


def _boot(found: BootOffset, *, texts: Texts) -> BootOffsetDocument:
    return BootOffsetDocument(
        boot=found.boot.id,
        name=found.boot.name,
        maker=found.maker.id,
        maker_name=found.maker.name,
        proposed=found.is_proposed,
        evidence=_evidence(found.evidence, texts=texts),
        width=_axis(found.offsets, axis=Axis.WIDTH, texts=texts),
        length=_axis(found.offsets, axis=Axis.LENGTH, texts=texts),
        unclear=[UnclearDocument(code=code, text=texts.say(f"unclear.{code}")) for code in found.unclear],
        sizes=[_size(offset, texts=texts) for offset in found.sizes],
    )


def _size(offset: SizeOffset, *, texts: Texts) -> SizeOffsetDocument:
    return SizeOffsetDocument(
        size=offset.size.code,
        width=_axis(offset.offsets, axis=Axis.WIDTH, texts=texts),
        length=_axis(offset.offsets, axis=Axis.LENGTH, texts=texts),
    )


def _axis(learned: Mapping[Axis, Learned], *, axis: Axis, texts: Texts) -> LearnedLengthDocument | None:
    return _length(learned[axis], texts=texts) if axis in learned else None


def _length(learned: Learned, *, texts: Texts) -> LearnedLengthDocument:
    value, low, high = (rounded(length, decimals=DECIMALS_MM) for length in (learned.value, learned.low, learned.high))
    return LearnedLengthDocument(
        value_mm=value,
        low_mm=low,
        high_mm=high,
        share_told=rounded(learned.share, decimals=3),
        how_far=learned.how_far,
        text=texts.say(f"how_far.{learned.how_far}"),
    )


def _evidence(found: Evidence, *, texts: Texts) -> EvidenceDocument:
    return EvidenceDocument(
        outcomes=found.outcomes,
        returns=found.returns,
        gain=rounded(found.gain, decimals=DECIMALS),
        gain_error=rounded(found.error, decimals=DECIMALS),
        bar=found.bar,
        text=texts.say(f"bar.{found.bar}"),
    )


def _reliability(found: Reliability) -> ReliabilityDocument:
    return ReliabilityDocument(
        bins=[
            BinDocument(outcomes=one.outcomes, foretold=rounded_chance(one.foretold), kept=rounded_chance(one.kept))
            for one in found.bins
        ],
        likelihood=rounded_chance(found.likelihood),
        borne_out=found.borne_out,
    )
