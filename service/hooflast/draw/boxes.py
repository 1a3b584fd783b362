"""Boxes: rectangles on the sheet, and where labels go so that they meet neither each other nor the sheet's edge."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import cos, pi, sin
from typing import Final

import numpy as np

from hooflast.fit.normal import Floats

Point = tuple[float, float]

_NEVER: Final = 1e6
_STEP_COST: Final = 0.6


@dataclass(frozen=True, slots=True, kw_only=True)
class Box:
    """A rectangle, y down."""

    left: float
    top: float
    right: float
    bottom: float

    @property
    def width(self) -> float:
        return self.right - self.left

    @property
    def height(self) -> float:
        return self.bottom - self.top

    @property
    def middle(self) -> Point:
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2

    def grown(self, by: float) -> "Box":
        """The box with so much more on every side."""
        return Box(left=self.left - by, top=self.top - by, right=self.right + by, bottom=self.bottom + by)

    def meets(self, other: "Box") -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def holds(self, other: "Box") -> bool:
        """Whether the other lies inside."""
        across = self.left <= other.left and other.right <= self.right
        return across and self.top <= other.top and other.bottom <= self.bottom

    def nearest(self, point: Point) -> Point:
        """The place of the box nearest to a point."""
        return min(max(point[0], self.left), self.right), min(max(point[1], self.top), self.bottom)

    def line_to(self, other: "Box") -> tuple[Point, Point]:
        """The ends of a short line from this box to the other."""
        end = other.nearest(self.middle)
        return self.nearest(end), end


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A label's wish: the places it could take, best first, and the box it belongs to.

    One that is not needed goes without rather than cover another.
    `clear_of` (N, 3) are points (x, y) it had better not cover, and what covering each costs.
    """

    places: tuple[Box, ...]
    mark: Box
    clear_of: Floats
    is_needed: bool


def around(point: Point, *, width: float, height: float, within: Box, nearest: float) -> tuple[Box, ...]:
    """Places around a point, nearest first, from `nearest` units between point and box outwards, inside `within`."""
    places = []
    for distance in np.arange(nearest, nearest + 150.0, 7.0):
        for turn in (1, 3, 5, 7, 0, 2, 4, 6):
            across, up = cos(turn * pi / 4), sin(turn * pi / 4)
            x = point[0] + distance * across + width / 2 * _sign(across)
            y = point[1] - distance * up - height / 2 * _sign(up)
            places.append(Box(left=x - width / 2, right=x + width / 2, top=y - height / 2, bottom=y + height / 2))
    return tuple(place for place in places if within.holds(place))


def _sign(value: float) -> int:
    return 0 if abs(value) < 1e-9 else 1 if value > 0 else -1


def place_labels(wishes: Sequence[Wish]) -> tuple[Box | None, ...]:
    """One place per wish, in their order; None for a label that goes without.

    No label covers one placed before it, nor does the line to its mark run through one, as long as any place is free.
    """
    taken: list[Box | None] = []
    for wish in wishes:
        others = [box for box in taken if box is not None]
        best, least = wish.places[0], float("inf")
        for order, place in enumerate(wish.places):
            if order * _STEP_COST >= least:
                break
            cost = (
                order * _STEP_COST + _covered(place, wish.clear_of) + _NEVER * _hindered(place, wish.mark, taken=others)
            )
            if cost < least:
                best, least = place, cost
        taken.append(best if wish.is_needed or least < _NEVER else None)
    return tuple(taken)


def _covered(place: Box, points: Floats) -> float:
    x, y, cost = points[:, 0], points[:, 1], points[:, 2]
    inside = (x > place.left) & (x < place.right) & (y > place.top) & (y < place.bottom)
    return float(cost[inside].sum())


def _hindered(place: Box, mark: Box, *, taken: Iterable[Box]) -> float:
    ends = place.line_to(mark)
    return sum(1.0 if place.meets(other) else 0.1 * _passes(other, ends) for other in taken)


def _passes(box: Box, ends: tuple[Point, Point]) -> bool:
    """Whether the line between two points runs through the box: some share of it lies inside both of its extents."""
    (x0, y0), (x1, y1) = ends
    first, last = 0.0, 1.0
    for start, end, low, high in ((x0, x1, box.left, box.right), (y0, y1, box.top, box.bottom)):
        if start == end:
            if not low < start < high:
                return False
            continue
        enters, leaves = sorted(((low - start) / (end - start), (high - start) / (end - start)))
        first, last = max(first, enters), min(last, leaves)
    return first < last


def spread(middles: Sequence[float], *, widths: Sequence[float], within: tuple[float, float]) -> tuple[float, ...]:
    """Middles as near the wished ones as can be, so that things of these widths stand in order without overlap.

    Least squares under order constraints (pool adjacent violators); then held inside `within` from both ends.
    """
    offsets = np.concatenate(([0.0], np.cumsum([(a + b) / 2 for a, b in pairwise(widths)])))
    blocks: list[list[float]] = []
    for wished in np.asarray(middles) - offsets:
        blocks.append([float(wished), 1.0])
        while len(blocks) > 1 and blocks[-2][0] > blocks[-1][0]:
            (later, weight), (earlier, other) = blocks.pop(), blocks.pop()
            blocks.append([(later * weight + earlier * other) / (weight + other), weight + other])
    level = np.repeat([block[0] for block in blocks], [int(block[1]) for block in blocks])
    least = within[0] + widths[0] / 2
    most = within[1] - widths[-1] / 2 - offsets[-1]
    return tuple(float(middle) for middle in np.clip(level, least, max(least, most)) + offsets)
