"""Cycle: one hoof at the moments of its trim cycle, and whether a size holds at all of them.

With the hoof X as it was measured τ weeks after a trim, net rates r a week, a next trim u and T weeks between trims,

    X                             as measured,
    F = X + (T − τ)·r + u         just after the next trim,
    H(t) = F + t·r                t weeks later, and H(T) at the end of the cycle.

(r, u) is normal and X a mixture of normals, independent of each other, so the hoof at any one moment is a mixture, and
the chance of one size at one moment is the closed form of `chances`. All moments share one X, r and u.

A boot is one boot, too: worn at several moments it keeps its edges. The step at an edge is a threshold E = e + s·Z of
that boot, with one Z for the axis; it is passed at all moments when the smallest dimension passes the loose edge and
the largest does not pass the tight one:

    a(all moments) = Φ((min x − e_loose)/s_loose) − Φ((max x − e_tight)/s_tight), never below 0.

With one moment this is the link of `sizes`. Given (r, u) every moment is X moved by a known amount, so the expectation
over X is the closed form with the edges moved; that over (r, u) is a mean over a fixed lattice of their normal.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from functools import cache
from typing import Final

import numpy as np
from scipy.special import ndtri
from scipy.stats.qmc import Sobol

from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.estimate import Estimate
from hooflast.fit.growth import Changes
from hooflast.fit.normal import Floats, bivariate_normal_cdf
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import SizeTable

LATTICE_BITS: Final = 10
"""The mean over (r, u) is taken at 2¹⁰ points: joint chances are within 0.01, as a rule within 0.001 (tested)."""

PHASES: Final = 5
"""Parts into which the cycle is cut where nobody told when in it the hoof was measured: the middle of each fifth."""

NEGLIGIBLE: Final = 1e-3
"""Parts of a hoof's mixture below this weight are left out of joint chances."""

CYCLES_AHEAD: Final = 2.0
"""How far beyond the next trim a turn is looked for, in cycles: what is missed once is missed by weeks [C]."""

STEPS: Final = 160
"""The turn of a size is looked for at so many weeks, evenly spaced over the cycles ahead, and interpolated."""

DIGITS: Final = 6
"""Chances of a turn within the cycle that are alike to so many digits leave it to the cycles ahead."""

EARLY_AND_LATE: Final = (0.1, 0.9)
"""Chances between which the week of a turn is told: four fifths lie inside [C]."""

_OUTER: Final = [0, 3]


class Moment(StrEnum):
    """The moments that are told, in order of time."""

    AS_MEASURED = "as_measured"
    AFTER_TRIM = "after_trim"
    END_OF_CYCLE = "end_of_cycle"


class TurnSide(StrEnum):
    """On which side a size turns."""

    TIGHT = "tight"
    LOOSE = "loose"


