"""Cycle picture: a hoof's width and length over two trim cycles with their doubt, and the range of one size."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.catalog.values import Range
from hooflast.draw.boxes import Box
from hooflast.draw.cycle_values import CyclePanel, CyclePicture, CyclePoint, DrawnCycle, WeekTick
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import BODY, LARGE, LEADING, Anchor, letter, text_width, write
from hooflast.draw.ranges import RangeStyle, draw_range
from hooflast.draw.sheet import Sheet, add, line, number
from hooflast.draw.values import Tick
from hooflast.fit.hoof import Axis

TALLEST: Final = 150.0
"""Height of the panel that shows the most millimetres; the others have its scale, so that a millimetre looks alike."""

MARGIN_MM: Final = 1.0
WIDEST_TICK: Final = 60.0
_APART: Final = 6.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """A panel's place on the sheet: weeks to the right, millimetres upwards."""

    box: Box
    weeks: Range
    view: Range
    units_per_mm: float

    def x(self, week: float) -> float:
        share = (week - self.weeks.low_mm) / (self.weeks.high_mm - self.weeks.low_mm)
        return self.box.left + share * self.box.width

    def y(self, at_mm: float) -> float:
        return self.box.bottom - (at_mm - self.view.low_mm) * self.units_per_mm


def cycle_picture(picture: CyclePicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    panels = [panel for hoof in picture.hooves for panel in hoof.panels]
    extents = [view.high_mm - view.low_mm for view in map(_view, panels)]
    units_per_mm = TALLEST / max(extents, default=TALLEST)
    top = 12.0
    for place, hoof in enumerate(picture.hooves, start=1):
        top = _draw_hoof(sheet, hoof, name=f"hoof-{place}", picture=picture, units_per_mm=units_per_mm, top=top) + 12
    key = sheet.group("key")
    if panels:
        top = write_key(key, list(_entries(sheet, picture)), top=top) + 8
    return sheet.render(write_caption(key, picture.caption, top=top) + 12)


def _draw_hoof(
    sheet: Sheet, hoof: DrawnCycle, *, name: str, picture: CyclePicture, units_per_mm: float, top: float
) -> float:
    """Draw one hoof's words and panels; the next free height is returned."""
    group = sheet.group(name)
    width = RIGHT - LEFT
    top = write(group, letter(hoof.label, width=width, size=LARGE, kind="strong"), x=LEFT, top=top).bottom
    if hoof.found:
        top = write(group, letter(hoof.found, width=width), x=LEFT, top=top + 2).bottom
    for panel in hoof.panels:
        own = sheet.group(f"{name}-{panel.axis.value}", data_units_per_mm=units_per_mm)
        top = _draw_panel(sheet, own, panel=panel, picture=picture, units_per_mm=units_per_mm, top=top + 8)
    return top


def _draw_panel(
    sheet: Sheet, group: Element, *, panel: CyclePanel, picture: CyclePicture, units_per_mm: float, top: float
) -> float:
    name = write(group, letter(panel.name, width=RIGHT - LEFT, kind="strong"), x=LEFT, top=top)
    widest = max((text_width(tick.label, size=BODY) for tick in picture.ticks), default=0.0)
    view, points = _view(panel), panel.points
    left, upper = LEFT + min(widest, WIDEST_TICK) + 10, name.bottom + 4
    lower = upper + (view.high_mm - view.low_mm) * units_per_mm
    frame = _Frame(
        box=Box(left=left, right=RIGHT, top=upper, bottom=lower),
        weeks=Range(low_mm=points[0].week, high_mm=max(points[-1].week, points[0].week + 1.0)),
        view=view,
        units_per_mm=units_per_mm,
    )
    bottom = _draw_axes(group, picture, frame=frame)
    if panel.span is not None and panel.accepted is not None:
        _draw_size(sheet, group, size=(panel.span, panel.accepted), frame=frame)
    for run in panel.runs:
        _draw_run(group, run, frame=frame)
    for run, later in pairwise(panel.runs):
        x = frame.x(later[0].week)
        line(group, "margin", start=(x, frame.box.top), end=(x, frame.box.bottom))
        line(group, "hoof", start=(x, frame.y(run[-1].mean_mm)), end=(x, frame.y(later[0].mean_mm)))
    if panel.said:
        bottom = write(group, letter(panel.said, width=RIGHT - LEFT), x=LEFT, top=bottom + 2).bottom
    return bottom


def _view(panel: CyclePanel) -> Range:
    """The millimetres a panel shows: the hoof to two standard deviations, and the size with what it gives."""
    ends = [point.mean_mm + sigmas * point.sd_mm for point in panel.points for sigmas in (-2, 2)]
    if panel.accepted is not None:
        ends += [panel.accepted.low_mm, panel.accepted.high_mm]
    return Range(low_mm=min(ends) - MARGIN_MM, high_mm=max(ends) + MARGIN_MM)


def _draw_axes(group: Element, picture: CyclePicture, *, frame: _Frame) -> float:
    """Rule the panel at the ticks that have room, weeks below, millimetres at the left; the next free height."""
    box = frame.box
    for tick in _with_room(picture.ticks, frame=frame):
        y = frame.y(tick.at_mm)
        line(group, "hair", start=(box.left, y), end=(box.right, y))
        words = letter(tick.label, width=WIDEST_TICK, kind="aside")
        write(group, words, x=box.left - 10, top=y - words.height / 2, anchor=Anchor.END)
        line(group, "edge", start=(box.left - 7, y), end=(box.left - 3, y))
    for x in (box.left - 3, box.left):
        line(group, "margin", start=(x, box.top), end=(x, box.bottom))
    line(group, "edge", start=(box.left - 3, box.bottom), end=(box.right, box.bottom))
    row = box.bottom + 6
    for week, is_labelled in _weeks_with_room(picture.weeks, frame=frame):
        x = frame.x(week.at_week)
        line(group, "edge", start=(x, box.bottom), end=(x, box.bottom + 4))
        if is_labelled:
            write(group, letter(week.label, width=WIDEST_TICK, kind="aside"), x=x, top=row, anchor=Anchor.MIDDLE)
    name = letter(picture.weeks_label, width=RIGHT - LEFT, kind="aside")
    return write(group, name, x=RIGHT, top=row + BODY * LEADING, anchor=Anchor.END).bottom


def _with_room(ticks: Sequence[Tick], *, frame: _Frame) -> list[Tick]:
    """Every, every second, every fourth … tick from the first on, those in view: as many as stand apart."""
    every = 1
    while every < len(ticks) and (ticks[every].at_mm - ticks[0].at_mm) * frame.units_per_mm < BODY * LEADING + _APART:
        every *= 2
    return [tick for tick in ticks[::every] if frame.view.low_mm <= tick.at_mm <= frame.view.high_mm]


def _weeks_with_room(weeks: Sequence[WeekTick], *, frame: _Frame) -> list[tuple[WeekTick, bool]]:
    """The weeks in view, and whether each has room for its label."""
    inside = [tick for tick in weeks if frame.weeks.low_mm <= tick.at_week <= frame.weeks.high_mm]
    widest = max((text_width(tick.label, size=BODY) for tick in inside), default=0.0)
    every = 1
    while every < len(inside) and frame.x(inside[every].at_week) - frame.x(inside[0].at_week) < widest + _APART:
        every *= 2
    return [(tick, place % every == 0) for place, tick in enumerate(inside)]


def _draw_size(sheet: Sheet, group: Element, *, size: tuple[Range, Range], frame: _Frame) -> None:
    """The size's range as a hatched band across the panel, and around it what the closure gives."""
    span, accepted = size
    box = frame.box
    given = Box(left=box.left, right=box.right, top=frame.y(accepted.high_mm), bottom=frame.y(accepted.low_mm))
    add(group, "rect", kind="chosen-band", x=given.left, y=given.top, width=given.width, height=given.height)
    for kind, y in (("largest", given.top), ("smallest", given.bottom)):
        line(group, kind, start=(given.left, y), end=(given.right, y))
    band = Box(left=box.left, right=box.right, top=frame.y(span.high_mm), bottom=frame.y(span.low_mm))
    draw_range(group, band, open_along={Axis.WIDTH}, style=RangeStyle(hatch=sheet.fill("hatch"), within=box))


def _draw_run(group: Element, run: Sequence[CyclePoint], *, frame: _Frame) -> None:
    """One stretch between two trims: the doubt as a ribbon, one and two standard deviations wide, and the mean."""
    for sigmas, kind in ((2, "sure"), (1, "likely")):
        upper = [(frame.x(point.week), frame.y(point.mean_mm + sigmas * point.sd_mm)) for point in run]
        lower = [(frame.x(point.week), frame.y(point.mean_mm - sigmas * point.sd_mm)) for point in reversed(run)]
        add(group, "polygon", kind=kind, points=_joined(upper + lower))
    mean = [(frame.x(point.week), frame.y(point.mean_mm)) for point in run]
    add(group, "polyline", kind="line hoof", points=_joined(mean))


def _joined(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def _entries(sheet: Sheet, picture: CyclePicture) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_line(parent: Element, box: Box, *, kind: str) -> None:
        line(parent, kind, start=(box.left, box.middle[1]), end=(box.right, box.middle[1]))

    def draw_upright(parent: Element, box: Box) -> None:
        line(parent, "margin", start=(box.middle[0], box.top), end=(box.middle[0], box.bottom))

    def draw_ribbon(parent: Element, box: Box, *, kind: str) -> None:
        add(parent, "rect", kind=kind, x=box.left, y=box.top + 2, width=box.width, height=box.height - 4)

    def draw_band(parent: Element, box: Box) -> None:
        inner = Box(left=box.left, right=box.right, top=box.top + 2, bottom=box.bottom - 2)
        draw_range(parent, inner, open_along={Axis.WIDTH}, style=RangeStyle(hatch=sheet.fill("hatch"), within=box))

    yield picture.key.mean, partial(draw_line, kind="hoof")
    yield picture.key.likely, partial(draw_ribbon, kind="likely")
    yield picture.key.nearly_sure, partial(draw_ribbon, kind="sure")
    yield picture.key.trim, draw_upright
    if any(panel.span is not None for hoof in picture.hooves for panel in hoof.panels):
        yield picture.key.span, draw_band
        yield picture.key.give, partial(draw_line, kind="largest")
