"""Learned: what a posterior says of offsets, biases and keeping, with intervals, and how far outcomes told it.

How far is the share of prior variance that outcomes removed, 1 − Var(posterior) / Var(prior). "Too small" alone does
not say on which axis (Laplace's method then sees the nearer of two explanations), and a boot sold on one group's
readings alone cannot be told from those readings; both are said.

Sizes stay in order: a size's edges move by its offset, so sizes s and s + 1 of a boot model stay ordered on an axis if
δ_s − δ_s+1 is at most the least gap between their edges there. Offsets, and the ends of their intervals, are the
nearest ones for which this holds, weighted by their precision: an isotonic regression of δ_s plus the gaps below s.

References: R. E. Barlow, D. J. Bartholomew, J. M. Bremner, H. D. Brunk, Statistical Inference under Order Restrictions,
Wiley 1972 [S].
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from math import sqrt
from typing import Final

import numpy as np
from scipy.optimize import isotonic_regression
from scipy.special import expit, ndtri

from hooflast.fit.hoof import Axis
from hooflast.fit.learning import Posterior
from hooflast.fit.normal import Floats
from hooflast.fit.outcome import SIDES, ReadingGroup, Side
from hooflast.fit.sizes import AXES, SizeTable

WITHIN: Final = 0.95
"""Chance that an interval holds the truth, if the priors do."""

MOSTLY_TOLD: Final = 0.5
PARTLY_TOLD: Final = 0.1
"""Shares of prior variance removed from which something counts as told, and as partly told [C]."""

BOUND_TOGETHER: Final = 0.6
"""Correlation from which two axes count as one, unless every direction between them is mostly told [C]."""

TORN: Final = -0.05
"""Share below which outcomes leave two explanations, one on either axis, so that the nearer one is no answer [C]."""

HIDDEN_BY_READINGS: Final = 0.2
"""By how much the share would be larger were the readings' biases known, for them to count as what hides it [C]."""


class HowFar(StrEnum):
    """How far outcomes told something."""

    TOLD = "told"
    PARTLY = "partly"
    HARDLY = "hardly"


