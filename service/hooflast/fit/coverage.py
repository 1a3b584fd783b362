"""Coverage: where in the width–length plane sizes take a hoof, what share of a herd that is, and where the gaps are.

On a lattice of one millimetre, a(W, L) = max over sizes of a_W(W) a_L(L) says how surely some size takes a hoof of just
that width and length; an axis that a chart leaves out counts UNKNOWN. With m(W, L), the herd's mass per point,

    share by chance = Σ m a,     share served = Σ m over points with a ≥ the threshold.

The first is E[max over sizes] on one shared hoof, the chance that some size is accepted. A gap is a connected part of
the plane (neighbours across corners count) where the herd is present and a is below the threshold. It is present on the
fewest points that hold PRESENT of its mass.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from math import hypot
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from hooflast.fit.boot import ShapeClass
from hooflast.fit.demand import Bools
from hooflast.fit.estimate import Estimate
from hooflast.fit.grid import steps_on
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import UNKNOWN
from hooflast.fit.shape import FORE_CUTS, HIND_CUTS
from hooflast.fit.sizes import SizeTable

PLANE_MM: Final[Floats] = np.arange(20.0, 331.0)
"""The lattice along either axis: from below the smallest hoof that is read to above the largest."""

PRESENT: Final = 0.99
"""Share of a herd that lies where it counts as present; the rest is its thin edge [C]."""

LEAST_GAP: Final = 0.002
"""Share of a herd from which a gap is told [C]."""

LEAST_SD_MM: Final = 0.6
"""A hoof known better is spread this far, so that none falls between the points."""

REACH_SD: Final = 4.5
NEGLIGIBLE: Final = 1e-4
_LOOSE_AND_TIGHT: Final = [0, 3]
_CORNERS_COUNT: Final = np.ones((3, 3), dtype=np.bool_)


@dataclass(frozen=True, slots=True, kw_only=True)
class Gap:
    """One gap: its middle, its share of the herd, and the shape class of a hoof at its middle.

    The middle is where the gap is thick and well filled: its point of the largest mass times squared distance from the
    gap's edge; the mean of a bent gap may be covered. `nearest` is the size whose accepted range is nearest to the
    middle, as an index into the table, None without sizes; `beyond_mm` how far the middle lies beyond that range in
    width and in length, negative where the hoof is the smaller; both are 0 where two edges come together.
    """

    width_mm: float
    length_mm: float
    share: float
    shape: ShapeClass
    points: Bools
    nearest: int | None
    beyond_mm: tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Region:
    """A part of the herd, by shape class and third of size from small (0) to large (2); shares of the whole herd."""

    shape: ShapeClass
    third: int
    share: float
    served: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Coverage:
    """accepted (P, P): a(W, L). mass (P, P): the herd's share per point, adding up to one. Rows go along width."""

    accepted: Floats
    mass: Floats
    threshold: float

    @property
    def served(self) -> float:
        """Share of the herd that some size takes at least as surely as the threshold."""
        return float(self.mass[self.accepted >= self.threshold].sum())

    @property
    def by_chance(self) -> float:
        """Chance that some size takes a hoof of the herd."""
        return float(np.vdot(self.mass, self.accepted))

    @property
    def present(self) -> Bools:
        """Where the herd is, (P, P)."""
        return self.holding(PRESENT)

    def holding(self, share: float) -> Bools:
        """The fewest points that hold a share of the herd, (P, P)."""
        return fewest_points(self.mass, share=share)


def coverage(estimates: Sequence[Estimate], table: SizeTable, *, weights: Floats, threshold: float) -> Coverage:
    """The coverage of hooves with shares `weights` (H,), adding up to one, by all sizes of a table."""
    return Coverage(accepted=plane_acceptance(table), mass=plane_mass(estimates, weights=weights), threshold=threshold)


def plane_acceptance(table: SizeTable) -> Floats:
    """a(W, L) on the lattice, shape (P, P); 0 without sizes."""
    along = []
    for axis in (0, 1):
        passed = steps_on(
            PLANE_MM,
            edges_mm=table.edges_mm[:, axis][:, _LOOSE_AND_TIGHT],
            edge_sd_mm=table.edge_sd_mm[:, axis][:, _LOOSE_AND_TIGHT],
        )
        along.append(np.where(table.has_axis[:, axis, None], passed[..., 0] - passed[..., 1], UNKNOWN))
    accepted = np.zeros((len(PLANE_MM), len(PLANE_MM)))
    for width, length in zip(*along, strict=True):
        rows, columns = (np.flatnonzero(values >= NEGLIGIBLE) for values in (width, length))
        part = np.ix_(rows, columns)
        accepted[part] = np.maximum(accepted[part], np.outer(width[rows], length[columns]))
    return accepted


def plane_mass(estimates: Sequence[Estimate], *, weights: Floats) -> Floats:
    """The herd's share at each point, from the density of every part of every hoof; adds up to one."""
    mass = np.zeros((len(PLANE_MM), len(PLANE_MM)))
    for estimate, weight in zip(estimates, weights, strict=True):
        for part, mean, covariance in zip(estimate.weights, estimate.means, estimate.covariances, strict=True):
            _add_part(mass, mean, covariance=covariance + LEAST_SD_MM**2 * np.eye(2), weight=float(part * weight))
    whole: Floats = mass / mass.sum()
    return whole


