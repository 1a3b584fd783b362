"""Ranking: which boot models follow a hoof most closely, in bands that its uncertainty cannot tell apart.

A boot model's closeness to a hoof (W, L) is

    M(W, L) = min(1, Σ_i a_i(W, L)) · (½ + ½ max_i n_i(W, L)),

a_i being size i's acceptance and n_i its nearness: how little clearance is left over the hoof, on a tolerance that is
common to the closure class and does not know how wide the chart's ranges are. To be accepted at all counts for half, to
be followed closely for the other half [C]. Wide ranges therefore earn nothing beyond acceptance, and splitting a size
in two never lowers its boot model: the sum of acceptances keeps (to 2e-5, where the two edges that meet at the split
give unlike), the largest nearness can only grow.

Boot models are compared by E[M]. Not knowing the hoof exactly costs even a boot made to its measure some closeness; a
quarter of that cost is the width of a band, and boot models of one band are ties. The width depends on the hoof alone
and bands are counted from the best, so a better chart never costs a place.
"""

from dataclasses import dataclass
from functools import cache
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.grid import Grid, hoof_grids, steps_on
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import TOLERANCE_MM, BootChart, SizeTable, size_table

UNKNOWN: Final = 0.5
"""Acceptance and nearness along an axis that the chart leaves out: neither trusted nor ruled out [C]."""

TIE_SHARE: Final = 0.25
"""Width of a band, as a share of the closeness that a made-to-measure boot loses to the hoof's uncertainty [C]."""

LEAST_BAND: Final = 0.02
"""Width of a band for a hoof that is known exactly [C]."""

_LOOSE_AND_TIGHT: Final = [0, 3]


@dataclass(frozen=True, slots=True, kw_only=True)
class Closeness:
    """How B boot models compare on one hoof.

    expected (B,): E[M]
    some_fits (B,): E[max over sizes of acceptance], the chance that at least one size is accepted
    """

    expected: Floats
    some_fits: Floats
    band_width: float

    @property
    def bands(self) -> NDArray[np.intp]:
        """The band of each (B,): 0 for the closest and all that tie with it, then rising."""
        behind = self.expected.max(initial=0.0) - self.expected
        counted: NDArray[np.intp] = (behind / self.band_width).astype(np.intp)
        return counted

    def among(self, places: NDArray[np.intp]) -> "Closeness":
        """How some of them compare among themselves."""
        return Closeness(expected=self.expected[places], some_fits=self.some_fits[places], band_width=self.band_width)


def compare_boots(estimate: Estimate, table: SizeTable, *, boots: NDArray[np.intp]) -> Closeness:
    """Compare the given boot models (indices into the table) on one hoof's own lattices."""
    grids = hoof_grids(estimate)
    found = [_closeness(grids, table, sizes=table.sizes_of(int(boot))) for boot in boots]
    expected, some_fits = np.array(found).reshape(-1, 2).T
    width = band_width(grids, mean_mm=estimate.mean)
    return Closeness(expected=expected, some_fits=some_fits, band_width=width)


def band_width(grids: tuple[Grid, ...], *, mean_mm: Floats) -> float:
    """How far apart E[M] of two boot models may be for the hoof's uncertainty to leave open which is closer.

    It rests on what a pull-on boot, its single size laid around the hoof's mean, loses of M at that mean.
    """
    width, length = mean_mm
    around = tuple(
        Grid(widths_mm=grid.widths_mm - width, lengths_mm=grid.lengths_mm - length, mass=grid.mass) for grid in grids
    )
    table, at_mean = _made_to_measure()
    expected, _ = _closeness(around, table, sizes=range(1))
    return max(LEAST_BAND, TIE_SHARE * (at_mean - expected))


@cache
def _made_to_measure() -> tuple[SizeTable, float]:
    """A pull-on boot with one size, around a hoof that is measured from its own mean, and M at that mean."""
    half = TOLERANCE_MM[Closure.PULL_ON] / 2.0
    around = [(-half, half)]
    table = size_table([BootChart(closure=Closure.PULL_ON, widths_mm=around, lengths_mm=around, chart_step_mm=0.0)])
    middle = Grid(widths_mm=np.zeros(1), lengths_mm=np.zeros(1), mass=np.ones((1, 1)))
    at_mean, _ = _closeness((middle,), table, sizes=range(1))
    return table, at_mean


def _closeness(grids: tuple[Grid, ...], table: SizeTable, *, sizes: range) -> tuple[float, float]:
    """E[M] and E[max a_i] of one boot model's sizes."""
    expected, some_fits = 0.0, 0.0
    for grid in grids:
        closeness, accepted = on_lattice((grid.widths_mm, grid.lengths_mm), table, sizes=sizes)
        expected += float(np.vdot(grid.mass, closeness))
        some_fits += float(np.vdot(grid.mass, accepted))
    return min(expected, 1.0), min(some_fits, 1.0)


def on_lattice(points_mm: tuple[Floats, Floats], table: SizeTable, *, sizes: range) -> tuple[Floats, Floats]:
    """M and max a_i of one boot model at every pair of points, each (G, H)."""
    width, length = (_along(points, table, sizes=sizes, axis=axis) for axis, points in enumerate(points_mm))
    covered = np.minimum(1.0, width.trusted.T @ length.trusted)
    closeness = covered * (0.5 + 0.5 * _largest_product(width.near, length.near))
    return closeness, _largest_product(width.accepted, length.accepted)


class _Along(NamedTuple):
    """Some sizes along one axis, each (n, G): acceptance, acceptance as far as the chart tells, and nearness."""

    accepted: Floats
    trusted: Floats
    near: Floats


def _along(points_mm: Floats, table: SizeTable, *, sizes: range, axis: int) -> _Along:
    rows = slice(sizes.start, sizes.stop)
    passed = steps_on(
        points_mm,
        edges_mm=table.edges_mm[rows, axis][:, _LOOSE_AND_TIGHT],
        edge_sd_mm=table.edge_sd_mm[rows, axis][:, _LOOSE_AND_TIGHT],
    )
    close = steps_on(points_mm, edges_mm=table.near_mm[rows, axis], edge_sd_mm=table.near_sd_mm[rows, axis])
    accepted, near = _between(passed), _between(close)
    known = table.has_axis[rows, axis, None]
    return _Along(accepted, np.where(known, accepted, UNKNOWN), np.where(known, near, UNKNOWN))


def _largest_product(widths: Floats, lengths: Floats) -> Floats:
    """Over sizes i, the largest widths[i] ⊗ lengths[i]: (n, G) and (n, H) to (G, H)."""
    largest: Floats = np.multiply.outer(widths[0], lengths[0])
    product = np.empty_like(largest)
    for width, length in zip(widths[1:], lengths[1:], strict=True):
        np.maximum(largest, np.multiply.outer(width, length, out=product), out=largest)
    return largest


def _between(passed: Floats) -> Floats:
    """Chance of being past the first edge and not past the last; never negative."""
    between: Floats = np.clip(passed[..., 0] - passed[..., -1], 0.0, 1.0)
    return between
