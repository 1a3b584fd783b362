"""Calibration: what outcomes of sold boots teach about a catalog release, as a proposal that switches nothing on."""

import hashlib
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

import rfc8785

from hooflast.catalog.values import BootModel, Maker, Size
from hooflast.fit.evidence import Bar, Evidence, Reliability
from hooflast.fit.hoof import Axis
from hooflast.fit.learned import Learned, Unclear
from hooflast.fit.outcome import Outcome, ReadingGroup, Side
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Versions

DECIMALS_MM: Final = 2
DECIMALS: Final = 4
"""How offsets, and how chances and scores, are rounded before a proposal's id is made of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeOffset:
    """How much larger a hoof a size takes than its chart says, on the axes the chart has."""

    size: Size
    offsets: Mapping[Axis, Learned]


@dataclass(frozen=True, slots=True, kw_only=True)
class BootOffset:
    """What was learned of a boot model: the mean over the sizes that were sold, each size, and the evidence."""

    boot: BootModel
    maker: Maker
    offsets: Mapping[Axis, Learned]
    sizes: tuple[SizeOffset, ...]
    unclear: tuple[Unclear, ...]
    evidence: Evidence

    @property
    def is_proposed(self) -> bool:
        """Whether the evidence is over the bar."""
        return self.evidence.bar is Bar.OVER


@dataclass(frozen=True, slots=True, kw_only=True)
class CalibrationProposal:
    """What outcomes teach; only offsets of boot models over the evidence bar are proposed.

    `learned_from` is a digest of the outcomes in an order of their own, `outcomes` counts them, `set_aside` of them say
    nothing of fit. `whole` is the evidence over all boot models together. Both it and `reliability` are None where no
    outcome says anything of fit.
    """

    learned_from: str
    outcomes: Mapping[Outcome, int]
    set_aside: int
    boots: tuple[BootOffset, ...]
    biases: Mapping[ReadingGroup, Mapping[Axis, Learned]]
    keeping: Mapping[Side, Learned]
    whole: Evidence | None
    reliability: Reliability | None
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    versions: Versions

    @property
    def id(self) -> str:
        """`sha256-<hex>` over what is proposed and what it rests on, in RFC 8785 canonical form."""
        return f"sha256-{hashlib.sha256(rfc8785.dumps(content(self))).hexdigest()}"


def content(proposal: CalibrationProposal) -> dict[str, Any]:
    """What a proposal's id is made of, as plain values: the same in every language."""
    return {
        "engine": proposal.versions.engine,
        "catalog_release": proposal.versions.catalog_release,
        "learned_from": proposal.learned_from,
        "boots": {boot.boot.id: _boot(boot) for boot in proposal.boots if boot.is_proposed},
        "readings": {
            f"{group.method}/{group.channel}": _axes(biases) for group, biases in sorted(proposal.biases.items())
        },
        "keeping": {side.value: _learned(kept, decimals=DECIMALS) for side, kept in proposal.keeping.items()},
    }


def _boot(boot: BootOffset) -> dict[str, Any]:
    evidence = boot.evidence
    return {
        "sizes": {offset.size.code: _axes(offset.offsets) for offset in boot.sizes},
        "outcomes": evidence.outcomes,
        "gain": round(evidence.gain, DECIMALS) + 0.0,
        "gain_error": round(evidence.error, DECIMALS) + 0.0,
    }


def _axes(learned: Mapping[Axis, Learned]) -> dict[str, list[float]]:
    return {axis.value: _learned(found, decimals=DECIMALS_MM) for axis, found in learned.items()}


def _learned(found: Learned, *, decimals: int) -> list[float]:
    return [round(number, decimals) + 0.0 for number in (found.value, found.low, found.high)]
