"""Sizes picture: one boot model's sizes in the width-length plane, and the hooves among them with their doubt."""

from collections.abc import Iterator, Sequence
from collections.abc import Set as AbstractSet
from functools import partial
from itertools import pairwise
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Box
from hooflast.draw.ellipse import ellipse_of
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import BODY, LEADING, Anchor, Lettering, letter, text_width, write
from hooflast.draw.names import POINT_R, write_names
from hooflast.draw.plane import Plane, lay_out
from hooflast.draw.ranges import RangeStyle, draw_range, open_axes
from hooflast.draw.sheet import Sheet, add, line, number, plain
from hooflast.draw.values import DrawnHoof, SizesPicture, Tick
from hooflast.fit.hoof import Axis

_WIDEST_TICK: Final = 60.0
_TICK_GAP: Final = 8.0


def sizes_picture(picture: SizesPicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    axes = sheet.group("axes")
    head = write(axes, letter(picture.length_label, width=RIGHT - LEFT, kind="aside"), x=LEFT, top=10)
    ticks_width = max((text_width(tick.label, size=BODY) for tick in picture.ticks), default=0.0)
    plane = lay_out(picture, left=LEFT + min(ticks_width, _WIDEST_TICK) + 10, right=RIGHT, top=head.bottom + 8)
    bottom = _draw_axes(axes, picture, plane=plane)
    sizes, chosen, doubt, hooves = (sheet.group(layer) for layer in ("sizes", "chosen", "doubt", "hooves"))
    for size in plane.view.sizes:
        is_chosen = size.code in picture.chosen
        style = RangeStyle(hatch=sheet.fill("hatch") if is_chosen else None, within=plane.box)
        layer = chosen if is_chosen else sizes
        drawn = draw_range(layer, plane.box_of(size), open_along=open_axes(size), style=style)
        drawn.set("data-size", plain(size.code))
    for hoof in picture.hooves:
        _draw_ellipses(doubt, hoof, plane=plane)
        _draw_point(hooves, hoof, plane=plane)
    write_names(sheet.group("names"), picture, plane=plane)
    key = sheet.group("key")
    bottom = write_key(key, list(_entries(sheet, picture)), top=bottom + 12)
    return sheet.render(write_caption(key, picture.caption, top=bottom + 8) + 12)


def _draw_axes(parent: Element, picture: SizesPicture, *, plane: Plane) -> float:
    """Rule the page at every tick, label those that have room; the next free height is returned."""
    box, view = plane.box, plane.view
    widths = [tick for tick in picture.ticks if view.width.low_mm <= tick.at_mm <= view.width.high_mm]
    lengths = [tick for tick in picture.ticks if view.length.low_mm <= tick.at_mm <= view.length.high_mm]
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
    for tick, words in _with_room(picture.ticks, plane.units_per_mm, along=Axis.WIDTH):
        if (
            tick in widths
            and box.left - 8 <= plane.x(tick.at_mm) - words.width / 2
            and plane.x(tick.at_mm) + words.width / 2 <= box.right + 8
        ):
            write(parent, words, x=plane.x(tick.at_mm), top=row, anchor=Anchor.MIDDLE)
    for tick, words in _with_room(picture.ticks, plane.units_per_mm, along=Axis.LENGTH):
        if tick in lengths:
            write(parent, words, x=box.left - 10, top=plane.y(tick.at_mm) - words.height / 2, anchor=Anchor.END)
    name = letter(picture.width_label, width=RIGHT - LEFT, kind="aside")
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


def _draw_ellipses(parent: Element, hoof: DrawnHoof, *, plane: Plane) -> None:
    ellipse, x, y = ellipse_of(hoof), plane.x(hoof.width_mm), plane.y(hoof.length_mm)
    for sigmas, kind in ((2, "sure"), (1, "likely")):
        add(
            parent,
            "ellipse",
            kind=kind,
            data_limb=hoof.limb.value,
            cx=x,
            cy=y,
            rx=sigmas * ellipse.longer_mm * plane.units_per_mm,
            ry=sigmas * ellipse.shorter_mm * plane.units_per_mm,
            transform=f"rotate({number(-ellipse.turn_deg)} {number(x)} {number(y)})",
        )


def _draw_point(parent: Element, hoof: DrawnHoof, *, plane: Plane) -> None:
    kind = "fore" if hoof.limb.is_fore else "hind"
    x, y = plane.x(hoof.width_mm), plane.y(hoof.length_mm)
    add(parent, "circle", kind=kind, data_limb=hoof.limb.value, cx=x, cy=y, r=POINT_R)


def _entries(sheet: Sheet, picture: SizesPicture) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_sample(parent: Element, box: Box, *, hatch: str | None, open_along: AbstractSet[Axis]) -> None:
        inset = 0.0 if open_along else 4.0
        inner = Box(left=box.left + inset, right=box.right - inset, top=box.top + 1, bottom=box.bottom - 1)
        draw_range(parent, inner, open_along=open_along, style=RangeStyle(hatch=hatch, within=box))

    def draw_ellipse(parent: Element, box: Box, *, kind: str) -> None:
        add(parent, "ellipse", kind=kind, cx=box.middle[0], cy=box.middle[1], rx=11, ry=5.5)

    yield picture.key.chosen, partial(draw_sample, hatch=sheet.fill("hatch"), open_along=frozenset())
    yield picture.key.other, partial(draw_sample, hatch=None, open_along=frozenset())
    yield picture.key.one_axis, partial(draw_sample, hatch=None, open_along={Axis.WIDTH})
    yield picture.key.likely, partial(draw_ellipse, kind="likely")
    yield picture.key.nearly_sure, partial(draw_ellipse, kind="sure")
