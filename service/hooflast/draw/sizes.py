"""Sizes picture: one boot model's sizes in the width-length plane, and the hooves among them with their doubt."""

from collections.abc import Iterator
from collections.abc import Set as AbstractSet
from functools import partial
from xml.etree.ElementTree import Element

from hooflast.draw.axes import draw_axes, left_of_plane
from hooflast.draw.boxes import Box
from hooflast.draw.ellipse import ellipse_of
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import letter, write
from hooflast.draw.names import POINT_R, write_names
from hooflast.draw.plane import Plane, lay_out
from hooflast.draw.ranges import RangeStyle, draw_range, open_axes
from hooflast.draw.sheet import Sheet, add, number, plain
from hooflast.draw.values import DrawnHoof, SizesPicture
from hooflast.fit.hoof import Axis


def sizes_picture(picture: SizesPicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    axes = sheet.group("axes")
    head = write(axes, letter(picture.length_label, width=RIGHT - LEFT, kind="aside"), x=LEFT, top=10)
    plane = lay_out(picture, left=left_of_plane(picture.ticks), right=RIGHT, top=head.bottom + 8)
    bottom = draw_axes(axes, picture.ticks, plane=plane, width_label=picture.width_label)
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
