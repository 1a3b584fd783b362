"""Grid: a hoof's distribution on width–length lattices, for expectations of a maximum over sizes.

"None of these sizes fits" is neither a product nor one minus a sum: the sizes share one hoof. On a lattice each size is
a product of one curve over width and one over length, so a boot model's best is a maximum of outer products.
"""

from dataclasses import dataclass
from math import ceil, sqrt
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats

REACH_SD: Final = 4.5
"""How far a lattice goes from its part's mean, in standard deviations; beyond lies less than 1e-5 along either axis."""

SPACING: Final = 0.3
"""Spacing of a part's lattice in √mm: SPACING · √(σ / weight) for a part of standard deviation σ [C].

A maximum has a kink where one size hands over to the next. The trapezoidal rule errs there by h²/12 times the density,
which goes as weight / σ, so the parts err alike. Expectations of a maximum are within 1e-3; within 5e-3 for a chart of
one axis, whose kinks all lie in line with the lattice.
"""

LEAST_STEPS_PER_SD: Final = 2.0
"""Lattice points for each standard deviation of one axis given the other, at least: what the normal density needs."""

MOST_POINTS: Final = 201
"""Points along one axis, at most; only a hoof all but known along a slanting line would ask for more."""

NEGLIGIBLE: Final = 1e-4
"""Parts of the mixture below this weight are left out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Points along width (G,) and length (H,), mm, and the chance of each pair (G, H)."""

    widths_mm: Floats
    lengths_mm: Floats
    mass: Floats


def hoof_grids(estimate: Estimate) -> tuple[Grid, ...]:
    """A lattice for each part of the mixture that counts; their masses together add up to one."""
    heavy = estimate.weights >= NEGLIGIBLE
    weights = estimate.weights[heavy] / estimate.weights[heavy].sum()
    parts = zip(weights, estimate.means[heavy], estimate.covariances[heavy], strict=True)
    return tuple(_lattice(mean, covariance, weight=float(weight)) for weight, mean, covariance in parts)


def steps_on(points_mm: Floats, *, edges_mm: Floats, edge_sd_mm: Floats) -> Floats:
    """Chance of passing each edge at each point: points (G,) evenly spaced, edges (N, J), result (N, G, J).

    A step sharper than the lattice is taken as its mean over one spacing, of standard deviation spacing / √12, lest it
    fall anywhere between two points.
    """
    spacing = float(np.ptp(points_mm)) / max(1, len(points_mm) - 1)
    softened = np.maximum(edge_sd_mm, spacing / sqrt(12.0))
    return ndtr((points_mm[None, :, None] - edges_mm[:, None, :]) / softened[:, None, :])


def _lattice(mean: Floats, covariance: Floats, *, weight: float) -> Grid:
    """Points by the trapezoidal rule, mass from the part's density."""
    widths, lengths = (_points(mean, covariance, axis=axis, weight=weight) for axis in (0, 1))
    apart = np.stack(np.meshgrid(widths, lengths, indexing="ij"), axis=-1) - mean
    mass = np.exp(-0.5 * np.einsum("ghi,ij,ghj->gh", apart, np.linalg.inv(covariance), apart))
    return Grid(widths_mm=widths, lengths_mm=lengths, mass=weight * mass / mass.sum())


def _points(mean: Floats, covariance: Floats, *, axis: int, weight: float) -> Floats:
    sd = sqrt(covariance[axis, axis])
    sd_given_other = sqrt(np.linalg.det(covariance) / covariance[1 - axis, 1 - axis])
    spacing = min(SPACING * sqrt(sd / weight), sd_given_other / LEAST_STEPS_PER_SD)
    count = min(MOST_POINTS, ceil(2.0 * REACH_SD * sd / spacing) + 1)
    return np.linspace(mean[axis] - REACH_SD * sd, mean[axis] + REACH_SD * sd, count)
