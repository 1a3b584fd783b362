"""Layout: every boot model's closeness and acceptance on one lattice of millimetres, to compare them all at once.

M(W, L) and max a_i(W, L) of `ranking` are laid out once per table at every pair of POINTS_MM. For a hoof, E[M] and
E[max a_i] are then products of a sparse matrix with the hoof's chance per point, for all boot models together. Both are
within `ERROR` of the expectations on the hoof's own lattices, which a hoof too sharp for this one falls back to.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import Closeness, band_width, bands, compare_boots, on_lattice
from hooflast.fit.sizes import SizeTable

POINTS_MM: Final[Floats] = np.arange(20.0, 330.0)
"""From below the smallest hoof that is read to above the largest with the largest allowance."""

ERROR: Final = 0.01
"""Largest difference from the hoof's own lattices, for a hoof no sharper than SHARPEST_MM (tested).

Charts with both axes differ by less than half of that; kinks of a chart with one axis run along the points.
"""

SHARPEST_MM: Final = 1.2
"""A hoof known better than this, along one axis given the other, falls between the points."""

REACH_SD: Final = 4.5
NEGLIGIBLE: Final = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class Layout:
    """A table with the closeness and the largest acceptance of its M boot models, sparse matrices (M, P²)."""

    table: SizeTable
    closeness: csr_array
    accepted: csr_array

    def compare(self, estimate: Estimate, *, boots: NDArray[np.intp]) -> Closeness:
        """Compare the given boot models (indices into the table) on one hoof."""
        variances = np.diagonal(estimate.covariances, axis1=-2, axis2=-1)
        given_other = np.linalg.det(estimate.covariances)[:, None] / variances
        if np.min(given_other) < SHARPEST_MM**2:
            return compare_boots(estimate, self.table, boots=boots)
        chances = _chances(estimate).ravel()
        expected, some_fits = (np.minimum(1.0, (laid @ chances)[boots]) for laid in (self.closeness, self.accepted))
        return Closeness(bands=bands(expected, width=band_width(estimate)), expected=expected, some_fits=some_fits)


def lay_out_sizes(table: SizeTable) -> Layout:
    """The layout of a whole table."""
    laid = [_of_one(table, sizes=table.sizes_of(boot)) for boot in range(len(table.closures))]
    return Layout(
        table=table,
        closeness=_stack([(places, closeness) for places, closeness, _ in laid]),
        accepted=_stack([(places, accepted) for places, _, accepted in laid]),
    )


def _stack(rows: list[tuple[NDArray[np.intp], Floats]]) -> csr_array:
    places = np.concatenate([np.empty(0, dtype=np.intp), *(places for places, _ in rows)])
    values = np.concatenate([np.empty(0), *(values for _, values in rows)])
    ends = np.cumsum([0, *(len(places) for places, _ in rows)])
    return csr_array((values, places, ends), shape=(len(rows), len(POINTS_MM) ** 2))


def _of_one(table: SizeTable, *, sizes: range) -> tuple[NDArray[np.intp], Floats, Floats]:
    """Where on the lattice one boot model accepts at all, as flat places; its closeness and acceptance there."""
    rows = slice(sizes.start, sizes.stop)
    far = 6.0 * np.max(table.edge_sd_mm[rows], initial=0.0)
    inner = []
    for axis in (0, 1):
        edges = table.edges_mm[rows, axis]
        low, high = edges.min(initial=np.inf) - far, edges.max(initial=0.0) + far
        inner.append(np.flatnonzero((low <= POINTS_MM) & (high >= POINTS_MM)))
    closeness, accepted = on_lattice((POINTS_MM[inner[0]], POINTS_MM[inner[1]]), table, sizes=sizes)
    width, length = np.nonzero(accepted >= NEGLIGIBLE)
    places = inner[0][width] * len(POINTS_MM) + inner[1][length]
    return places, closeness[width, length], accepted[width, length]


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
