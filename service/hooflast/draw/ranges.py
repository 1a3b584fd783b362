"""Ranges: how a size's hoof range is drawn in the plane: a box, or a band open along the axis its chart leaves out."""

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.catalog.values import Size
from hooflast.draw.boxes import Box
from hooflast.draw.sheet import add, line
from hooflast.fit.hoof import Axis

_PAST: Final = 5.0


@dataclass(frozen=True, slots=True, kw_only=True)
class RangeStyle:
    """`hatch` is the fill of a chosen size, None for any other; edges of a chosen one stay inside `within`."""

    hatch: str | None
    within: Box


def open_axes(size: Size) -> frozenset[Axis]:
    """The axes the size's chart leaves out."""
    spans = {Axis.WIDTH: size.width, Axis.LENGTH: size.length}
    return frozenset(axis for axis, span in spans.items() if span is None)


def draw_range(parent: Element, box: Box, /, *, open_along: AbstractSet[Axis], style: RangeStyle) -> Element:
    """Draw the range; a chosen one is hatched, its edges run past the corners as a ruling pen's do."""
    place = {"x": box.left, "y": box.top, "width": box.width, "height": box.height}
    is_chosen = style.hatch is not None
    kind = ("chosen" if is_chosen else "size") if not open_along else ("chosen-band" if is_chosen else "band")
    drawn = add(parent, "rect", kind=kind, **place)
    if style.hatch is not None:
        add(parent, "rect", fill=style.hatch, **place)
    if open_along:
        _draw_sides(parent, box, kind="heavy" if is_chosen else "edge", open_along=open_along, past=0.0, within=box)
    elif is_chosen:
        _draw_sides(parent, box, kind="past", open_along=open_along, past=_PAST, within=style.within)
    return drawn


def _draw_sides(
    parent: Element, box: Box, /, *, kind: str, open_along: AbstractSet[Axis], past: float, within: Box
) -> None:
    if Axis.LENGTH not in open_along:
        left, right = max(box.left - past, within.left), min(box.right + past, within.right)
        for y in (box.top, box.bottom):
            line(parent, kind, start=(left, y), end=(right, y))
    if Axis.WIDTH not in open_along:
        top, bottom = max(box.top - past, within.top), min(box.bottom + past, within.bottom)
        for x in (box.left, box.right):
            line(parent, kind, start=(x, top), end=(x, bottom))