class Unclear(StrEnum):
    """What outcomes could not tell apart."""

    AXES = "axes"
    READINGS = "readings"


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """One thing that was learned: its value, the ends of its interval, the share of prior variance removed."""

    value: float
    low: float
    high: float
    share: float

    @property
    def how_far(self) -> HowFar:
        """How far outcomes told it."""
        if self.share >= MOSTLY_TOLD:
            return HowFar.TOLD
        return HowFar.PARTLY if self.share >= PARTLY_TOLD else HowFar.HARDLY


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedBoot:
    """A boot model's offsets, mm, on the axes its chart has: the mean over the sizes that were sold, and each size's.

    `boot` and the keys of `sizes` are indices into the table.
    """

    boot: int
    offsets: Mapping[Axis, Learned]
    sizes: Mapping[int, Mapping[Axis, Learned]]
    unclear: tuple[Unclear, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LearnedAll:
    """Everything that was learned. Biases are in mm; `keeping` are chances."""

    boots: tuple[LearnedBoot, ...]
    biases: Mapping[ReadingGroup, Mapping[Axis, Learned]]
    keeping: Mapping[Side, Learned]


def learned_all(posterior: Posterior, table: SizeTable) -> LearnedAll:
    """What the posterior says."""
    layout = posterior.design
    hidden = _with_biases_known(posterior)
    logits, deviation = posterior.keeping_logits, layout.keeping_load
    variances = np.diagonal(posterior.covariance)[layout.keeping_columns]
    reach = _reach() * deviation * np.sqrt(variances)
    return LearnedAll(
        boots=tuple(
            _boot(place, posterior=posterior, table=table, biases_known=hidden) for place in range(len(layout.boots))
        ),
        biases={group: _bias(place, posterior) for place, group in enumerate(layout.groups)},
        keeping={
            side: Learned(
                value=float(expit(logits[at])),
                low=float(expit(logits[at] - reach[at])),
                high=float(expit(logits[at] + reach[at])),
                share=max(0.0, float(1.0 - variances[at])),
            )
            for at, side in enumerate(SIDES)
        },
    )


def in_order(offsets: Floats, *, gaps: Floats, weights: Floats) -> Floats:
    """The offsets (S,) nearest to those given that leave sizes in order; `gaps` (S − 1,), mm, part their edges."""
    start = np.concatenate([[0.0], np.cumsum(gaps)])
    ordered: Floats = isotonic_regression(offsets + start, weights=weights).x - start
    return ordered


def size_gaps(edges_mm: Floats) -> Floats:
    """The least gap between the edges of neighbouring sizes on one axis, none below nothing; (S, 4) to (S − 1,), mm."""
    gaps: Floats = np.maximum(np.diff(edges_mm, axis=0).min(axis=1), 0.0)
    return gaps


def _boot(place: int, *, posterior: Posterior, table: SizeTable, biases_known: Floats) -> LearnedBoot:
    layout = posterior.design
    own = np.flatnonzero(layout.boot_of == place)
    rows, sizes = layout.offset_rows(own), layout.sizes[own]
    sold = (layout.sales.sizes[:, None] == sizes).sum(axis=0)
    middle = np.einsum("s,sap->ap", sold / sold.sum(), rows)
    offsets: dict[Axis, Learned] = {}
    by_size: dict[int, dict[Axis, Learned]] = {int(size): {} for size in sizes}
    for at, axis in enumerate(AXES):
        given = table.has_axis[sizes, at]
        if sold[given].any():
            offsets[axis] = _learned(middle[at], posterior)
        ordered = _ordered(rows[given, at], posterior, edges_mm=table.edges_mm[sizes[given], at])
        for size, found in zip(sizes[given], ordered, strict=True):
            by_size[int(size)][axis] = found
    return LearnedBoot(
        boot=int(layout.boots[place]),
        offsets=offsets,
        sizes=by_size,
        unclear=_unclear(middle, posterior, biases_known=biases_known),
    )


def _ordered(rows: Floats, posterior: Posterior, *, edges_mm: Floats) -> list[Learned]:
    """The offsets of one boot model's sizes on one axis, in order."""
    each = [_learned(row, posterior) for row in rows]
    if not each:
        return []
    weights = np.array([(one.high - one.low) ** -2.0 for one in each])
    gaps = size_gaps(edges_mm)
    values, lows, highs = (
        in_order(np.array(ends), gaps=gaps, weights=weights)
        for ends in zip(*((one.value, one.low, one.high) for one in each), strict=True)
    )
    return [
        Learned(value=float(value), low=float(low), high=float(high), share=one.share)
        for value, low, high, one in zip(values, lows, highs, each, strict=True)
    ]


def _learned(row: Floats, posterior: Posterior) -> Learned:
    """What a row over the standard normals comes to."""
    value, variance, prior = float(row @ posterior.mode), float(row @ posterior.covariance @ row), float(row @ row)
    reach = _reach() * sqrt(variance)
    return Learned(
        value=value,
        low=value - reach,
        high=value + reach,
        share=max(0.0, 1.0 - variance / prior) if prior > 0.0 else 0.0,
    )


def _bias(place: int, posterior: Posterior) -> dict[Axis, Learned]:
    layout = posterior.design
    rows = np.zeros((2, layout.count))
    rows[:, layout.group_columns[place]] = layout.group_loads[place]
    return {axis: _learned(rows[at], posterior) for at, axis in enumerate(AXES)}


def _unclear(rows: Floats, posterior: Posterior, *, biases_known: Floats) -> tuple[Unclear, ...]:
    """What is unclear of two offsets of one prior variance, given as rows (2, P)."""
    prior = float(rows[0] @ rows[0])
    shares = rows @ posterior.covariance @ rows.T / prior
    if_known = rows @ biases_known @ rows.T / prior
    together = abs(shares[0, 1]) >= BOUND_TOGETHER * sqrt(shares[0, 0] * shares[1, 1])
    worst_told = 1.0 - float(np.linalg.eigvalsh(shares)[-1])
    found = []
    if worst_told < (MOSTLY_TOLD if together else TORN):
        found.append(Unclear.AXES)
    if np.max(np.diagonal(shares - if_known)) >= HIDDEN_BY_READINGS:
        found.append(Unclear.READINGS)
    return tuple(found)


def _with_biases_known(posterior: Posterior) -> Floats:
    """The covariance (P, P) that would be left if the readings' biases were known."""
    others = np.setdiff1d(np.arange(posterior.design.count), posterior.design.group_columns)
    known = np.zeros_like(posterior.covariance)
    known[np.ix_(others, others)] = np.linalg.inv(posterior.precision[np.ix_(others, others)])
    return known


def _reach() -> float:
    return float(ndtri(0.5 + WITHIN / 2.0))