@dataclass(frozen=True, slots=True, kw_only=True)
class Cycle:
    """A hoof and its trim cycle. `since_trim` is the weeks from the last trim to the reading; None: any, equally."""

    estimate: Estimate
    weeks: float
    since_trim: float | None
    changes: Changes

    @property
    def phases(self) -> tuple[float, ...]:
        """The weeks since the trim that come into question, equally likely."""
        if self.since_trim is not None:
            return (self.since_trim,)
        return tuple(float(phase) for phase in self.weeks * (np.arange(PHASES) + 0.5) / PHASES)


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The week after a trim by which a size is as likely as not to have turned, and its early and late bounds.

    None: later than CYCLES_AHEAD cycles after it.
    """

    side: TurnSide
    week: float | None
    early_week: float
    late_week: float | None


def hoof_after(cycle: Cycle, *, weeks: float, trims: int = 1) -> Estimate:
    """The hoof so many weeks after the next trim, H(weeks), or after a later one: the k-th from now, one cycle apart.

    X + (k·T − τ + weeks)·r + k·s + Σ ε_j is a mixture with that mean and covariance, in closed form.
    """
    changes = cycle.changes
    parts = []
    for phase in cycle.phases:
        steps = np.hstack([(trims * cycle.weeks - phase + weeks) * np.eye(2), trims * np.eye(2)])
        covariance = steps @ changes.covariance @ steps.T + trims * changes.trim_covariance
        parts.append(cycle.estimate.changed(by_mm=steps @ changes.mean, covariance=covariance))
    return Estimate(
        weights=np.concatenate([part.weights for part in parts]) / len(parts),
        means=np.concatenate([part.means for part in parts]),
        covariances=np.concatenate([part.covariances for part in parts]),
    )


def hoof_at(cycle: Cycle, moment: Moment) -> Estimate:
    """The hoof at a moment."""
    if moment is Moment.AS_MEASURED:
        return cycle.estimate
    return hoof_after(cycle, weeks=0.0 if moment is Moment.AFTER_TRIM else cycle.weeks)


def chances_at(estimate: Estimate, table: SizeTable, *, sizes: Sequence[int]) -> Floats:
    """Chance that each size is accepted by a hoof, shape (n,)."""
    rows = np.array(sizes, dtype=np.intp)
    corners = corner_chances(
        estimate, edges_mm=table.edges_mm[rows][:, :, _OUTER], edge_sd_mm=table.edge_sd_mm[rows][:, :, _OUTER]
    )
    return expected_worth(corners, steps=ACCEPTED[_OUTER])


def joint_chances(cycle: Cycle, table: SizeTable, *, sizes: Sequence[int]) -> Floats:
    """Chance that each size is accepted at every moment, the weeks between trims included, shape (n,)."""
    moved = _Lattice.of(cycle)
    shifts = np.stack([np.zeros_like(moved.after_trim), moved.after_trim, moved.at(cycle.weeks)])
    smallest, largest = shifts.min(axis=0), shifts.max(axis=0)
    return np.array([_held(cycle.estimate, table, size=size, moved=(smallest, largest)) for size in sizes])


def held_chances(cycle: Cycle, table: SizeTable, *, size: int, weeks: Sequence[float]) -> Floats:
    """Chance that a size is accepted from the next trim on until each week, shape (w,): never rising.

    H(t) is a straight line, so its smallest and largest between the trim and a week stand at the two ends.
    """
    moved = _Lattice.of(cycle)
    held = []
    for week in weeks:
        both = np.stack([moved.after_trim, moved.at(week)])
        held.append(_held(cycle.estimate, table, size=size, moved=(both.min(axis=0), both.max(axis=0))))
    return np.minimum.accumulate(np.array(held))


def turned_chances(cycle: Cycle, table: SizeTable, *, size: int, axis: int, side: TurnSide, weeks: Floats) -> Floats:
    """Chance that a size has turned tight (or loose) on an axis by each week after the next trim, shape (w,).

    It has turned by t if H(0) or H(t) is past the edge E of this boot, since H is a straight line:
    1 − P(H(0) ≤ E, H(t) ≤ E), in closed form. Zero along an axis the chart leaves out.
    """
    column, sign = (3, 1.0) if side is TurnSide.TIGHT else (0, -1.0)
    edge, sd = table.edges_mm[size, axis, column], table.edge_sd_mm[size, axis, column]
    if not np.isfinite(edge):
        return np.zeros(len(weeks))
    trimmed = hoof_after(cycle, weeks=0.0)
    with_rate = _covariance_with_rate(cycle, axis=axis)
    rate, rate_variance = cycle.changes.mean[axis], cycle.changes.covariance[axis, axis]
    mean, variance = trimmed.means[:, axis, None], trimmed.covariances[:, axis, axis, None] + sd**2
    shared = variance + weeks * with_rate[:, None]
    later = variance + 2.0 * weeks * with_rate[:, None] + weeks**2 * rate_variance
    kept = bivariate_normal_cdf(
        sign * (edge - mean) / np.sqrt(variance),
        sign * (edge - mean - weeks * rate) / np.sqrt(later),
        correlation=np.clip(shared / np.sqrt(variance * later), -1.0, 1.0),
    )
    turned: Floats = np.clip(1.0 - trimmed.weights @ kept, 0.0, 1.0)
    return np.maximum.accumulate(turned)


def turn(cycle: Cycle, table: SizeTable, *, size: int, axis: int) -> Turn | None:
    """When a size turns on an axis, on the side it is likelier to within the cycle; None where it hardly ever does."""
    weeks = np.linspace(0.0, CYCLES_AHEAD * cycle.weeks, STEPS + 1)
    curves = {side: turned_chances(cycle, table, size=size, axis=axis, side=side, weeks=weeks) for side in TurnSide}
    at_the_end = int(STEPS / CYCLES_AHEAD)
    side = max(TurnSide, key=lambda one: (round(float(curves[one][at_the_end]), DIGITS), curves[one][-1]))
    early, late = EARLY_AND_LATE
    week, early_week, late_week = (_reaches(curves[side], chance, weeks=weeks) for chance in (0.5, early, late))
    if early_week is None:
        return None
    return Turn(side=side, week=week, early_week=early_week, late_week=late_week)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lattice:
    """How far F is from X (P, 2), and the rates (P, 2), mm and mm a week, at equally likely points of (r, u, τ)."""

    after_trim: Floats
    rates: Floats

    @classmethod
    def of(cls, cycle: Cycle) -> "_Lattice":
        mean, covariance = cycle.changes.next_trim
        points = _normal_points()
        drawn = mean + points @ _root(covariance).T
        phases = np.array(cycle.phases)
        since_trim = phases[np.arange(len(points)) % len(phases)]
        rates = drawn[:, :2]
        return cls(after_trim=(cycle.weeks - since_trim)[:, None] * rates + drawn[:, 2:], rates=rates)

    def at(self, weeks: float) -> Floats:
        """How far H(weeks) is from X at each point, shape (P, 2)."""
        shift: Floats = self.after_trim + weeks * self.rates
        return shift


@cache
def _normal_points() -> Floats:
    """Points of a standard normal in four dimensions, shape (2¹⁰, 4), the same ones always.

    The middles of the cells of Sobol's sequence, by Joe & Kuo's direction numbers (SIAM J Sci Comput 2008;30:2635) [S].
    """
    count = 2**LATTICE_BITS
    points: Floats = ndtri(Sobol(4, scramble=False).random_base2(LATTICE_BITS) + 0.5 / count)
    return points


def _held(estimate: Estimate, table: SizeTable, *, size: int, moved: tuple[Floats, Floats]) -> float:
    """E over points (P, 2) of a size's acceptance of X + smallest at the loose edge and of X + largest at the tight."""
    loose, tight = table.edges_mm[size][:, _OUTER].T
    edges = np.stack([loose - moved[0], tight - moved[1]], axis=-1)
    deviations = np.broadcast_to(table.edge_sd_mm[size][:, _OUTER], edges.shape)
    steps = np.broadcast_to(ACCEPTED[_OUTER], (1, len(edges), 2))
    (accepted,) = expected_worths(_heavy(estimate), edges_mm=edges, edge_sd_mm=deviations, steps=steps)
    has_room = np.all(edges[:, :, 0] < edges[:, :, 1], axis=1)
    return float(np.mean(np.where(has_room, accepted, 0.0)))


