"""Sizes: size charts as arrays of edges, with the one link that says how a size takes a hoof.

Along one axis a size has four edges, in mm of hoof: loose | roomy | even | snug | tight. Between the outer two the size
is accepted; the inner two part its range in thirds. At each edge e a hoof of dimension x passes with chance
Φ((x − e)/s): a normal step as wide as the give there, blurred by the spread of the boots themselves.

The `give` is how far past the chart's range a closure still accepts. A linear ramp from the range's end to `give`
beyond it has its middle at give/2 and the standard deviation give/√12; the normal step takes both over, which keeps
every expectation in closed form. It stays within 0.005 of the ramp's where reading and boots together spread by 0.38 of
the give or more, as they do after one reading by any method; within 0.012 for the sharpest hoof that many repeats can
give (1.12 mm with the boots' spread) on the widest give (4 mm). Without give or spread an edge is a sharp step.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.boot import Closure
from hooflast.fit.hoof import Axis
from hooflast.fit.normal import Floats

Interval = tuple[float, float]


class Give(NamedTuple):
    """How far past its range a closure still accepts, mm: on the loose side, and on the tight side in width."""

    loose_mm: float
    tight_width_mm: float


GIVE: Final = MappingProxyType(
    {
        Closure.PULL_ON: Give(1.0, 1.0),
        Closure.BUCKLE: Give(2.0, 1.0),
        Closure.RATCHET: Give(2.0, 1.0),
        Closure.STRAP: Give(4.0, 1.0),
        Closure.LACE: Give(4.0, 1.0),
        Closure.CABLE: Give(4.0, 1.0),
        Closure.OTHER: Give(1.0, 1.0),
    }
)
"""A closure takes up looseness; a shell spreads by a millimetre in width; nothing makes a short boot longer [C]."""

TIGHT_LENGTH_GIVE_MM: Final = 0.0

TOLERANCE_MM: Final = MappingProxyType(
    {
        Closure.PULL_ON: 5.0,
        Closure.BUCKLE: 6.0,
        Closure.RATCHET: 6.0,
        Closure.STRAP: 8.0,
        Closure.LACE: 8.0,
        Closure.CABLE: 8.0,
        Closure.OTHER: 5.0,
    }
)
"""Clearance, mm, at which a closure class counts as half as close a fit: one for fine and coarse charts alike [C]."""

MAKE_SD_MM: Final = 1.0
"""How much two boots of one size differ, mm [C]."""

AXES: Final = (Axis.WIDTH, Axis.LENGTH)

_NO_RANGE: Final = (0.0, 0.0)
_NO_EDGES: Final = (-np.inf, -np.inf, np.inf, np.inf)
_NEVER_NEAR_NOR_FAR: Final = (-np.inf, np.inf)


@dataclass(frozen=True, slots=True, kw_only=True)
class BootChart:
    """One boot model's size chart, small to large: a hoof range per size and axis, mm; None where there is none."""

    closure: Closure
    widths_mm: Sequence[Interval | None]
    lengths_mm: Sequence[Interval | None]
    chart_step_mm: float = 1.0
    make_sd_mm: float = MAKE_SD_MM


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeTable:
    """N sizes of M boot models as arrays; a boot model's sizes lie together, small to large.

    edges_mm (N, 2, 4): loose, roomy, snug, tight edge per axis, ascending (−∞ and +∞ where the chart has no such axis)
    edge_sd_mm (N, 2, 4): standard deviation of the step at each edge
    near_mm (N, 2, 2): where the clearance leaves the closure's tolerance, and where it is used up
    near_sd_mm (N, 2, 2): standard deviations of those two steps
    has_axis (N, 2): whether the chart gives that axis
    first (M + 1,): where each boot model's sizes begin; the last entry is N
    closures (M,): the boot models' closures
    """

    edges_mm: Floats
    edge_sd_mm: Floats
    near_mm: Floats
    near_sd_mm: Floats
    has_axis: NDArray[np.bool_]
    first: NDArray[np.intp]
    closures: tuple[Closure, ...]

    @property
    def boot_of(self) -> NDArray[np.intp]:
        """The boot model each size belongs to, shape (N,)."""
        return np.repeat(np.arange(len(self.closures)), np.diff(self.first))

    def sizes_of(self, boot: int) -> range:
        """The sizes of one boot model, as indices into the arrays."""
        return range(int(self.first[boot]), int(self.first[boot + 1]))

    def only(self, kept: NDArray[np.bool_]) -> "SizeTable":
        """Some of the sizes alone (N,); a boot model may be left without any."""
        before = np.concatenate([[0], np.cumsum(kept)])
        return SizeTable(
            edges_mm=self.edges_mm[kept],
            edge_sd_mm=self.edge_sd_mm[kept],
            near_mm=self.near_mm[kept],
            near_sd_mm=self.near_sd_mm[kept],
            has_axis=self.has_axis[kept],
            first=before[self.first],
            closures=self.closures,
        )


def size_table(charts: Sequence[BootChart]) -> SizeTable:
    """Arrays for a sequence of charts, in their order. Ranges are widened by half the chart's step on both sides."""
    counts = [len(chart.widths_mm) for chart in charts]
    ranges, has_axis = _ranges(charts)
    by_chart = np.array([_of_chart(chart) for chart in charts]).reshape(-1, 5)
    half_step, make_sd, tolerance, loose, tight = np.repeat(by_chart, counts, axis=0).T[..., None]
    tight = tight * [1.0, 0.0] + [0.0, TIGHT_LENGTH_GIVE_MM]
    low, high = ranges[..., 0] - half_step, ranges[..., 1] + half_step
    third = (high - low) / 3.0
    edges = np.stack([low - loose / 2.0, low + third, high - third, high + tight / 2.0], axis=-1)
    near = np.stack([high - tolerance, high + tight / 2.0], axis=-1)
    loose_sd, tight_sd, inner_sd, tolerance_sd = (
        np.broadcast_to(np.sqrt(give**2 / 12.0 + make_sd**2), low.shape) for give in (loose, tight, 0.0, tolerance)
    )
    return SizeTable(
        edges_mm=np.where(has_axis[..., None], edges, _NO_EDGES),
        edge_sd_mm=np.stack([loose_sd, inner_sd, inner_sd, tight_sd], axis=-1),
        near_mm=np.where(has_axis[..., None], near, _NEVER_NEAR_NOR_FAR),
        near_sd_mm=np.stack([tolerance_sd, tight_sd], axis=-1),
        has_axis=has_axis,
        first=np.cumsum([0, *counts]),
        closures=tuple(chart.closure for chart in charts),
    )


def _ranges(charts: Sequence[BootChart]) -> tuple[Floats, NDArray[np.bool_]]:
    """The charts' ranges (N, 2, 2) by size, axis and end, and which there are (N, 2)."""
    given = [both for chart in charts for both in zip(chart.widths_mm, chart.lengths_mm, strict=True)]
    has_axis = np.array([[one is not None for one in both] for both in given], dtype=np.bool_).reshape(-1, 2)
    ranges = np.array([[one or _NO_RANGE for one in both] for both in given]).reshape(-1, 2, 2)
    return ranges, has_axis


def _of_chart(chart: BootChart) -> tuple[float, ...]:
    """Half its step, the spread of its boots, its tolerance, and its give on the loose side and in width, mm."""
    return (chart.chart_step_mm / 2.0, chart.make_sd_mm, TOLERANCE_MM[chart.closure], *GIVE[chart.closure])