def fewest_points(mass: Floats, *, share: float) -> Bools:
    """The fewest points that hold a share of the mass."""
    falling = np.sort(mass, axis=None)[::-1]
    last = int(np.searchsorted(np.cumsum(falling), share))
    there: Bools = mass >= falling[min(last, falling.size - 1)]
    return there


def gaps(covered: Coverage, table: SizeTable, *, is_fore: bool) -> tuple[Gap, ...]:
    """The gaps of a coverage, the largest share first."""
    labels, count = ndimage.label(covered.present & (covered.accepted < covered.threshold), structure=_CORNERS_COUNT)
    shares = ndimage.sum_labels(covered.mass, labels, index=np.arange(count) + 1)
    places = [place for place in sorted(range(count), key=lambda place: -shares[place]) if shares[place] >= LEAST_GAP]
    return tuple(_gap(covered, labels == place + 1, table=table, is_fore=is_fore) for place in places)


def regions(covered: Coverage, *, is_fore: bool) -> tuple[Region, ...]:
    """The herd parted by shape class and by thirds of W + L, small to large; what is empty is left out."""
    width, length = np.meshgrid(PLANE_MM, PLANE_MM, indexing="ij")
    sizes = width + length
    order = np.argsort(sizes, axis=None)
    held = np.cumsum(covered.mass.ravel()[order])
    cuts = [sizes.ravel()[order][int(np.searchsorted(held, third / 3.0))] for third in (1, 2)]
    thirds, shapes = np.digitize(sizes, cuts, right=True), _shape_places(width / length, is_fore=is_fore)
    served = covered.mass * (covered.accepted >= covered.threshold)
    found = []
    for place, shape in enumerate(ShapeClass):
        for third in range(3):
            here = (shapes == place) & (thirds == third)
            share = float(covered.mass[here].sum())
            if share > 0.0:
                found.append(Region(shape=shape, third=third, share=share, served=float(served[here].sum())))
    return tuple(found)


def shares_by_shape(found: Sequence[Region]) -> Mapping[ShapeClass, tuple[float, float]]:
    """Share of the herd and share served for each shape class."""
    return {
        shape: (
            sum(region.share for region in found if region.shape is shape),
            sum(region.served for region in found if region.shape is shape),
        )
        for shape in ShapeClass
    }


def _add_part(mass: Floats, mean: Floats, *, covariance: Floats, weight: float) -> None:
    """Adds a normal part of a hoof to the points it reaches; a part beyond the lattice adds nothing."""
    spread = np.sqrt(np.diagonal(covariance))
    near = [np.flatnonzero(np.abs(PLANE_MM - mean[axis]) <= REACH_SD * spread[axis]) for axis in (0, 1)]
    width, length = (PLANE_MM[near[axis]] - mean[axis] for axis in (0, 1))
    (aa, ab), (_, bb) = np.linalg.inv(covariance)
    density = np.exp(-0.5 * (aa * width[:, None] ** 2 + 2.0 * ab * width[:, None] * length + bb * length**2))
    mass[np.ix_(*near)] += weight * density / max(float(density.sum()), np.finfo(float).tiny)


def _gap(covered: Coverage, points: Bools, *, table: SizeTable, is_fore: bool) -> Gap:
    mass = np.where(points, covered.mass, 0.0)
    share = float(mass.sum())
    depth = ndimage.distance_transform_edt(points)
    middle = np.unravel_index(int(np.argmax(mass * depth**2)), mass.shape)
    width, length = (float(PLANE_MM[at]) for at in middle)
    nearest, beyond = _nearest(width, length, table=table)
    shape = tuple(ShapeClass)[int(_shape_places(np.array(width / length), is_fore=is_fore))]
    return Gap(
        width_mm=width, length_mm=length, share=share, shape=shape, points=points, nearest=nearest, beyond_mm=beyond
    )


def _nearest(width: float, length: float, *, table: SizeTable) -> tuple[int | None, tuple[float, float]]:
    """The size nearest to a hoof, and how far the hoof lies beyond it; sizes with both axes go first."""
    known = np.flatnonzero(table.has_axis.all(axis=1))
    if not known.size:
        known = np.arange(len(table.edges_mm))
    if not known.size:
        return None, (0.0, 0.0)
    edges, hoof = table.edges_mm[known], np.array([width, length])
    beyond = np.maximum(hoof - edges[:, :, 3], 0.0) + np.minimum(hoof - edges[:, :, 0], 0.0)
    place = int(np.argmin([hypot(*apart) for apart in beyond]))
    return int(known[place]), (float(beyond[place, 0]), float(beyond[place, 1]))


def _shape_places(ratio: Floats, *, is_fore: bool) -> NDArray[np.intp]:
    """The place of each ratio among narrow, round, wide."""
    narrow, wide = FORE_CUTS if is_fore else HIND_CUTS
    return np.digitize(ratio, (narrow, np.nextafter(wide, np.inf)))
