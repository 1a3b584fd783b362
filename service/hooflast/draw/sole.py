"""Sole picture: one hoof from below against the largest and the smallest hoof its size is made for, clearances beside.

The outlines are drawn about one middle [C]: half of each clearance lies on either side. Where a hoof really comes to
stand in a boot is not known to a size chart.
"""

from collections.abc import Iterator, Sequence
from enum import StrEnum
from functools import partial
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.catalog.values import Size
from hooflast.draw.boxes import Box, Point
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import BODY, LARGE, LEADING, Anchor, letter, write
from hooflast.draw.outline import Curve, Sole
from hooflast.draw.sheet import WIDTH, Sheet, add, line
from hooflast.draw.strip import DOUBT_SD, Measured, draw_missing, draw_strip, magnification
from hooflast.draw.values import DrawnHoof, MissingAxis, SolePicture, Tick
from hooflast.fit.hoof import Axis


class Bound(StrEnum):
    """The largest or the smallest hoof a size is made for; also the kind of line it is drawn with."""

    LARGEST = "largest"
    SMALLEST = "smallest"


MOST_UNITS: Final = 236.0
"""Room for the drawing of the sole, both ways."""

_LOUPE_R: Final = 9.0
_RING_R: Final = 3.6
_BESIDE_THE_TOE: Final = 100.0
_ROW: Final = BODY * LEADING


def sole_picture(picture: SolePicture) -> str:
    """The picture as SVG text."""
    sheet, hoof, size = Sheet(picture.identity), picture.hoof, picture.size
    head = sheet.group("head")
    limb = write(head, letter(hoof.label, width=140, size=LARGE, kind="strong"), x=LEFT, top=10)
    code = write(head, letter(size.code, width=140, size=LARGE, kind="boot strong"), x=RIGHT, top=10, anchor=Anchor.END)
    widest_mm, longest_mm = extent_mm(hoof, size)
    units_per_mm = MOST_UNITS / max(widest_mm, longest_mm)
    half = longest_mm * units_per_mm / 2
    top = (
        limb.middle[1]
        if max(words.width for words in (limb, code)) <= _BESIDE_THE_TOE
        else max(limb.bottom, code.bottom)
    )
    middle = WIDTH / 2, top + 6 + half
    drawing = sheet.group("sole", data_units_per_mm=f"{units_per_mm:.5f}")
    draw_sole(
        drawing,
        hoof,
        size=size,
        bounds=tuple(Bound),
        middle=middle,
        units_per_mm=units_per_mm,
        stipple=sheet.fill("stipple"),
    )
    bottom = _draw_scale(drawing, picture.scale, units_per_mm=units_per_mm, top=middle[1] + half + 12)
    bottom = _draw_strips(sheet, picture, middle=middle, units_per_mm=units_per_mm, top=bottom + 12)
    key = sheet.group("key")
    bottom = write_key(key, list(_entries(sheet, picture)), top=bottom + 14)
    return sheet.render(write_caption(key, picture.caption, top=bottom + 8) + 12)


def extent_mm(hoof: DrawnHoof, size: Size | None) -> tuple[float, float]:
    """Width and length of all that `draw_sole` draws, mm."""
    width_mm = hoof.width_mm + DOUBT_SD * hoof.width_sd_mm
    length_mm = hoof.length_mm + DOUBT_SD * hoof.length_sd_mm
    if size is not None and size.width is not None:
        width_mm = max(width_mm, size.width.high_mm)
    if size is not None and size.length is not None:
        length_mm = max(length_mm, size.length.high_mm)
    return width_mm, length_mm


def draw_sole(
    parent: Element,
    hoof: DrawnHoof,
    /,
    *,
    size: Size | None,
    bounds: Sequence[Bound],
    middle: Point,
    units_per_mm: float,
    stipple: str,
) -> None:
    """Draw the hoof with its doubt as a soft band, and the bounds of its size, about one middle."""

    def draw(curve: Curve, kind: str) -> None:
        add(parent, "path", kind=f"line {kind}", d=curve.path(middle=middle, units_per_mm=units_per_mm))

    for sigmas in (DOUBT_SD, 1.0):
        rings = [
            _sole(hoof, sigmas=sign * sigmas).bounds.path(middle=middle, units_per_mm=units_per_mm) for sign in (1, -1)
        ]
        add(parent, "path", kind="doubt", d="".join(rings), fill_rule="evenodd")
        if sigmas == DOUBT_SD:
            add(parent, "path", fill=stipple, d="".join(rings), fill_rule="evenodd")
    if size is not None:
        for kind in bounds:
            for curve in _bounds(hoof, size, is_largest=kind is Bound.LARGEST):
                draw(curve, kind)
    sole = _sole(hoof, sigmas=0.0)
    for curve in sole.frog:
        add(parent, "path", kind="frog", d=curve.path(middle=middle, units_per_mm=units_per_mm))
    for curve in (*sole.inside, sole.frog[1]):
        draw(curve, "inner")
    draw(sole.outline, "hoof")


