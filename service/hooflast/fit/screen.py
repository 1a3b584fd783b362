"""Screen: how close each boot model comes to a hoof, roughly and at once, to know which are worth comparing exactly.

Each boot model's closeness M(W, L) is laid out once per table on a lattice of one millimetre. For a hoof, E[M] is then
one product of a sparse matrix and the hoof's chance per point. It is within `ERROR` of the exact expectation, so a boot
model whose screened value is that much too low needs no exact comparison.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import closeness_on
from hooflast.fit.sizes import SizeTable

POINTS_MM: Final[Floats] = np.arange(20.0, 330.0)
"""From below the smallest hoof that is read to above the largest with the largest allowance."""

ERROR: Final = 0.005
"""Largest difference from the exact expectation, for a hoof no sharper than SHARPEST_MM (tested)."""

SHARPEST_MM: Final = 0.9
"""A hoof known better than this, along one axis given the other, falls between the points and is not screened."""

REACH_SD: Final = 4.5
NEGLIGIBLE: Final = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Screen:
    """Closeness of M boot models at every pair of POINTS_MM: a sparse matrix (M, P²)."""

    points: csr_array

    def closeness(self, estimate: Estimate) -> Floats | None:
        """E[M] within ERROR for each boot model, shape (M,); None for a hoof too sharp to be screened."""
        variances = np.diagonal(estimate.covariances, axis1=-2, axis2=-1)
        given_other = np.linalg.det(estimate.covariances)[:, None] / variances
        if np.min(given_other) < SHARPEST_MM**2:
            return None
        screened: Floats = self.points @ _chances(estimate).ravel()
        return screened


def screen_of(table: SizeTable) -> Screen:
    """The layout of a whole table."""
    kept = [_worth_keeping(table, sizes=table.sizes_of(boot)) for boot in range(len(table.closures))]
    places = np.concatenate([np.empty(0, dtype=np.intp), *(places for places, _ in kept)])
    closeness = np.concatenate([np.empty(0), *(closeness for _, closeness in kept)])
    ends = np.cumsum([0, *(len(places) for places, _ in kept)])
    return Screen(points=csr_array((closeness, places, ends), shape=(len(kept), len(POINTS_MM) ** 2)))


def _worth_keeping(table: SizeTable, *, sizes: range) -> tuple[NDArray[np.intp], Floats]:
    """Where on the lattice one boot model is close at all, as flat places, and how close."""
    rows = slice(sizes.start, sizes.stop)
    far = 6.0 * np.max(table.near_sd_mm[rows], initial=0.0)
    inner = []
    for axis in (0, 1):
        low, high = (
            table.edges_mm[rows, axis].min(initial=np.inf) - far,
            table.edges_mm[rows, axis].max(initial=0.0) + far,
        )
        inner.append(np.flatnonzero((low <= POINTS_MM) & (high >= POINTS_MM)))
    closeness = closeness_on((POINTS_MM[inner[0]], POINTS_MM[inner[1]]), table, sizes=sizes)
    width, length = np.nonzero(closeness >= NEGLIGIBLE)
    return inner[0][width] * len(POINTS_MM) + inner[1][length], closeness[width, length]


def _chances(estimate: Estimate) -> Floats:
    """The hoof's chance at each pair of points (P, P), from its density; they add up to one."""
    precision = np.linalg.inv(estimate.covariances)
    heights = estimate.weights * np.sqrt(np.linalg.det(precision))
    density = np.zeros((len(POINTS_MM), len(POINTS_MM)))
    for part, height in enumerate(heights):
        spread = np.sqrt(np.diagonal(estimate.covariances[part]))
        near = [np.abs(POINTS_MM - estimate.means[part, axis]) <= REACH_SD * spread[axis] for axis in (0, 1)]
        width, length = (POINTS_MM[near[axis]] - estimate.means[part, axis] for axis in (0, 1))
        (aa, ab), (_, bb) = precision[part]
        exponent = aa * width[:, None] ** 2 + 2.0 * ab * width[:, None] * length + bb * length**2
        density[np.ix_(near[0], near[1])] += height * np.exp(-0.5 * exponent)
    chances: Floats = density / density.sum()
    return chances
