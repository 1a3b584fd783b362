"""Ranking: which boot models follow a hoof most closely, in bands that its uncertainty cannot tell apart.

A boot model's closeness to a hoof (W, L) is

    M(W, L) = min(1, Σ_i a_i(W, L)) · max_i n_i(W, L),

a_i being size i's acceptance and n_i its nearness: how little clearance is left over the hoof, on a tolerance that is
common to the closure class and does not know how wide the chart's ranges are. Wide ranges therefore earn nothing, and
splitting a size in two never lowers its boot model: the sum of acceptances keeps, the largest nearness can only grow.

Boot models are compared by E[M]. Not knowing the hoof exactly costs even a boot made to its measure some closeness; a
quarter of that cost is the width of a band, and boot models of one band are ties. The width depends on the hoof alone
and bands are counted from the best, so a better chart never costs a place.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.grid import Grid, hoof_grid, steps_on
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import TOLERANCE_MM, BootChart, SizeTable, size_table

UNKNOWN_NEARNESS: Final = 0.5
"""Nearness along an axis that the chart leaves out: neither trusted nor ruled out [C]."""

TIE_SHARE: Final = 0.25
"""Width of a band, as a share of the closeness that a made-to-measure boot loses to the hoof's uncertainty [C]."""

LEAST_BAND: Final = 0.02
"""Width of a band for a hoof that is known exactly [C]."""

_LOOSE_AND_TIGHT: Final = [0, 3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Closeness:
    """How B boot models compare on one hoof.

    bands (B,): 0 for the closest and all that tie with it, then rising
    expected (B,): E[M]
    some_fits (B,): E[max over sizes of acceptance], the chance that at least one size is accepted
    """

    bands: NDArray[np.intp]
    expected: Floats
    some_fits: Floats


def compare_boots(estimate: Estimate, table: SizeTable, *, boots: NDArray[np.intp]) -> Closeness:
    """Compare the given boot models (indices into the table) on one hoof."""
    grid = hoof_grid(estimate)
    expected, some_fits = np.zeros(len(boots)), np.zeros(len(boots))
    for row, boot in enumerate(boots):
        expected[row], some_fits[row] = _closeness(grid, table, sizes=table.sizes_of(int(boot)))
    width = max(LEAST_BAND, TIE_SHARE * (1.0 - _made_to_measure(grid, estimate)))
    return Closeness(
        bands=((expected.max(initial=0.0) - expected) / width).astype(np.intp),
        expected=expected,
        some_fits=some_fits,
    )


def _made_to_measure(grid: Grid, estimate: Estimate) -> float:
    """E[M] of a pull-on boot whose single size is laid around the hoof's mean."""
    half = TOLERANCE_MM[Closure.PULL_ON] / 2.0
    width, length = ((float(middle) - half, float(middle) + half) for middle in estimate.mean)
    chart = BootChart(closure=Closure.PULL_ON, widths_mm=[width], lengths_mm=[length], chart_step_mm=0.0)
    return _closeness(grid, size_table([chart]), sizes=range(1))[0]


def _closeness(grid: Grid, table: SizeTable, *, sizes: range) -> tuple[float, float]:
    """E[M] and E[max a_i] of one boot model's sizes."""
    accepted, near = _on_grid(grid, table, sizes=sizes)
    some_fits = float(np.sum(grid.mass * accepted.max(axis=0)))
    expected = float(np.sum(grid.mass * np.minimum(1.0, accepted.sum(axis=0)) * near.max(axis=0)))
    return min(expected, 1.0), min(some_fits, 1.0)


def _on_grid(grid: Grid, table: SizeTable, *, sizes: range) -> tuple[Floats, Floats]:
    """Acceptance and nearness of some sizes at every pair of points, each (n, G, H)."""
    rows = slice(sizes.start, sizes.stop)
    accepted, near = [], []
    for axis, points in enumerate((grid.widths_mm, grid.lengths_mm)):
        passed = steps_on(
            points,
            edges_mm=table.edges_mm[rows, axis][:, _LOOSE_AND_TIGHT],
            edge_sd_mm=table.edge_sd_mm[rows, axis][:, _LOOSE_AND_TIGHT],
        )
        accepted.append(_between(passed))
        close = steps_on(points, edges_mm=table.near_mm[rows, axis], edge_sd_mm=table.near_sd_mm[rows, axis])
        near.append(np.where(table.has_axis[rows, axis, None], _between(close), UNKNOWN_NEARNESS))
    return accepted[0][:, :, None] * accepted[1][:, None, :], near[0][:, :, None] * near[1][:, None, :]


def _between(passed: Floats) -> Floats:
    """Chance of being past the first edge and not past the last; never negative."""
    between: Floats = np.clip(passed[..., 0] - passed[..., -1], 0.0, 1.0)
    return between