def _sole(hoof: DrawnHoof, *, sigmas: float) -> Sole:
    return Sole(
        limb=hoof.limb,
        width_mm=max(0.0, hoof.width_mm + sigmas * hoof.width_sd_mm),
        length_mm=max(0.0, hoof.length_mm + sigmas * hoof.length_sd_mm),
    )


def _bounds(hoof: DrawnHoof, size: Size, *, is_largest: bool) -> tuple[Curve, ...]:
    """The outline of the size's largest or smallest hoof; open along an axis its chart leaves out."""
    width_mm, length_mm = (
        mean_mm if span is None else span.high_mm if is_largest else span.low_mm
        for mean_mm, span in ((hoof.width_mm, size.width), (hoof.length_mm, size.length))
    )
    sole = Sole(limb=hoof.limb, width_mm=width_mm, length_mm=length_mm)
    if size.width is not None and size.length is not None:
        return (sole.bounds,)
    if size.width is None and size.length is None:
        return ()
    return sole.open_along(Axis.LENGTH if size.length is None else Axis.WIDTH)


def _draw_scale(parent: Element, scale: Tick, *, units_per_mm: float, top: float) -> float:
    """A scale bar under the sole; the next free height is returned."""
    label = letter(scale.label, width=120, kind="aside")
    length = scale.at_mm * units_per_mm
    left, y = (WIDTH - length - 6 - label.width) / 2, top + _ROW / 2
    line(parent, "edge", start=(left, y), end=(left + length, y)).set("data-scale", "")
    for x in (left, left + length):
        line(parent, "edge", start=(x, y - 3), end=(x, y + 3))
    return write(parent, label, x=left + length + 6, top=top).bottom


def _draw_strips(sheet: Sheet, picture: SolePicture, *, middle: Point, units_per_mm: float, top: float) -> float:
    """One strip per axis, each with a line from the place on the sole that it magnifies."""
    hoof, size = picture.hoof, picture.size
    sole = _sole(hoof, sigmas=0.0)
    axes = (
        Measured(axis=Axis.WIDTH, mean_mm=hoof.width_mm, sd_mm=hoof.width_sd_mm, span=size.width),
        Measured(axis=Axis.LENGTH, mean_mm=hoof.length_mm, sd_mm=hoof.length_sd_mm, span=size.length),
    )
    magnified = magnification([measured for measured in axes if measured.span is not None] or axes)
    details = sheet.group("details")
    for measured, words, place, margin in (
        (axes[0], picture.width, sole.quarter, RIGHT - _RING_R),
        (axes[1], picture.length, sole.buttress, LEFT + _RING_R),
    ):
        if isinstance(words, MissingAxis):
            top = draw_missing(sheet, words, axis=measured.axis, top=top) + 12
            continue
        loupe = middle[0] + place[0] * units_per_mm, middle[1] + place[1] * units_per_mm
        _draw_detail(details, loupe, margin=margin, ring=top + _ROW / 2)
        top = draw_strip(sheet, words, measured=measured, units_per_mm=magnified, top=top) + 12
    return top - 12


def _draw_detail(parent: Element, loupe: Point, *, margin: float, ring: float) -> None:
    """Mark a place on the sole, and lead down along the margin to the strip that magnifies it."""
    out = _LOUPE_R if margin > loupe[0] else -_LOUPE_R
    add(parent, "circle", kind="line leader", cx=loupe[0], cy=loupe[1], r=_LOUPE_R)
    line(parent, "leader", start=(loupe[0] + out, loupe[1]), end=(margin, loupe[1]))
    line(parent, "leader", start=(margin, loupe[1]), end=(margin, ring - _RING_R))
    add(parent, "circle", kind="line leader", cx=margin, cy=ring, r=_RING_R)


def _entries(sheet: Sheet, picture: SolePicture) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_line(parent: Element, box: Box, *, kind: str) -> None:
        line(parent, kind, start=(box.left, box.middle[1]), end=(box.right, box.middle[1]))

    def draw_doubt(parent: Element, box: Box) -> None:
        place = {"x": box.left, "y": box.top + 2, "width": box.width, "height": box.height - 4}
        add(parent, "rect", kind="doubt", **place)
        add(parent, "rect", fill=sheet.fill("stipple"), **place)

    yield picture.key.hoof, partial(draw_line, kind="hoof")
    yield picture.key.doubt, draw_doubt
    yield picture.key.largest, partial(draw_line, kind="largest")
    yield picture.key.smallest, partial(draw_line, kind="smallest")
