"""Bulk: the best size of every boot model, and its fit chance, for very many hooves that were read in one way.

For hooves of one kind, read in one way, fit chance and expected worth of a size are functions of the reading (W, L)
alone, and smooth ones: nothing in them is sharper than the spread of reading and boots. So the plane of readings is cut
into cells of CELL_MM, and in each cell that holds a hoof the engine itself is asked at NODES × NODES Chebyshev points.
Between them the polynomial through these points stands for it: with x the reading in the cell, −1 to 1 on each axis,

    f(x_W, x_L) = Σ_a Σ_b c_ab T_a(x_W) T_b(x_L),

a matrix product for all hooves of a cell and all sizes in reach. Fit chances are within ERROR of `chances`, and the
best size is one whose worth is within ERROR of the largest.

References: L. N. Trefethen, Approximation Theory and Approximation Practice (SIAM, 2013), chapters 3-8 [M].
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.polynomial.chebyshev import chebpts1, chebvander
from numpy.typing import NDArray

from hooflast.fit.chances import ACCEPTED, preference, step_chances
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import SizeTable

Singles = NDArray[np.float32]

CELL_MM: Final = 3.0
NODES: Final = 6

ERROR: Final = 2e-3
"""Largest difference from the closed form, where boots of one size differ by MAKE_SD_MM or more (tested)."""

NODES_WITHIN: Final = 1e-4
"""Difference from the closed form at the nodes."""

IN_REACH: Final = 1e-3
"""A size that is accepted less often than this along width or length alone, at the corners of a cell and in its middle,
is not looked at."""

SIZES_AT_ONCE: Final = 64
"""Sizes that the engine is asked about together, so that its arrays stay small."""

HOOVES_AT_ONCE: Final = 200_000
"""Hooves that are sorted into cells together: the larger, the more of them share a cell's overhead."""

BLOCK: Final = 4096
"""Hooves of one cell that are multiplied together."""

MOST_CELLS: Final = 1000
"""Cells that are remembered; when there are more, all are forgotten."""

NO_SIZE: Final = -1

Believed = Callable[[Floats], Estimate]
"""What is believed of hooves read as (D, 2), mm: their estimates, D in one."""

_OUTER: Final = [0, 3]
_PROBED_AT: Final[Floats] = np.array([[0.0, 0.0], [0.0, 1.0], [1.0, 0.0], [1.0, 1.0], [0.5, 0.5]])
_NODES_AT: Final[Floats] = chebpts1(NODES)
_FROM_NODES: Final[Floats] = np.kron(*[np.linalg.inv(chebvander(_NODES_AT, NODES - 1))] * 2)


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkMatch:
    """The best size of each of M boot models on H hooves.

    best (H, M): the size, an index into the table; NO_SIZE where none is in reach
    fit_chance (H, M): its fit chance; 0 where none is in reach
    """

    best: NDArray[np.int32]
    fit_chance: Singles


@dataclass(frozen=True, slots=True, kw_only=True)
class _Cell:
    """S sizes in reach of a cell, and the R boot models they belong to, with each one's first size among them.

    coefficients (NODES², 2S): c_ab of worth, then of fit chance
    """

    coefficients: Singles
    sizes: NDArray[np.intp]
    boots: NDArray[np.intp]
    first: NDArray[np.intp]


class BulkMatcher:
    """Matches hooves of one kind, read in one way, against a table; what it asked of the engine is remembered."""

    def __init__(self, table: SizeTable, *, believed: Believed) -> None:
        self._table = table
        self._believed = believed
        self._cells: dict[tuple[int, int], _Cell | None] = {}

    def match(self, read_mm: Floats) -> BulkMatch:
        """Match hooves read as `read_mm` (H, 2), width and length in mm; equal ones once. Memory grows with H · M."""
        order = np.lexsort((read_mm[:, 1], read_mm[:, 0]))
        is_new = np.ones(len(order), dtype=np.bool_)
        is_new[1:] = np.any(np.diff(read_mm[order], axis=0) != 0.0, axis=1)
        found = self._match_each(read_mm[order[is_new]])
        number = np.empty(len(order), dtype=np.intp)
        number[order] = np.cumsum(is_new) - 1
        return BulkMatch(best=found.best[number], fit_chance=found.fit_chance[number])

    def _match_each(self, read_mm: Floats) -> BulkMatch:
        shape = (len(read_mm), len(self._table.closures))
        best, fit_chance = np.full(shape, NO_SIZE, dtype=np.int32), np.zeros(shape, dtype=np.float32)
        place = np.floor(read_mm / CELL_MM)
        order = np.lexsort((place[:, 1], place[:, 0]))
        moves = np.flatnonzero(np.any(np.diff(place[order], axis=0) != 0, axis=1)) + 1
        for rows in np.split(order, moves) if len(order) else ():
            corner = (int(place[rows[0], 0]), int(place[rows[0], 1]))
            cell = self._cell(corner)
            if cell is None:
                continue
            for start in range(0, len(rows), BLOCK):
                block = rows[start : start + BLOCK]
                found = _in_cell(2.0 * (read_mm[block] / CELL_MM - corner) - 1.0, cell)
                there = np.ix_(block, cell.boots)
                best[there], fit_chance[there] = found
        return BulkMatch(best=best, fit_chance=fit_chance)

    def _cell(self, corner: tuple[int, int]) -> _Cell | None:
        if corner not in self._cells:
            if len(self._cells) >= MOST_CELLS:
                self._cells.clear()
            self._cells[corner] = _ask(corner, believed=self._believed, table=self._table)
        return self._cells[corner]


