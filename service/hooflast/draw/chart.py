"""Chart picture: all sizes of one boot model in the width-length plane, with what they share or leave between them."""

from collections.abc import Iterator
from functools import partial
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.catalog.values import Range, Size
from hooflast.draw.axes import draw_axes, left_of_plane
from hooflast.draw.boxes import Box
from hooflast.draw.chart_values import ChartPicture, DrawnPatch
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import Lettering, letter, write
from hooflast.draw.plane import FLATTEST, LEAST_MM, MARGIN_MM, STEEPEST, Plane, View
from hooflast.draw.ranges import RangeStyle, draw_range, open_axes
from hooflast.draw.sheet import Sheet, add, plain

_INSET: Final = 3.0
_WIDEST_CODE: Final = 110.0


def chart_picture(picture: ChartPicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    axes = sheet.group("axes")
    head = write(axes, letter(picture.length_label, width=RIGHT - LEFT, kind="aside"), x=LEFT, top=10)
    plane = _lay_out(picture, top=head.bottom + 8)
    bottom = draw_axes(axes, picture.ticks, plane=plane, width_label=picture.width_label)
    sizes, shared, gaps, names = (sheet.group(layer) for layer in ("sizes", "shared", "gaps", "names"))
    for size in picture.sizes:
        hatch = sheet.fill("hatch") if size.code in picture.doubtful else None
        style = RangeStyle(hatch=hatch, within=plane.box)
        drawn = draw_range(sizes, plane.box_of(size), open_along=open_axes(size), style=style)
        drawn.set("data-size", plain(size.code))
    for layer, patches, pattern in ((shared, picture.shared, "stipple"), (gaps, picture.gaps, None)):
        for patch in patches:
            _draw_patch(layer, _box_of(patch, plane=plane), pattern=pattern and sheet.fill(pattern))
    _write_codes(names, picture, plane=plane)
    key = sheet.group("key")
    bottom = write_key(key, list(_entries(sheet, picture)), top=bottom + 12)
    return sheet.render(write_caption(key, picture.caption, top=bottom + 8) + 12)


def _lay_out(picture: ChartPicture, *, top: float) -> Plane:
    """All sizes in view, with a margin, at equal units per mm on both axes."""
    widths = [size.width for size in picture.sizes if size.width is not None]
    lengths = [size.length for size in picture.sizes if size.length is not None]
    width, length = _hull(widths or lengths), _hull(lengths or widths)
    across = max(width.high_mm - width.low_mm + 2 * MARGIN_MM, LEAST_MM)
    along = max(length.high_mm - length.low_mm + 2 * MARGIN_MM, FLATTEST * across)
    across = max(across, along / STEEPEST)
    view = View(width=_about(width, extent=across), length=_about(length, extent=along), sizes=picture.sizes)
    left = left_of_plane(picture.ticks)
    bottom = top + along * (RIGHT - left) / across
    return Plane(view=view, box=Box(left=left, right=RIGHT, top=top, bottom=bottom))


def _hull(spans: list[Range]) -> Range:
    return Range(low_mm=min(span.low_mm for span in spans), high_mm=max(span.high_mm for span in spans))


def _about(span: Range, *, extent: float) -> Range:
    middle = (span.low_mm + span.high_mm) / 2
    return Range(low_mm=middle - extent / 2, high_mm=middle + extent / 2)


def _box_of(patch: DrawnPatch, *, plane: Plane) -> Box:
    width, length = patch.width or plane.view.width, patch.length or plane.view.length
    return Box(
        left=plane.x(width.low_mm),
        right=plane.x(width.high_mm),
        top=plane.y(length.high_mm),
        bottom=plane.y(length.low_mm),
    )


def _draw_patch(parent: Element, box: Box, *, pattern: str | None) -> None:
    place = {"x": box.left, "y": box.top, "width": box.width, "height": box.height}
    add(parent, "rect", kind="sure" if pattern is None else "missed", **place)
    if pattern is not None:
        add(parent, "rect", fill=pattern, **place)


def _write_codes(parent: Element, picture: ChartPicture, /, *, plane: Plane) -> None:
    """Write each size's code into a corner of it that is free, those in doubt first; one without room goes without."""
    taken: list[Box] = []
    for size in sorted(picture.sizes, key=lambda size: size.code not in picture.doubtful):
        words = letter(size.code, width=_WIDEST_CODE, kind="boot strong" if size.code in picture.doubtful else "aside")
        for place in _corners(size, words, plane=plane):
            if plane.box.holds(place) and not any(place.meets(other) for other in taken):
                taken.append(write(parent, words, x=place.left, top=place.top))
                break


def _corners(size: Size, words: Lettering, *, plane: Plane) -> Iterator[Box]:
    box = plane.box_of(size)
    lefts = (box.left + _INSET, box.right - _INSET - words.width, box.middle[0] - words.width / 2)
    tops = (box.top + _INSET, box.bottom - _INSET - words.height, box.middle[1] - words.height / 2)
    for left in lefts:
        for top in tops:
            yield words.box(x=left, top=top)
    for left, top in ((box.right + _INSET, tops[0]), (box.left - _INSET - words.width, tops[1])):
        yield words.box(x=left, top=top)


def _entries(sheet: Sheet, picture: ChartPicture) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_size(parent: Element, box: Box, *, hatch: str | None) -> None:
        inner = Box(left=box.left + 4, right=box.right - 4, top=box.top + 1, bottom=box.bottom - 1)
        draw_range(parent, inner, open_along=frozenset(), style=RangeStyle(hatch=hatch, within=box))

    def draw_patch(parent: Element, box: Box, *, pattern: str | None) -> None:
        _draw_patch(
            parent, Box(left=box.left + 4, right=box.right - 4, top=box.top + 1, bottom=box.bottom - 1), pattern=pattern
        )

    yield picture.key.size, partial(draw_size, hatch=None)
    if picture.doubtful:
        yield picture.key.doubtful, partial(draw_size, hatch=sheet.fill("hatch"))
    if picture.shared:
        yield picture.key.shared, partial(draw_patch, pattern=sheet.fill("stipple"))
    if picture.gaps:
        yield picture.key.gap, partial(draw_patch, pattern=None)