def _heavy(estimate: Estimate) -> Estimate:
    heavy = estimate.weights >= NEGLIGIBLE
    return Estimate(
        weights=estimate.weights[heavy] / estimate.weights[heavy].sum(),
        means=estimate.means[heavy],
        covariances=estimate.covariances[heavy],
    )


def _covariance_with_rate(cycle: Cycle, *, axis: int) -> Floats:
    """Covariance of F and r on an axis for each part of `hoof_after`, shape (K·phases,)."""
    covariance = cycle.changes.covariance
    each = [(cycle.weeks - phase) * covariance[axis, axis] + covariance[axis, axis + 2] for phase in cycle.phases]
    return np.repeat(each, len(cycle.estimate.weights))


def _root(covariance: Floats) -> Floats:
    """A matrix A with A·Aᵀ = covariance, also where that is singular."""
    variances, directions = np.linalg.eigh(covariance)
    root: Floats = directions * np.sqrt(np.maximum(variances, 0.0))
    return root


def _reaches(curve: Floats, chance: float, *, weeks: Floats) -> float | None:
    """The first week at which a rising curve has a chance; None if it never does."""
    at = int(np.searchsorted(curve, chance))
    if at == len(curve):
        return None
    if at == 0:
        return 0.0
    return float(np.interp(chance, curve[at - 1 : at + 1], weeks[at - 1 : at + 1]))
