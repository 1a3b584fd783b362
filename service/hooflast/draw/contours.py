"""Contours: lines of one height through values on a lattice, as closed loops.

Each square of four neighbouring points is crossed where its sides pass the height, at the place linear interpolation
gives; crossings are joined so that what is higher lies on one hand all along (marching squares, [M]). Where two
opposite corners are higher, they are taken as joined.
"""

import numpy as np

from hooflast.draw.boxes import Point
from hooflast.fit.normal import Floats

Side = tuple[int, int, int]
"""A side of a square: its lower end (row, column), and 0 along the rows or 1 along the columns."""


def contours(values: Floats, *, height: float) -> list[list[Point]]:
    """The loops round everything of at least `height`, as (row, column) places on the lattice.

    The lattice ends in a fall to below every value, so that all loops close.
    """
    least = min(float(values.min()), height) - 1.0
    framed = np.pad(values, 1, constant_values=least)
    high = framed >= height
    corners = np.stack([high[:-1, :-1], high[1:, :-1], high[1:, 1:], high[:-1, 1:]])
    crossed = corners.any(axis=0) & ~corners.all(axis=0)
    follows: dict[Side, Side] = {}
    for row, column in np.argwhere(crossed):
        follows |= _joined(int(row), int(column), high=corners[:, row, column].tolist())
    return [[_place(side, framed, height=height) for side in loop] for loop in _loops(follows)]


def _joined(row: int, column: int, /, *, high: list[bool]) -> dict[Side, Side]:
    """In one square, from each side where its edge leaves the higher part to the next where it comes back."""
    sides = ((row, column, 0), (row + 1, column, 1), (row, column + 1, 0), (row, column, 1))
    found = {}
    for place in range(4):
        if high[place] and not high[(place + 1) % 4]:
            back = next(turn % 4 for turn in range(place + 1, place + 4) if not high[turn % 4] and high[(turn + 1) % 4])
            found[sides[place]] = sides[back]
    return found


def _loops(follows: dict[Side, Side]) -> list[list[Side]]:
    loops = []
    while follows:
        start, here = follows.popitem()
        loop = [start]
        while here != start:
            loop.append(here)
            here = follows.pop(here)
        loops.append(loop)
    return loops


def _place(side: Side, framed: Floats, *, height: float) -> Point:
    """Where a side crosses the height, on the lattice without its frame."""
    row, column, along = side
    end = (row + 1, column) if along == 0 else (row, column + 1)
    one, other = float(framed[row, column]), float(framed[end])
    share = (height - one) / (other - one)
    return (row + share - 1.0, float(column - 1)) if along == 0 else (float(row - 1), column + share - 1.0)
