"""Strip: one axis of a sole picture, magnified: the size's range as a bar, the hoof with its doubt, both clearances."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.catalog.values import Range
from hooflast.draw.boxes import spread
from hooflast.draw.key import LEFT, RIGHT
from hooflast.draw.lettering import BODY, LEADING, Anchor, Lettering, letter, write
from hooflast.draw.sheet import WIDTH, Sheet, add, line
from hooflast.draw.values import ClearanceWords, MissingAxis
from hooflast.fit.hoof import Axis

INSET: Final = 14.0
"""How far a strip keeps from the margins, where the lines from the sole come down."""

DOUBT_SD: Final = 2.0
"""How many standard deviations the doubt is drawn to."""

MOST_UNITS_PER_MM: Final = 24.0

_FROM, _TO = LEFT + INSET, RIGHT - INSET
_ROW: Final = BODY * LEADING
_BAR: Final = 14.0
_TALLER: Final = 4.0
_SLASH: Final = 3.2
_APART: Final = 8.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """One axis of hoof and size: the hoof's mean and standard uncertainty, the range if the chart has one; mm."""

    axis: Axis
    mean_mm: float
    sd_mm: float
    span: Range | None

    @property
    def reach(self) -> Range:
        """All that a strip shows: the size's range and the hoof with its doubt."""
        low_mm, high_mm = self.mean_mm - DOUBT_SD * self.sd_mm, self.mean_mm + DOUBT_SD * self.sd_mm
        span = self.span or Range(low_mm=low_mm, high_mm=high_mm)
        return Range(low_mm=min(low_mm, span.low_mm), high_mm=max(high_mm, span.high_mm))


@dataclass(frozen=True, slots=True, kw_only=True)
class Scale:
    """Millimetres of one axis laid along a strip, its middle on the sheet's."""

    middle_mm: float
    units_per_mm: float

    def x(self, at_mm: float) -> float:
        return WIDTH / 2 + (at_mm - self.middle_mm) * self.units_per_mm


def magnification(axes: Sequence[Measured]) -> float:
    """Units per mm with which every strip has room: one for all, so that a millimetre looks alike on each."""
    widest_mm = max(measured.reach.high_mm - measured.reach.low_mm for measured in axes)
    return min(MOST_UNITS_PER_MM, (_TO - _FROM) / widest_mm)


def draw_missing(sheet: Sheet, words: MissingAxis, /, *, axis: Axis, top: float) -> float:
    """Say that the size's chart leaves this axis out; the next free height is returned."""
    strip = sheet.group(f"strip-{axis.value}")
    top = write(strip, letter(words.name, width=_TO - _FROM, kind="strong"), x=_FROM, top=top).bottom
    return write(strip, letter(words.sentence, width=_TO - _FROM), x=_FROM, top=top).bottom


def draw_strip(sheet: Sheet, words: ClearanceWords, /, *, measured: Measured, units_per_mm: float, top: float) -> float:
    """Draw one axis from `top` down; the next free height is returned."""
    span, reach = measured.span or measured.reach, measured.reach
    scale = Scale(middle_mm=(reach.low_mm + reach.high_mm) / 2, units_per_mm=units_per_mm)
    strip = sheet.group(f"strip-{measured.axis.value}", data_units_per_mm=units_per_mm)
    row = _write_head(strip, words, top=top) + 3
    low, hoof, high = scale.x(span.low_mm), scale.x(measured.mean_mm), scale.x(span.high_mm)
    gaps = ((words.above_smallest, low, hoof), (words.to_largest, hoof, high))
    row = _draw_clearances(strip, gaps, top=row)
    _draw_bar(sheet, strip, measured=measured, scale=scale, top=row)
    marks = sorted(
        ((low, words.smallest, "boot"), (hoof, words.hoof, "strong"), (high, words.largest, "boot")),
        key=lambda mark: mark[0],
    )
    labels = [letter(text, width=(_TO - _FROM) / 3 - _APART, kind=kind) for _, text, kind in marks]
    below = row + _BAR + _TALLER
    bottom = below
    for (x, _, _), label, middle in zip(marks, labels, _spread([mark[0] for mark in marks], labels), strict=True):
        line(strip, "leader", start=(x, below + 1), end=(middle, below + 7))
        bottom = max(bottom, write(strip, label, x=middle, top=below + 8, anchor=Anchor.MIDDLE).bottom)
    return bottom


def _write_head(strip: Element, words: ClearanceWords, *, top: float) -> float:
    """The axis' name and its verdict, dots between them as in an account book."""
    half = (_TO - _FROM) / 2 - _APART
    name = write(strip, letter(words.name, width=half, kind="strong"), x=_FROM, top=top)
    verdict = write(strip, letter(words.verdict, width=half), x=_TO, top=top, anchor=Anchor.END)
    if verdict.left - name.right > 3 * _APART:
        baseline = top + 0.82 * BODY
        line(strip, "dots", start=(name.right + _APART, baseline), end=(verdict.left - _APART, baseline))
    return max(name.bottom, verdict.bottom)


def _draw_clearances(strip: Element, gaps: Sequence[tuple[str, float, float]], *, top: float) -> float:
    """Both clearances as dimension lines under their labels; one used up is drawn below, as an alert."""
    used_up = [start > end for _, start, end in gaps]
    labels = [
        letter(text, width=(_TO - _FROM) / 2 - _APART, kind="alert strong" if is_used_up else "")
        for (text, _, _), is_used_up in zip(gaps, used_up, strict=True)
    ]
    middles = [(start + end) / 2 for _, start, end in gaps]
    below = top + max(label.height for label in labels)
    row = below + 8
    for (_, start, end), label, middle, is_used_up, own in zip(
        gaps, labels, _spread(middles, labels), used_up, middles, strict=True
    ):
        y, kind = (row + 6, "mark") if is_used_up else (row, "measure")
        write(strip, label, x=middle, top=below - label.height, anchor=Anchor.MIDDLE)
        line(strip, "leader", start=(middle, below + 1), end=(own, y - 1))
        line(strip, kind, start=(start, y), end=(end, y))
        for x in (start, end):
            line(strip, kind, start=(x - _SLASH, y + _SLASH), end=(x + _SLASH, y - _SLASH))
    return row + (12 if any(used_up) else 6) + _TALLER


def _draw_bar(sheet: Sheet, strip: Element, *, measured: Measured, scale: Scale, top: float) -> None:
    def draw(kind: str, span: Range, **more: str) -> None:
        width = (span.high_mm - span.low_mm) * scale.units_per_mm
        add(strip, "rect", kind=kind, x=scale.x(span.low_mm), y=top, width=width, height=_BAR, **more)

    span = measured.span or measured.reach
    draw("range", span)
    for sigmas in (DOUBT_SD, 1.0):
        half = sigmas * measured.sd_mm
        draw("doubt", Range(low_mm=measured.mean_mm - half, high_mm=measured.mean_mm + half))
    half = DOUBT_SD * measured.sd_mm
    draw("", Range(low_mm=measured.mean_mm - half, high_mm=measured.mean_mm + half), fill=sheet.fill("stipple"))
    for kind, at_mm in (("smallest", span.low_mm), ("largest", span.high_mm), ("hoof", measured.mean_mm)):
        x = scale.x(at_mm)
        line(strip, kind, start=(x, top - _TALLER), end=(x, top + _BAR + _TALLER))


def _spread(middles: Sequence[float], labels: Sequence[Lettering]) -> tuple[float, ...]:
    return spread(middles, widths=[label.width + _APART for label in labels], within=(_FROM - _APART, _TO + _APART))
