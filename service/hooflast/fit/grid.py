"""Grid: a hoof's distribution on a width–length lattice, for expectations of a maximum over sizes.

"None of these sizes fits" is neither a product nor one minus a sum: the sizes share one hoof. On the lattice each size
is a product of one curve over width and one over length, so a boot model's best is a maximum of outer products.
"""

from dataclasses import dataclass
from math import sqrt
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats

REACH_SD: Final = 5.0
"""How far the lattice goes from each part's mean, in standard deviations; beyond lies less than 1e-6."""

STEPS_PER_SD: Final = 1.25
"""Lattice points per standard deviation of the narrowest part [C]; the tests hold it to 1e-4 of quadrature."""

MOST_POINTS: Final = 121
LEAST_POINTS: Final = 9

NEGLIGIBLE: Final = 1e-4
"""Parts of the mixture below this weight are left off the lattice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Grid:
    """Points along width (G,) and length (H,), mm, and the chance of each pair (G, H), adding up to one."""

    widths_mm: Floats
    lengths_mm: Floats
    mass: Floats


def hoof_grid(estimate: Estimate) -> Grid:
    """The lattice of one hoof: points by the trapezoidal rule, mass from the mixture's density."""
    heavy = estimate.weights >= NEGLIGIBLE
    weights, means, covariances = estimate.weights[heavy], estimate.means[heavy], estimate.covariances[heavy]
    points = [_points(means[:, axis], covariances, axis=axis) for axis in (0, 1)]
    apart = np.stack(np.meshgrid(*points, indexing="ij"), axis=-1)[..., None, :] - means
    precision = np.linalg.inv(covariances)
    distance = np.einsum("ghki,kij,ghkj->ghk", apart, precision, apart)
    mass = np.exp(-0.5 * distance) @ (weights * np.sqrt(np.linalg.det(precision)))
    return Grid(widths_mm=points[0], lengths_mm=points[1], mass=mass / mass.sum())


def steps_on(points_mm: Floats, *, edges_mm: Floats, edge_sd_mm: Floats) -> Floats:
    """Chance of passing each edge at each point: points (G,), edges (N, J), result (N, G, J)."""
    return ndtr((points_mm[None, :, None] - edges_mm[:, None, :]) / edge_sd_mm[:, None, :])


def _points(means: Floats, covariances: Floats, *, axis: int) -> Floats:
    sd = np.sqrt(covariances[:, axis, axis])
    determinant = np.linalg.det(covariances)
    narrowest = sqrt(float(np.min(determinant / covariances[:, 1 - axis, 1 - axis])))
    low, high = float(np.min(means - REACH_SD * sd)), float(np.max(means + REACH_SD * sd))
    wanted = int((high - low) * STEPS_PER_SD / narrowest) + 1
    return np.linspace(low, high, min(MOST_POINTS, max(LEAST_POINTS, wanted)))
