"""Marks: small signs drawn by strokes: a caution's severity, and a chance as tally marks."""

from math import cos, floor, pi, sin
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Point
from hooflast.draw.sheet import add, line, number
from hooflast.fit.remark import Severity

CAUTION_R: Final = 6.5
TALLY_WIDTH: Final = 58.0
TALLY_HEIGHT: Final = 11.0
NEARLY_SURE: Final = 0.995
"""A chance below this never fills the whole tally [C]."""

_OF: Final = 10
_GATE: Final = 5
_STEP: Final = 5.2


def tally_of(chance: float) -> int:
    """The chance in tenths, for tally marks: 10 only when nearly sure."""
    return _OF if chance >= NEARLY_SURE else min(_OF - 1, floor(chance * _OF + 0.5))


def draw_tally(parent: Element, chance: float, /, *, left: float, top: float) -> None:
    """Tenths of a chance as tally marks, every fifth struck across its four; what is missing stays a dot."""
    bottom, filled = top + TALLY_HEIGHT, tally_of(chance)
    for place in range(_OF):
        gate, within = divmod(place, _GATE)
        x = left + 2 + gate * (_STEP * _GATE + 4) + within * _STEP
        if place >= filled:
            line(parent, "edge", start=(x, bottom), end=(x, bottom - 1.2))
        elif within == _GATE - 1:
            line(parent, "tally", start=(x - _STEP * 4 - 2.5, bottom - 2.5), end=(x - _STEP + 2.5, top + 2.5))
        else:
            line(parent, "tally", start=(x, bottom), end=(x, top))


def draw_caution(parent: Element, severity: Severity, /, *, middle: Point) -> None:
    """A circle for a note, a triangle for a second look, an octagon with a bar for a stop."""
    x, y = middle
    if severity is Severity.NOTE:
        add(parent, "circle", kind="line mark", cx=x, cy=y, r=CAUTION_R - 0.5)
        line(parent, "mark", start=(x, y - 0.5), end=(x, y + 3))
        line(parent, "mark", start=(x, y - 3), end=(x, y - 2.9))
    elif severity is Severity.LOOK_AGAIN:
        _draw_corners(parent, (x, y + 1.2), corners=3, first=-pi / 2)
        line(parent, "mark", start=(x, y - 1.6), end=(x, y + 1.2))
        line(parent, "mark", start=(x, y + 3.2), end=(x, y + 3.3))
    else:
        _draw_corners(parent, middle, corners=8, first=pi / 8)
        line(parent, "mark", start=(x - 3, y), end=(x + 3, y))


def _draw_corners(parent: Element, middle: Point, *, corners: int, first: float) -> None:
    turns = [first + 2 * pi * corner / corners for corner in range(corners)]
    points = [(middle[0] + CAUTION_R * cos(turn), middle[1] + CAUTION_R * sin(turn)) for turn in turns]
    add(parent, "polygon", kind="line mark", points=" ".join(f"{number(x)},{number(y)}" for x, y in points))
