"""History: a horse's own rates and trims, learned from dated readings that say whether a trim came after or before.

One linear normal model for all readings of a hoof. With h the hoof at the first reading, reading i at t_i weeks from
it and after k_i trims is

    y_i = h + t_i·r + k_i·s + Σ_{j ≤ k_i} ε_j + e_i,

r the net rates, s the mean trim, ε_j what one trim differs from it by, e_i the reading's error. Readings by one person
with one method share the method's bias, so e_i and e_k are correlated (`uncertainty.shared_error`). The prior is normal
too: h as the population, (r, s) as `growth.usual_changes` has them. The posterior of (r, s) is then a normal:

    mean m + C·Aᵀ·S⁻¹·(y − A·m),  covariance C − C·Aᵀ·S⁻¹·A·C,  S = A·C·Aᵀ + V

(Lindley & Smith, Bayes estimates for the linear model, J R Stat Soc B 1972;34:1-41) [S], which shrinks what was seen
towards what is usual by as much as the readings leave open. Growth, angles and wear apart are not identified from
width and length: only their net rates and steps are.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import combinations, pairwise
from typing import Final

import numpy as np

from hooflast.fit.growth import Changes
from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.uncertainty import reading_error, shared_error

ENOUGH: Final = 3
"""Readings from which a horse's own rates and trims are told; fewer change nothing [C]."""

SAME_TIME_WEEKS: Final = 1.0
"""Two readings on one side of a trim and nearer than this are taken as repeats, with no trim between them [C]."""

SURE: Final = 1.6448536269514722
"""Standard deviations on either side of the mean that hold 90 % of a normal."""


class Beside(StrEnum):
    """On which side of a trim a reading was taken."""

    BEFORE_TRIM = "before_trim"
    AFTER_TRIM = "after_trim"


@dataclass(frozen=True, slots=True, kw_only=True)
class PastReading:
    """A reading of the past: how many weeks ago, and on which side of a trim."""

    reading: HoofReading
    weeks_ago: float
    beside: Beside


@dataclass(frozen=True, slots=True, kw_only=True)
class Learned:
    """What is believed of a hoof's changes, and from how many of its own readings (0: from what is usual alone)."""

    changes: Changes
    readings: int

    @property
    def deviations(self) -> Floats:
        """Standard deviations (4,) of the rates and of the mean trim."""
        deviations: Floats = np.sqrt(np.diagonal(self.changes.covariance))
        return deviations

    @property
    def interval(self) -> Floats:
        """Where each of the four lies with 90 % chance, shape (4, 2)."""
        reach = SURE * self.deviations
        return np.stack([self.changes.mean - reach, self.changes.mean + reach], axis=1)


def learn(history: Sequence[PastReading], *, usual: Changes, cycle_weeks: float, animal_type: AnimalType) -> Learned:
    """The hoof's changes given its past readings, in any order; with fewer than ENOUGH, what is usual."""
    if len(history) < ENOUGH:
        return Learned(changes=usual, readings=0)
    ordered = in_order(history)
    trims = trims_before(ordered, cycle_weeks=cycle_weeks)
    kind = population(animal_type, limb=ordered[0].reading.limb)
    mean = np.concatenate([kind.mean, usual.mean])
    prior = np.zeros((6, 6))
    prior[:2, :2], prior[2:, 2:] = kind.covariance, usual.covariance
    design = _design(ordered, trims=trims)
    noise = _noise(ordered, trims=trims, trim_covariance=usual.trim_covariance)
    read = np.array([[each.reading.width.mean_mm, each.reading.length.mean_mm] for each in ordered]).ravel()
    gain = np.linalg.solve(design @ prior @ design.T + noise, design @ prior).T
    posterior = prior - gain @ design @ prior
    found = mean + gain @ (read - design @ mean)
    changes = replace(usual, mean=found[2:], covariance=(posterior[2:, 2:] + posterior[2:, 2:].T) / 2.0)
    return Learned(changes=changes, readings=len(ordered))


def in_order(history: Sequence[PastReading]) -> tuple[PastReading, ...]:
    """Oldest first; at one time, before the trim comes first."""
    return tuple(sorted(history, key=lambda past: (-past.weeks_ago, past.beside is Beside.AFTER_TRIM)))


def trims_before(ordered: Sequence[PastReading], *, cycle_weeks: float) -> tuple[int, ...]:
    """How many trims lie between the first reading and each, one number per reading.

    Between two readings the hoof grew for n = round(weeks / cycle) stretches. From after a trim to before one, n − 1
    trims lie between, at least none; from before to after n + 1; on the same side n, at least one unless the two are
    repeats.
    """
    counts = [0]
    for one, other in pairwise(ordered):
        weeks = one.weeks_ago - other.weeks_ago
        stretches = round(weeks / cycle_weeks)
        if one.beside is other.beside:
            between = 0 if weeks < SAME_TIME_WEEKS else max(1, stretches)
        elif one.beside is Beside.AFTER_TRIM:
            between = max(0, stretches - 1)
        else:
            between = stretches + 1
        counts.append(counts[-1] + between)
    return tuple(counts)


def _design(ordered: Sequence[PastReading], *, trims: Sequence[int]) -> Floats:
    """The matrix A (2n, 6) that takes (h, r, s) to what is expected of the readings."""
    first = ordered[0].weeks_ago
    rows = [
        np.kron([1.0, first - past.weeks_ago, count], np.eye(2)) for past, count in zip(ordered, trims, strict=True)
    ]
    return np.concatenate(rows)


def _noise(ordered: Sequence[PastReading], *, trims: Sequence[int], trim_covariance: Floats) -> Floats:
    """The covariance V (2n, 2n) of readings around what is expected: their errors, and the trims they share.

    A gross error counts by what it adds to the reading's variance.
    """
    count = len(ordered)
    blocks = np.zeros((count, count, 2, 2))
    for place, past in enumerate(ordered):
        error = reading_error(replace(past.reading, age_weeks=0.0))
        blocks[place, place] = np.einsum("k,kij->ij", error.chances, error.covariances)
        blocks[place, place] += trims[place] * trim_covariance
    for one, other in combinations(range(count), 2):
        shared = shared_error(ordered[one].reading, ordered[other].reading)
        blocks[one, other] = blocks[other, one] = shared + min(trims[one], trims[other]) * trim_covariance
    return blocks.swapaxes(1, 2).reshape(2 * count, 2 * count)
