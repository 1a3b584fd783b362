"""Plane: which part of the width-length plane a sizes picture shows, and where its millimetres lie on the sheet."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.draw.boxes import Box
from hooflast.draw.values import DrawnHoof, SizesPicture

REACH_SD: Final = 2.0
"""How many standard deviations of a hoof are in view: the outer ellipse."""

WIDE_MM: Final = 42.0
"""A view wider than this does without the sizes next to those in reach [C]."""

MARGIN_MM: Final = 2.0
LEAST_MM: Final = 18.0
FLATTEST: Final = 0.72
STEEPEST: Final = 1.12
"""Least and greatest height of the view in widths of it [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """The part of the plane in view, and the sizes shown in it."""

    width: Range
    length: Range
    sizes: tuple[Size, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Plane:
    """The view laid onto the sheet: equal units per mm on both axes, length upwards."""

    view: View
    box: Box

    @property
    def units_per_mm(self) -> float:
        return (self.box.right - self.box.left) / (self.view.width.high_mm - self.view.width.low_mm)

    def x(self, width_mm: float) -> float:
        return self.box.left + (width_mm - self.view.width.low_mm) * self.units_per_mm

    def y(self, length_mm: float) -> float:
        return self.box.bottom - (length_mm - self.view.length.low_mm) * self.units_per_mm

    def box_of(self, size: Size) -> Box:
        """The size's hoof range; along an axis its chart leaves out it reaches across the view."""
        width, length = size.width or self.view.width, size.length or self.view.length
        return Box(
            left=self.x(width.low_mm),
            right=self.x(width.high_mm),
            top=self.y(length.high_mm),
            bottom=self.y(length.low_mm),
        )


def lay_out(picture: SizesPicture, *, left: float, right: float, top: float) -> Plane:
    """The picture's view on the sheet, between `left` and `right`, from `top` down as far as it needs."""
    view = view_of(picture)
    units_per_mm = (right - left) / (view.width.high_mm - view.width.low_mm)
    bottom = top + (view.length.high_mm - view.length.low_mm) * units_per_mm
    return Plane(view=view, box=Box(left=left, top=top, right=right, bottom=bottom))


def view_of(picture: SizesPicture) -> View:
    """The hooves with their doubt, the sizes they reach or have chosen, and one more at either end if there is room."""
    reach = [_reach(hoof) for hoof in picture.hooves]
    width, length = _hull([width for width, _ in reach]), _hull([length for _, length in reach])
    places = [place for place, size in enumerate(picture.sizes) if _is_in_reach(size, reach, chosen=picture.chosen)]
    if not places:
        places = [min(range(len(picture.sizes)), key=lambda place: _apart(picture.sizes[place], (width, length)))]
    within = picture.sizes[min(places) : max(places) + 1]
    beside = picture.sizes[max(0, min(places) - 1) : max(places) + 2]
    wide = _view(beside, width=width, length=length)
    if max(_extent(wide.width), _extent(wide.length)) <= WIDE_MM:
        return wide
    return _view(within, width=width, length=length)


def _reach(hoof: DrawnHoof) -> tuple[Range, Range]:
    return (
        _about(hoof.width_mm, extent=2 * REACH_SD * hoof.width_sd_mm),
        _about(hoof.length_mm, extent=2 * REACH_SD * hoof.length_sd_mm),
    )


def _is_in_reach(size: Size, reach: Sequence[tuple[Range, Range]], *, chosen: frozenset[SizeCode]) -> bool:
    return size.code in chosen or any(_apart(size, hoof) == 0 for hoof in reach)


def _apart(size: Size, hoof: tuple[Range, Range]) -> float:
    """How far a size is from where a hoof may be, mm: the sum over the axes it has."""
    pairs = [(own, other) for own, other in zip((size.width, size.length), hoof, strict=True) if own is not None]
    return sum(max(0.0, own.low_mm - other.high_mm, other.low_mm - own.high_mm) for own, other in pairs)


def _view(sizes: tuple[Size, ...], *, width: Range, length: Range) -> View:
    width = _hull([width, *(size.width for size in sizes if size.width is not None)])
    length = _hull([length, *(size.length for size in sizes if size.length is not None)])
    across = max(_extent(width) + 2 * MARGIN_MM, LEAST_MM)
    along = max(_extent(length) + 2 * MARGIN_MM, FLATTEST * across)
    across = max(across, along / STEEPEST)
    return View(width=_about(_middle(width), extent=across), length=_about(_middle(length), extent=along), sizes=sizes)


def _hull(spans: Iterable[Range]) -> Range:
    spans = list(spans)
    return Range(low_mm=min(span.low_mm for span in spans), high_mm=max(span.high_mm for span in spans))


def _about(middle_mm: float, *, extent: float) -> Range:
    return Range(low_mm=middle_mm - extent / 2, high_mm=middle_mm + extent / 2)


def _middle(span: Range) -> float:
    return (span.low_mm + span.high_mm) / 2


def _extent(span: Range) -> float:
    return span.high_mm - span.low_mm
