"""Layout: every boot model's closeness and acceptance on one lattice of millimetres, to compare them all at once.

M(W, L) and max a_i(W, L) of `ranking` are laid out once per table at every pair of POINTS_MM. For a hoof, E[M] and
E[max a_i] are then the hoof's chance per point times a sparse matrix, for all boot models together, and only points
near the hoof are looked at: the time grows with the sizes in reach. Both are within `ERROR` of the expectations on the
hoof's own lattices, which a hoof too sharp for this one falls back to.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import coo_array, csr_array

from hooflast.fit.estimate import Estimate
from hooflast.fit.grid import Grid
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import Closeness, band_width, compare_boots, on_lattice
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
    """A table, and what its M boot models are worth at each pair of points.

    worth: sparse, (P², M₁), (P², M₂) …: width by width and within one width length by length; per boot model its
    closeness as the real part and its largest acceptance as the imaginary one, so that both share a place
    columns (M,): in which column each boot model stands, counted through all of `worth`
    """

    table: SizeTable
    worth: tuple[csr_array, ...]
    columns: NDArray[np.intp]

    @property
    def nbytes(self) -> int:
        """Bytes that the matrices take in memory."""
        return sum(int(part.data.nbytes + part.indices.nbytes + part.indptr.nbytes) for part in self.worth)

    def only(self, kept: NDArray[np.bool_]) -> "Layout":
        """The layout of some of the table's sizes (N,): boot models that lose one are laid out anew, the others not."""
        table = self.table.only(kept)
        changed = np.flatnonzero(np.diff(table.first) < np.diff(self.table.first))
        columns = self.columns.copy()
        columns[changed] = sum(part.shape[1] for part in self.worth) + np.arange(len(changed))
        return Layout(table=table, worth=(*self.worth, _lay_out(table, boots=changed)), columns=columns)

    def compare(self, estimate: Estimate, *, boots: NDArray[np.intp]) -> Closeness:
        """Compare the given boot models (indices into the table) on one hoof."""
        variances = np.diagonal(estimate.covariances, axis1=-2, axis2=-1)
        given_other = np.linalg.det(estimate.covariances)[:, None] / variances
        if np.min(given_other) < SHARPEST_MM**2:
            return compare_boots(estimate, self.table, boots=boots)
        grid = _grid(estimate)
        expected = np.minimum(1.0, self._expected(grid)[boots])
        return Closeness(
            expected=expected[:, 0], some_fits=expected[:, 1], band_width=band_width((grid,), mean_mm=estimate.mean)
        )

    def _expected(self, grid: Grid) -> Floats:
        """E[M] and E[max a_i] of every boot model, (M, 2), from the points at the hoof's widths."""
        first, beside = (int(points[0] - POINTS_MM[0]) for points in (grid.widths_mm, grid.lengths_mm))
        rows = slice(first * len(POINTS_MM), (first + len(grid.widths_mm)) * len(POINTS_MM))
        chances = np.zeros((len(grid.widths_mm), len(POINTS_MM)))
        chances[:, beside : beside + len(grid.lengths_mm)] = grid.mass
        expected = np.concatenate([chances.ravel() @ _rows(part, rows) for part in self.worth])
        both: Floats = expected[self.columns].view(np.float64)
        return both.reshape(-1, 2)


def lay_out_sizes(table: SizeTable) -> Layout:
    """The layout of a whole table."""
    boots = np.arange(len(table.closures))
    return Layout(table=table, worth=(_lay_out(table, boots=boots),), columns=boots)


def _lay_out(table: SizeTable, *, boots: NDArray[np.intp]) -> csr_array:
    """What the given boot models (indices into the table) are worth, in that order."""
    return _one_by_one(table, boots=boots).tocsr()


def _one_by_one(table: SizeTable, *, boots: NDArray[np.intp]) -> coo_array:
    laid = [_of_one(table, sizes=table.sizes_of(int(boot))) for boot in boots]
    columns = np.repeat(np.arange(len(laid), dtype=np.int32), [len(places) for places, _ in laid])
    places = np.concatenate([np.empty(0, dtype=np.int32), *(places for places, _ in laid)])
    worth = np.concatenate([np.empty(0, dtype=np.complex128), *(worth for _, worth in laid)])
    return coo_array((worth, (places, columns)), shape=(len(POINTS_MM) ** 2, len(laid)))


def _rows(matrix: csr_array, rows: slice) -> csr_array:
    """Some rows of a sparse matrix, without a copy."""
    starts = matrix.indptr[rows.start : rows.stop + 1]
    there = slice(starts[0], starts[-1])
    shape = (rows.stop - rows.start, matrix.shape[1])
    return csr_array((matrix.data[there], matrix.indices[there], starts - starts[0]), shape=shape)


def _of_one(table: SizeTable, *, sizes: range) -> tuple[NDArray[np.int32], NDArray[np.complex128]]:
    """Where on the lattice one boot model accepts at all, as flat places (n,), and how well there (n,)."""
    rows = slice(sizes.start, sizes.stop)
    far = 6.0 * np.max(table.edge_sd_mm[rows])
    inner = []
    for axis in (0, 1):
        edges = table.edges_mm[rows, axis]
        low, high = edges.min() - far, edges.max() + far
        inner.append(np.flatnonzero((low <= POINTS_MM) & (high >= POINTS_MM)))
    closeness, accepted = on_lattice((POINTS_MM[inner[0]], POINTS_MM[inner[1]]), table, sizes=sizes)
    width, length = np.nonzero(accepted >= NEGLIGIBLE)
    places = inner[0][width] * len(POINTS_MM) + inner[1][length]
    return places.astype(np.int32), closeness[width, length] + 1j * accepted[width, length]


def _grid(estimate: Estimate) -> Grid:
    """The points near the hoof, with its chance at each pair of them, from its density; they add up to one."""
    precision = np.linalg.inv(estimate.covariances)
    heights = estimate.weights * np.sqrt(np.linalg.det(precision))
    reach = REACH_SD * np.sqrt(np.diagonal(estimate.covariances, axis1=-2, axis2=-1))
    ends = np.array([estimate.means - reach, estimate.means + reach])
    first, last = np.searchsorted(POINTS_MM, ends[0]), np.searchsorted(POINTS_MM, ends[1], side="right")
    origin, end = first.min(axis=0), last.max(axis=0)
    density = np.zeros(end - origin)
    for part, height in enumerate(heights):
        near = [slice(first[part, axis], last[part, axis]) for axis in (0, 1)]
        width, length = (POINTS_MM[near[axis]] - estimate.means[part, axis] for axis in (0, 1))
        (aa, ab), (_, bb) = precision[part]
        exponent = aa * width[:, None] ** 2 + 2.0 * ab * width[:, None] * length + bb * length**2
        place = tuple(slice(near[axis].start - origin[axis], near[axis].stop - origin[axis]) for axis in (0, 1))
        density[place] += height * np.exp(-0.5 * exponent)
    return Grid(
        widths_mm=POINTS_MM[origin[0] : end[0]], lengths_mm=POINTS_MM[origin[1] : end[1]], mass=density / density.sum()
    )
