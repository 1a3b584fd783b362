"""Outline: the sole of a hoof seen from below as Bézier curves, toe up, drawn to a width and a length in mm.

The shape is one of ours [C], after what a trimmed sole looks like: a round toe (a little more pointed behind), the
quarters widest a little behind the middle, the two heel buttresses rearmost, between them the frog's base with its
central sulcus. Coordinates are mm from the middle of the hoof's box, x to the right, y towards the heels. By its
construction the outline touches its box: across at the quarters, and from the toe tip to the buttress line.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from hooflast.draw.boxes import Point
from hooflast.draw.sheet import number
from hooflast.fit.hoof import Axis, Limb

QUARTER: Final = 0.57
"""Where a hoof is widest, in lengths from the toe [C]."""

BUTTRESS: Final = 0.345
"""How far the rearmost points stand from the midline, in widths [C]."""

Cubic = tuple[Point, Point, Point, Point]

_FORE_TOE: Final[Cubic] = ((0, 0), (0.275, 0), (0.5, 0.24), (0.5, QUARTER))
_HIND_TOE: Final[Cubic] = ((0, 0), (0.225, 0), (0.5, 0.28), (0.5, QUARTER))
_HEEL: Final[tuple[Cubic, ...]] = (
    ((0.5, QUARTER), (0.5, 0.77), (0.455, 0.87), (0.415, 0.945)),
    ((0.415, 0.945), (0.395, 0.982), (0.372, 1), (BUTTRESS, 1)),
    ((BUTTRESS, 1), (0.305, 1), (0.285, 0.965), (0.262, 0.93)),
    ((0.262, 0.93), (0.24, 0.897), (0.205, 0.9), (0.185, 0.93)),
    ((0.185, 0.93), (0.165, 0.96), (0.12, 0.985), (0.075, 0.975)),
    ((0.075, 0.975), (0.04, 0.967), (0.015, 0.945), (0, 0.925)),
)
_ALONG_THE_BUTTRESSES: Final[Cubic] = ((BUTTRESS, 1), (0.2, 1), (0.1, 1), (0, 1))
_WHITE_LINE: Final[tuple[Cubic, ...]] = (
    ((0, 0.085), (0.235, 0.085), (0.435, 0.28), (0.435, QUARTER)),
    ((0.435, QUARTER), (0.435, 0.73), (0.4, 0.83), (0.368, 0.888)),
    ((0.368, 0.888), (0.352, 0.915), (0.332, 0.915), (0.318, 0.885)),
    ((0.318, 0.885), (0.285, 0.81), (0.25, 0.73), (0.2, 0.655)),
)
_BAR: Final[tuple[Cubic, ...]] = (
    ((0.262, 0.93), (0.25, 0.85), (0.215, 0.76), (0.178, 0.69)),
    ((0.178, 0.69), (0.165, 0.663), (0.183, 0.632), (0.2, 0.655)),
)
_FROG_SIDE: Final[Cubic] = ((0, 0.36), (0.05, 0.36), (0.158, 0.74), (0.205, 0.905))
_FROG_BASE: Final[tuple[Cubic, ...]] = (((0.205, 0.905), (0.198, 0.91), (0.19, 0.92), (0.185, 0.93)), *_HEEL[4:])
_SULCUS: Final[Cubic] = ((0, 0.68), (0.022, 0.74), (0.04, 0.86), (0, 0.925))


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """Joined cubic Bézier curves, in mm."""

    parts: tuple[Cubic, ...]
    is_closed: bool = False

    def path(self, *, middle: Point, units_per_mm: float) -> str:
        """The curve as SVG path data, with the hoof's middle at `middle`."""

        def placed(point: Point) -> str:
            return f"{number(middle[0] + point[0] * units_per_mm)} {number(middle[1] + point[1] * units_per_mm)}"

        drawn = "".join(f"C{' '.join(placed(point) for point in part[1:])}" for part in self.parts)
        return f"M{placed(self.parts[0][0])}{drawn}{'Z' if self.is_closed else ''}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Sole:
    """The sole of one limb's hoof, of a width and a length in mm."""

    limb: Limb
    width_mm: float
    length_mm: float

    @property
    def outline(self) -> Curve:
        """All round."""
        return self._closed((self._toe, *_HEEL))

    @property
    def bounds(self) -> Curve:
        """All round, but straight along the buttress line: what a boot has to hold."""
        return self._closed((self._toe, *_HEEL[:2], _ALONG_THE_BUTTRESSES))

    @property
    def inside(self) -> tuple[Curve, ...]:
        """The lines inside: white line, bars, and the sides of the frog."""
        bars = [Curve(parts=self._sized(parts)) for parts in (_BAR, _mirrored(_BAR))]
        white_line = Curve(parts=self._sized(_mirrored(_WHITE_LINE) + _WHITE_LINE))
        return white_line, *bars, Curve(parts=self._sized((*_mirrored((_FROG_SIDE,)), _FROG_SIDE)))

    @property
    def frog(self) -> tuple[Curve, Curve]:
        """The frog down to its base, and its central sulcus."""
        return self._closed((_FROG_SIDE, *_FROG_BASE)), self._closed((_SULCUS,))

    def open_along(self, axis: Axis) -> tuple[Curve, ...]:
        """What is left of the outline without `axis`: without length the two quarters, without width toe and heels."""
        if axis is Axis.LENGTH:
            right = (_cut(self._toe, start=0.62, end=1.0), _cut(_HEEL[0], start=0.0, end=0.55))
            return tuple(Curve(parts=self._sized(parts)) for parts in (right, _mirrored(right)))
        toe = _cut(self._toe, start=0.0, end=0.42)
        heel = (_HEEL[1], _ALONG_THE_BUTTRESSES)
        ends = ((*_mirrored((toe,)), toe), (*heel, *_mirrored(heel)))
        return tuple(Curve(parts=self._sized(parts)) for parts in ends)

    @property
    def quarter(self) -> Point:
        """The widest point on the right."""
        return self._placed((0.5, QUARTER))

    @property
    def buttress(self) -> Point:
        """The rearmost point on the left."""
        return self._placed((-BUTTRESS, 1.0))

    @property
    def _toe(self) -> Cubic:
        return _FORE_TOE if self.limb.is_fore else _HIND_TOE

    def _closed(self, right: tuple[Cubic, ...]) -> Curve:
        return Curve(parts=self._sized(right + _mirrored(right)), is_closed=True)

    def _sized(self, parts: Sequence[Cubic]) -> tuple[Cubic, ...]:
        return tuple((self._placed(a), self._placed(b), self._placed(c), self._placed(d)) for a, b, c, d in parts)

    def _placed(self, point: Point) -> Point:
        return point[0] * self.width_mm, (point[1] - 0.5) * self.length_mm


def _mirrored(parts: tuple[Cubic, ...]) -> tuple[Cubic, ...]:
    """The same curves on the other side of the midline, walked the other way."""
    return tuple(((-d[0], d[1]), (-c[0], c[1]), (-b[0], b[1]), (-a[0], a[1])) for a, b, c, d in reversed(parts))


def _cut(part: Cubic, /, *, start: float, end: float) -> Cubic:
    """The part of a curve between two of its parameters (de Casteljau's blossom)."""

    def blossom(*shares: float) -> Point:
        points = list(part)
        for share in shares:
            points = [(a[0] + (b[0] - a[0]) * share, a[1] + (b[1] - a[1]) * share) for a, b in pairwise(points)]
        return points[0]

    return (
        blossom(start, start, start),
        blossom(start, start, end),
        blossom(start, end, end),
        blossom(end, end, end),
    )
