"""Names: where the labels of hooves and sizes stand in the width-length plane, and the lines that lead to them."""

from collections.abc import Iterator
from dataclasses import dataclass
from math import hypot
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from hooflast.catalog.values import Size
from hooflast.draw.boxes import Box, Wish, around, place_labels
from hooflast.draw.ellipse import ellipse_of
from hooflast.draw.lettering import Anchor, Lettering, letter, write
from hooflast.draw.plane import Plane
from hooflast.draw.sheet import line
from hooflast.draw.values import DrawnHoof, SizesPicture
from hooflast.fit.normal import Floats

POINT_R: Final = 3.6
_WIDEST_CODE: Final = 110.0
_LEADER_FROM: Final = 7.0
_EDGE_COST: Final = 1.0
_ELLIPSE_COST: Final = 0.4
_POINT_COST: Final = 60.0
_INSIDE_COST: Final = 2.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Mark:
    """Something to be named: its label, the room it takes itself, and the places its label could take."""

    label: Lettering
    box: Box
    places: tuple[Box, ...]


def write_names(parent: Element, picture: SizesPicture, /, *, plane: Plane) -> None:
    """Label hooves, chosen sizes and, where there is room, the others; a line leads to a mark that is not beside."""
    drawn = _drawn(picture, plane=plane)
    marks = [_hoof_mark(hoof, plane=plane) for hoof in picture.hooves]
    wishes = [Wish(places=mark.places, mark=mark.box, clear_of=drawn, is_needed=True) for mark in marks]
    for size in sorted(plane.view.sizes, key=lambda size: size.code not in picture.chosen):
        is_chosen = size.code in picture.chosen
        mark = _size_mark(size, plane=plane, is_chosen=is_chosen)
        others = [_inner_points(plane.box_of(other)) for other in plane.view.sizes if other is not size]
        clear_of = np.concatenate([drawn, *others])
        marks.append(mark)
        wishes.append(Wish(places=mark.places, mark=mark.box, clear_of=clear_of, is_needed=is_chosen))
    for mark, place in zip(marks, place_labels(wishes), strict=True):
        if place is None:
            continue
        start, end = place.line_to(mark.box)
        if hypot(end[0] - start[0], end[1] - start[1]) > _LEADER_FROM:
            line(parent, "leader", start=start, end=end)
        anchor = _anchor(place, mark.box)
        write(
            parent,
            mark.label,
            x={Anchor.START: place.left, Anchor.MIDDLE: place.middle[0], Anchor.END: place.right}[anchor],
            top=place.top,
            anchor=anchor,
        )


def _anchor(place: Box, mark: Box) -> Anchor:
    """The side on which a label holds on to its mark, whatever its letters' real width."""
    if place.right <= mark.left:
        return Anchor.END
    return Anchor.START if place.left >= mark.right else Anchor.MIDDLE


def _hoof_mark(hoof: DrawnHoof, *, plane: Plane) -> _Mark:
    label = letter(hoof.label, width=_WIDEST_CODE, kind="strong")
    point = plane.x(hoof.width_mm), plane.y(hoof.length_mm)
    box = Box(left=point[0], right=point[0], top=point[1], bottom=point[1]).grown(POINT_R)
    return _Mark(label=label, box=box, places=_places_around(box, label, within=plane.box))


def _size_mark(size: Size, *, plane: Plane, is_chosen: bool) -> _Mark:
    label = letter(size.code, width=_WIDEST_CODE, kind="boot strong" if is_chosen else "aside")
    box = plane.box_of(size)
    beside = tuple(_places_beside(box, label))
    if size.width is None or size.length is None:
        beside = tuple(_places_in_band(box, label))
    near = tuple(place for place in beside if plane.box.holds(place))
    return _Mark(label=label, box=box, places=near + _places_around(box, label, within=plane.box))


def _places_beside(box: Box, label: Lettering) -> Iterator[Box]:
    """Right and left of a size's range, above and below it: sizes run from bottom left to top right."""
    for left, top in (
        (box.right + 5, box.bottom - label.height),
        (box.left - 5 - label.width, box.top),
        (box.right + 5, box.middle[1] - label.height / 2),
        (box.left - 5 - label.width, box.middle[1] - label.height / 2),
        (box.middle[0] - label.width / 2, box.top - 3 - label.height),
        (box.middle[0] - label.width / 2, box.bottom + 3),
    ):
        yield label.box(x=left, top=top)


def _places_in_band(box: Box, label: Lettering) -> Iterator[Box]:
    """Along a band, from its end in the clear inwards."""
    if box.width > box.height:
        for step in np.arange(0.0, max(1.0, box.width - label.width), 10.0):
            yield label.box(x=box.right - 4 - label.width - step, top=box.middle[1] - label.height / 2)
    for step in np.arange(0.0, max(1.0, box.height - label.height), label.height / 2):
        yield label.box(x=box.middle[0] - label.width / 2, top=box.top + 4 + step)


def _places_around(box: Box, label: Lettering, *, within: Box) -> tuple[Box, ...]:
    places = around(box.middle, width=label.width, height=label.height, within=within, nearest=POINT_R + 2)
    return places or (label.box(x=within.left, top=within.top),)


def _drawn(picture: SizesPicture, *, plane: Plane) -> Floats:
    """Points of all that is drawn, as rows (x, y, what it costs to cover it)."""
    edges = [_edge_points(plane.box_of(size)) for size in plane.view.sizes]
    hooves = [_hoof_points(hoof, plane=plane) for hoof in picture.hooves]
    return np.concatenate([*edges, *hooves])


def _edge_points(box: Box) -> Floats:
    across = np.arange(box.left, box.right, 4.0)
    down = np.arange(box.top, box.bottom, 4.0)
    x = np.concatenate([across, across, np.full_like(down, box.left), np.full_like(down, box.right)])
    y = np.concatenate([np.full_like(across, box.top), np.full_like(across, box.bottom), down, down])
    return np.column_stack([x, y, np.full_like(x, _EDGE_COST)])


def _inner_points(box: Box) -> Floats:
    x, y = np.meshgrid(np.arange(box.left + 3, box.right, 6.0), np.arange(box.top + 3, box.bottom, 6.0))
    return np.column_stack([x.ravel(), y.ravel(), np.full(x.size, _INSIDE_COST)])


def _hoof_points(hoof: DrawnHoof, *, plane: Plane) -> Floats:
    ellipse, x, y = ellipse_of(hoof), plane.x(hoof.width_mm), plane.y(hoof.length_mm)
    round_, turn = np.linspace(0.0, 2 * np.pi, 60), np.radians(ellipse.turn_deg)
    longer, shorter = ellipse.longer_mm * np.cos(round_), ellipse.shorter_mm * np.sin(round_)
    across = (longer * np.cos(turn) - shorter * np.sin(turn)) * plane.units_per_mm
    up = (longer * np.sin(turn) + shorter * np.cos(turn)) * plane.units_per_mm
    lines = [
        np.column_stack([x + sigmas * across, y - sigmas * up, np.full_like(across, _ELLIPSE_COST)])
        for sigmas in (1, 2)
    ]
    steps = np.array([-POINT_R, 0.0, POINT_R])
    right, down = np.meshgrid(x + steps, y + steps)
    return np.concatenate([*lines, np.column_stack([right.ravel(), down.ravel(), np.full(9, _POINT_COST)])])
