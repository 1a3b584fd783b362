"""Chart: whether a boot model's size chart makes sense, and its ranges in millimetres."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from hooflast.catalog.document import Document
from hooflast.catalog.values import Range
from hooflast.errors import Fact, Fault, Path
from hooflast.fit.hoof import Axis
from hooflast.units import LengthUnreadable, Unit, read_length

LEAST_MM: Final = 40.0
MOST_MM: Final = 250.0
FINEST_STEP_MM: Final = 0.1
COARSEST_STEP_MM: Final = 25.4
_COMMON_WIDTH_MM: Final = 130.0
_DATES: Final = ("available_from", "discontinued_on")


@dataclass(frozen=True, slots=True, kw_only=True)
class _Place:
    document: Document
    steps: Path
    unit: Unit

    def fault(self, code: str, **facts: Fact) -> Fault:
        return Fault(
            path=self.document.path(*self.steps), code=code, received=self.document.at(*self.steps), facts=facts
        )


def length_mm(written: str | float, *, unit: Unit) -> float:
    """A length of the chart in mm. Raises LengthUnreadable."""
    return read_length(written, unit=unit).mm


def chart_faults(document: Document, boot: int) -> Iterator[Fault]:
    """Every fault in the chart of the boot model at place `boot`."""
    written_unit = document.at("boots", boot, "chart_unit")
    if written_unit is None:
        return
    unit = Unit(written_unit)
    yield from _step_faults(_Place(document=document, steps=("boots", boot, "chart_step"), unit=unit))
    last: dict[Axis, Range] = {}
    last_code: object = None
    last_is_dated = False
    for index in range(document.count("boots", boot, "sizes")):
        place = _Place(document=document, steps=("boots", boot, "sizes", index), unit=unit)
        ranges: dict[Axis, Range] = {}
        for axis in Axis:
            found = _range_or_faults(_Place(document=document, steps=(*place.steps, axis.value), unit=unit))
            if isinstance(found, Range):
                ranges[axis] = found
            else:
                yield from found
        is_dated = any(document.at(*place.steps, day) is not None for day in _DATES)
        if _shrinks(ranges, last) or (_stays(ranges, last) and not (is_dated or last_is_dated)):
            yield place.fault("catalog-size-order", previous=str(last_code))
        last |= ranges
        last_code = document.at(*place.steps, "code") or last_code
        last_is_dated = is_dated


def _step_faults(place: _Place) -> Iterator[Fault]:
    written = place.document.at(*place.steps)
    if written is None:
        return
    try:
        step_mm = length_mm(written, unit=place.unit)
    except LengthUnreadable:
        yield place.fault("catalog-length")
        return
    if not FINEST_STEP_MM <= step_mm <= COARSEST_STEP_MM:
        yield place.fault("catalog-step-outside", least_mm=FINEST_STEP_MM, most_mm=COARSEST_STEP_MM, step_mm=step_mm)


def _range_or_faults(place: _Place) -> Range | list[Fault]:
    written = place.document.at(*place.steps)
    if written is None:
        return []
    ends, unreadable = [], []
    for index, end in enumerate(written):
        try:
            ends.append(length_mm(end, unit=place.unit))
        except LengthUnreadable:
            at = _Place(document=place.document, steps=(*place.steps, index), unit=place.unit)
            unreadable.append(at.fault("catalog-length"))
    if unreadable:
        return unreadable
    low_mm, high_mm = ends
    if high_mm <= low_mm:
        return [place.fault("catalog-range-inverted", low_mm=low_mm, high_mm=high_mm)]
    if low_mm >= LEAST_MM and high_mm <= MOST_MM:
        return Range(low_mm=low_mm, high_mm=high_mm)
    facts: dict[str, Fact] = {"low_mm": low_mm, "high_mm": high_mm, "least_mm": LEAST_MM, "most_mm": MOST_MM}
    suspected = _suspected_unit(written, unit=place.unit)
    if suspected is None:
        return [place.fault("catalog-range-outside", **facts)]
    return [place.fault("catalog-unit-slip", **facts, unit=place.unit.value, suspected_unit=suspected.value)]


def _suspected_unit(written: list[str | float], *, unit: Unit) -> Unit | None:
    """The unit in which the range would be a hoof's, if there is one; of two, the one nearer to a common hoof."""
    middles = {}
    for other in Unit:
        low_mm, high_mm = (length_mm(end, unit=other) for end in written)
        if other is not unit and low_mm >= LEAST_MM and high_mm <= MOST_MM:
            middles[other] = (low_mm + high_mm) / 2
    return min(middles, key=lambda other: abs(middles[other] - _COMMON_WIDTH_MM), default=None)


def _shrinks(ranges: dict[Axis, Range], last: dict[Axis, Range]) -> bool:
    """Whether a size is smaller than the one before on any axis."""
    pairs = [(ranges[axis], last[axis]) for axis in ranges if axis in last]
    return any(now.low_mm < before.low_mm or now.high_mm < before.high_mm for now, before in pairs)


def _stays(ranges: dict[Axis, Range], last: dict[Axis, Range]) -> bool:
    """Whether a size is the one before again on all axes, as one may be that takes the other's place in time."""
    pairs = [(ranges[axis], last[axis]) for axis in ranges if axis in last]
    return bool(pairs) and all(now == before for now, before in pairs)
