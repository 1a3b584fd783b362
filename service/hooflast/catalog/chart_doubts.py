"""Chart doubts: what to look at again in a boot model's size chart, by itself.

Overlapping sizes, gaps between sizes and charts of one axis are real and can be served; each may also be a slip.
"""

from collections.abc import Iterator
from itertools import pairwise
from typing import Final

from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.values import BootModel, Range, Size
from hooflast.errors import Fact
from hooflast.fit.hoof import Axis

OVERLAP_SHARE: Final = 1 / 3
"""Sizes overlap if, on every axis that both have, more than this share of the smaller range lies in the other [C]."""

WIDEST_STEP: Final = 1.0
"""Ends of neighbouring ranges that lie apart by more than so many of the chart's rounding steps leave a gap [C]."""

SMALLEST_SPAN_MM: Final = 1.0
LARGEST_SPAN_MM: Final = 25.0
"""A size's range that spans less or more may be a slip [C]."""


Found = tuple[DoubtCode, dict[str, Fact]]
"""A doubt and its facts: the sizes, the axis, the lengths in mm."""


def chart_doubts(boot: BootModel) -> Iterator[Found]:
    """Everything to look at again in one chart, from small sizes to large."""
    yield from _missing(boot)
    for size in boot.sizes:
        yield from _spans(size)
    for smaller, larger in pairwise(boot.sizes):
        if found := _swallowed(smaller, larger):
            inner, outer = found
            yield DoubtCode.SIZE_SWALLOWED, {"size": inner.code, "other_size": outer.code}
        elif _overlap(smaller, larger):
            yield DoubtCode.SIZES_OVERLAP, {"size": smaller.code, "other_size": larger.code}
        else:
            yield from _gaps(smaller, larger, step_mm=boot.chart_step_mm)


def _missing(boot: BootModel) -> Iterator[Found]:
    for axis in Axis:
        without = [size.code for size in boot.sizes if _range(size, axis) is None]
        if len(without) == len(boot.sizes):
            yield DoubtCode.AXIS_MISSING, {"axis": axis.value}
        elif without:
            yield DoubtCode.AXIS_MISSING_IN_SOME, {"axis": axis.value, "size_list": ",".join(without)}


def _spans(size: Size) -> Iterator[Found]:
    for axis in Axis:
        here = _range(size, axis)
        span = SMALLEST_SPAN_MM if here is None else here.high_mm - here.low_mm
        facts: dict[str, Fact] = {"size": size.code, "axis": axis.value, "span_mm": span}
        if span < SMALLEST_SPAN_MM:
            yield DoubtCode.RANGE_NARROW, facts
        if span > LARGEST_SPAN_MM:
            yield DoubtCode.RANGE_WIDE, facts


def _swallowed(smaller: Size, larger: Size) -> tuple[Size, Size] | None:
    """Of two sizes, the one that lies wholly within the other on every axis that both have, and that other.

    A size with days of its own is passed over: it may take the other's place in time and stay as that was.
    """
    pairs = _pairs(smaller, larger)
    if not pairs or any(one.available_from or one.discontinued_on for one in (smaller, larger)):
        return None
    if all(_within(one, other) for _, one, other in pairs):
        return smaller, larger
    return (larger, smaller) if all(_within(other, one) for _, one, other in pairs) else None


def _within(inner: Range, outer: Range) -> bool:
    return outer.low_mm <= inner.low_mm and inner.high_mm <= outer.high_mm


def _overlap(smaller: Size, larger: Size) -> bool:
    """Whether two sizes share so much on every axis that hardly a hoof tells them apart."""
    pairs = _pairs(smaller, larger)
    return bool(pairs) and all(_shared(one, other) > OVERLAP_SHARE for _, one, other in pairs)


def _gaps(smaller: Size, larger: Size, *, step_mm: float) -> Iterator[Found]:
    """Hooves between two neighbouring sizes: on an axis, or, where one hands over on the other axis, on none."""
    pairs = _pairs(smaller, larger)
    if any(_shared(one, other) > 0.0 for _, one, other in pairs):
        return
    for axis, one, other in pairs:
        gap = other.low_mm - one.high_mm
        if gap > WIDEST_STEP * step_mm + 1e-6:
            facts: dict[str, Fact] = {"size": smaller.code, "other_size": larger.code, "axis": axis.value}
            yield DoubtCode.GAP_BETWEEN_SIZES, {**facts, "gap_mm": gap}


def _pairs(one: Size, other: Size) -> list[tuple[Axis, Range, Range]]:
    both = [(axis, _range(one, axis), _range(other, axis)) for axis in Axis]
    return [(axis, mine, theirs) for axis, mine, theirs in both if mine is not None and theirs is not None]


def _shared(one: Range, other: Range) -> float:
    """How much of the smaller range lies in the other, as a share."""
    shared = min(one.high_mm, other.high_mm) - max(one.low_mm, other.low_mm)
    return shared / min(one.high_mm - one.low_mm, other.high_mm - other.low_mm)


def _range(size: Size, axis: Axis) -> Range | None:
    return size.width if axis is Axis.WIDTH else size.length
