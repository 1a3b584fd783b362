"""Coverage picture: what sizes cover of the width-length plane, the herd on it, and the gaps between the two."""

from collections.abc import Iterator
from functools import partial
from typing import Final
from xml.etree.ElementTree import Element

import numpy as np

from hooflast.catalog.values import Range
from hooflast.draw.axes import draw_axes, left_of_plane
from hooflast.draw.boxes import Box
from hooflast.draw.contours import contours
from hooflast.draw.herd_values import CoveragePicture, DrawnGap
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import Anchor, letter, write
from hooflast.draw.plane import FLATTEST, STEEPEST, Plane, View
from hooflast.draw.sheet import Sheet, add, number
from hooflast.fit.coverage import PLANE_MM, PRESENT
from hooflast.fit.normal import Floats

HALF: Final = 0.5
MARGIN_MM: Final = 4.0
LEAST_MM: Final = 30.0
_WIDEST_NUMBER: Final = 40.0


def coverage_picture(picture: CoveragePicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    axes = sheet.group("axes")
    head = write(axes, letter(picture.length_label, width=RIGHT - LEFT, kind="aside"), x=LEFT, top=10)
    plane = _lay_out(picture, top=head.bottom + 8)
    bottom = draw_axes(axes, picture.ticks, plane=plane, width_label=picture.width_label)
    covered, herd, gaps = (sheet.group(layer) for layer in ("covered", "herd", "gaps"))
    one = picture.covered
    shown = _shown(plane)
    taken = _outline(one.accepted[shown], height=one.threshold, plane=plane)
    missed = _outline((one.present & (one.accepted < one.threshold))[shown].astype(float), height=0.5, plane=plane)
    for parent, outline, fills in (
        (covered, taken, ({"kind": "range"}, {"fill": sheet.fill("hatch")})),
        (gaps, missed, ({"kind": "missed"}, {"fill": sheet.fill("stipple")})),
    ):
        for fill in fills if outline else ():
            add(parent, "path", d=outline, fill_rule="evenodd", **fill)
    for share, kind in ((PRESENT, "measure"), (HALF, "hoof")):
        height = float(one.mass[one.holding(share)].min())
        outline = _outline(one.mass[shown] / height, height=1.0, plane=plane)
        add(herd, "path", kind=f"line {kind}", d=outline)
    dots = _dots(picture.hooves, plane=plane)
    if dots:
        add(herd, "path", kind="line speck", d=dots)
    _write_numbers(sheet.group("numbers"), picture.gaps, plane=plane)
    key = sheet.group("key")
    bottom = write_key(key, list(_entries(sheet, picture, has_gap=bool(missed))), top=bottom + 12)
    return sheet.render(write_caption(key, picture.caption, top=bottom + 8) + 12)


def _lay_out(picture: CoveragePicture, *, top: float) -> Plane:
    """The part of the plane where the herd is, with a margin, at equal units per mm on both axes."""
    there = picture.covered.present
    width, length = (PLANE_MM[np.flatnonzero(there.any(axis=axis))] for axis in (1, 0))
    across = max(float(np.ptp(width)) + 2 * MARGIN_MM, LEAST_MM)
    along = max(float(np.ptp(length)) + 2 * MARGIN_MM, FLATTEST * across)
    across = max(across, along / STEEPEST)
    view = View(width=_about(width, extent=across), length=_about(length, extent=along), sizes=())
    left = left_of_plane(picture.ticks)
    units_per_mm = (RIGHT - left) / across
    return Plane(view=view, box=Box(left=left, right=RIGHT, top=top, bottom=top + along * units_per_mm))


def _about(places_mm: Floats, *, extent: float) -> Range:
    middle = float(places_mm[0] + places_mm[-1]) / 2
    return Range(low_mm=middle - extent / 2, high_mm=middle + extent / 2)


def _shown(plane: Plane) -> tuple[slice, slice]:
    """The lattice points inside the view, along width and length."""
    found = []
    for span in (plane.view.width, plane.view.length):
        inside = np.flatnonzero((span.low_mm <= PLANE_MM) & (span.high_mm >= PLANE_MM))
        found.append(slice(int(inside[0]), int(inside[-1]) + 1))
    return found[0], found[1]


def _outline(values: Floats, *, height: float, plane: Plane) -> str:
    """Path data round all that is at least so high; empty where nothing is."""
    first_width, first_length = (float(PLANE_MM[shown.start]) for shown in _shown(plane))
    loops = contours(values, height=height) if (values >= height).any() else []
    drawn = []
    for loop in loops:
        inside = [
            plane.box.nearest((plane.x(first_width + row), plane.y(first_length + column))) for row, column in loop
        ]
        drawn.append([f"{number(x)} {number(y)}" for x, y in inside])
    return "".join(f"M{' '.join(loop)}Z" for loop in drawn)


def _dots(hooves: Floats, *, plane: Plane) -> str:
    """Path data of a dot at each hoof in view."""
    view = plane.view
    inside = [
        (width, length)
        for width, length in hooves.tolist()
        if view.width.low_mm <= width <= view.width.high_mm and view.length.low_mm <= length <= view.length.high_mm
    ]
    places = dict.fromkeys(f"{number(plane.x(width))} {number(plane.y(length))}" for width, length in inside)
    return "".join(f"M{place} {place}Z" for place in places)


def _write_numbers(parent: Element, gaps: tuple[DrawnGap, ...], /, *, plane: Plane) -> None:
    """Write each gap's number at its middle, the first ones first, as long as none covers another."""
    taken: list[Box] = []
    for gap in gaps:
        words = letter(gap.label, width=_WIDEST_NUMBER, kind="alert strong")
        x, top = plane.x(gap.width_mm), plane.y(gap.length_mm) - words.height / 2
        box = words.box(x=x, top=top, anchor=Anchor.MIDDLE)
        if plane.box.holds(box) and not any(box.meets(other) for other in taken):
            taken.append(write(parent, words, x=x, top=top, anchor=Anchor.MIDDLE))


def _entries(sheet: Sheet, picture: CoveragePicture, *, has_gap: bool) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_patch(parent: Element, box: Box, *, kind: str, pattern: str) -> None:
        place = {"x": box.left + 2, "y": box.top + 1, "width": box.width - 4, "height": box.height - 2}
        add(parent, "rect", kind=kind, **place)
        add(parent, "rect", fill=sheet.fill(pattern), **place)

    def draw_loop(parent: Element, box: Box, *, kind: str) -> None:
        add(parent, "ellipse", kind=f"line {kind}", cx=box.middle[0], cy=box.middle[1], rx=11, ry=5.2)

    def draw_dot(parent: Element, box: Box) -> None:
        place = f"{number(box.middle[0])} {number(box.middle[1])}"
        add(parent, "path", kind="line speck", d=f"M{place} {place}Z")

    yield picture.key.covered, partial(draw_patch, kind="range", pattern="hatch")
    if has_gap:
        yield picture.key.gap, partial(draw_patch, kind="missed", pattern="stipple")
    yield picture.key.half, partial(draw_loop, kind="hoof")
    yield picture.key.nearly_all, partial(draw_loop, kind="measure")
    yield picture.key.hoof, draw_dot
