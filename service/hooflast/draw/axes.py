"""Axes: the ruled page of the width-length plane, with its ticks and their labels."""

from collections.abc import Sequence
from itertools import pairwise
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.key import LEFT, RIGHT
from hooflast.draw.lettering import BODY, LEADING, Anchor, Lettering, letter, text_width, write
from hooflast.draw.plane import Plane
from hooflast.draw.sheet import line
from hooflast.draw.values import Tick
from hooflast.fit.hoof import Axis

_WIDEST_TICK: Final = 60.0
_TICK_GAP: Final = 8.0


def left_of_plane(ticks: Sequence[Tick]) -> float:
    """Where the plane begins, so that its lengths' labels have room beside it."""
    widest = max((text_width(tick.label, size=BODY) for tick in ticks), default=0.0)
    return LEFT + min(widest, _WIDEST_TICK) + 10


def draw_axes(parent: Element, ticks: Sequence[Tick], /, *, plane: Plane, width_label: str) -> float:
    """Rule the page at every tick, label those that have room; the next free height is returned."""
    box, view = plane.box, plane.view
    widths = [tick for tick in ticks if view.width.low_mm <= tick.at_mm <= view.width.high_mm]
    lengths = [tick for tick in ticks if view.length.low_mm <= tick.at_mm <= view.length.high_mm]
    for tick in widths:
        line(parent, "hair", start=(plane.x(tick.at_mm), box.top), end=(plane.x(tick.at_mm), box.bottom))
        line(parent, "edge", start=(plane.x(tick.at_mm), box.bottom), end=(plane.x(tick.at_mm), box.bottom + 4))
    for tick in lengths:
        line(parent, "hair", start=(box.left, plane.y(tick.at_mm)), end=(box.right, plane.y(tick.at_mm)))
        line(parent, "edge", start=(box.left - 7, plane.y(tick.at_mm)), end=(box.left - 3, plane.y(tick.at_mm)))
    line(parent, "edge", start=(box.left - 3, box.bottom), end=(box.right, box.bottom))
    for x in (box.left - 3, box.left):
        line(parent, "margin", start=(x, box.top), end=(x, box.bottom))
    row = box.bottom + 6
    for tick, words in _with_room(ticks, plane.units_per_mm, along=Axis.WIDTH):
        if (
            tick in widths
            and box.left - 8 <= plane.x(tick.at_mm) - words.width / 2
            and plane.x(tick.at_mm) + words.width / 2 <= box.right + 8
        ):
            write(parent, words, x=plane.x(tick.at_mm), top=row, anchor=Anchor.MIDDLE)
    for tick, words in _with_room(ticks, plane.units_per_mm, along=Axis.LENGTH):
        if tick in lengths:
            write(parent, words, x=box.left - 10, top=plane.y(tick.at_mm) - words.height / 2, anchor=Anchor.END)
    name = letter(width_label, width=RIGHT - LEFT, kind="aside")
    return write(parent, name, x=RIGHT, top=row + BODY * LEADING, anchor=Anchor.END).bottom


def _with_room(ticks: Sequence[Tick], units_per_mm: float, *, along: Axis) -> list[tuple[Tick, Lettering]]:
    """Every, every second, every fourth … tick from the first on: as many as stand apart from each other."""
    labels = [(tick, letter(tick.label, width=_WIDEST_TICK, kind="aside")) for tick in ticks]
    every = 1
    while every < len(labels):
        kept = labels[::every]
        room = min((b.at_mm - a.at_mm) * units_per_mm for (a, _), (b, _) in pairwise(kept))
        need = max(words.width if along is Axis.WIDTH else words.height for _, words in kept)
        if room >= need + (_TICK_GAP if along is Axis.WIDTH else 0.0):
            return kept
        every *= 2
    return labels[:1]