def match_in_bulk(
    read_mm: Floats, *, table: SizeTable, believed: Believed, at_once: int = HOOVES_AT_ONCE
) -> Iterator[BulkMatch]:
    """Match hooves in their order, `at_once` of them at a time, which bounds memory."""
    matcher = BulkMatcher(table, believed=believed)
    for start in range(0, len(read_mm), at_once):
        yield matcher.match(read_mm[start : start + at_once])


def _in_cell(inside: Floats, cell: _Cell) -> tuple[NDArray[np.intp], Singles]:
    """The best size of each boot model in reach and its fit chance, each (n, R); `inside` (n, 2) within [−1, 1]."""
    count = len(cell.sizes)
    width, length = (chebvander(inside[:, axis], NODES - 1).astype(np.float32) for axis in (0, 1))
    both = (width[:, :, None] * length[:, None, :]).reshape(len(inside), -1) @ cell.coefficients
    worth, fits = both[:, :count], both[:, count:]
    largest = np.maximum.reduceat(worth, cell.first, axis=1)
    is_best = worth >= np.repeat(largest, np.diff(cell.first, append=count), axis=1)
    numbered = np.where(is_best, np.arange(count), count)
    place = np.minimum.reduceat(numbered, cell.first, axis=1)
    return cell.sizes[place], np.clip(np.take_along_axis(fits, place, axis=1), 0.0, 1.0)


def _ask(corner: tuple[int, int], *, believed: Believed, table: SizeTable) -> _Cell | None:
    """Ask the engine at the nodes of a cell; None if no size is in its reach."""
    rows = np.flatnonzero(_in_reach(believed((corner + _PROBED_AT) * CELL_MM), table=table))
    if not len(rows):
        return None
    at = (corner + (_NODES_AT[:, None] + 1.0) / 2.0) * CELL_MM
    nodes = np.stack(np.meshgrid(at[:, 0], at[:, 1], indexing="ij"), axis=-1).reshape(-1, 2)
    estimate = believed(nodes)
    boot_of = table.boot_of[rows]
    boots, first, number = np.unique(boot_of, return_index=True, return_inverse=True)
    preferred = np.array([preference(table.closures[boot]) for boot in boots])[number]
    steps = np.stack([preferred, np.broadcast_to(ACCEPTED, preferred.shape)])
    values = [
        expected_worths(
            estimate,
            edges_mm=table.edges_mm[rows[part]],
            edge_sd_mm=table.edge_sd_mm[rows[part]],
            steps=steps[:, part],
            within=NODES_WITHIN,
        )
        for part in (slice(start, start + SIZES_AT_ONCE) for start in range(0, len(rows), SIZES_AT_ONCE))
    ]
    coefficients = _FROM_NODES @ np.concatenate(values, axis=-1).reshape(len(nodes), -1)
    return _Cell(coefficients=coefficients.astype(np.float32), sizes=rows, boots=boots, first=first)


def _in_reach(estimate: Estimate, *, table: SizeTable) -> NDArray[np.bool_]:
    """Which sizes are accepted often enough along both axes in any of several estimates, (N,)."""
    reached = np.zeros(len(table.edges_mm), dtype=np.bool_)
    for each in estimate.apart():
        past = step_chances(each, edges_mm=table.edges_mm[..., _OUTER], edge_sd_mm=table.edge_sd_mm[..., _OUTER])
        reached |= (past[..., 0] - past[..., 1]).min(axis=1) >= IN_REACH
    return reached
