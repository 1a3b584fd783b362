"""Slip: the one small change that would make an unlikely reading an ordinary one."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Final

from hooflast.fit.comparing import distance_from_kind, likeness_limit
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading

ORDINARY: Final = likeness_limit(0.5)
"""A changed reading counts as ordinary if every second sound hoof is as far from its kind's mean [C]."""

RULER_SLIPS_MM: Final = (-25.4, -10.0, 10.0, 25.4)
"""A ruler read one centimetre or one inch off [CP]."""


class SlipKind(StrEnum):
    """Ways in which a reading goes wrong."""

    WIDTH_FOR_LENGTH = "width_for_length"
    DIGITS_TRANSPOSED = "digits_transposed"
    RULER_MISREAD = "ruler_misread"


@dataclass(frozen=True, slots=True, kw_only=True)
class Slip:
    """A change that makes a reading ordinary, and the reading so changed. `axis` is None where both change places."""

    kind: SlipKind
    axis: Axis | None
    changed: HoofReading
    distance: float


def likely_slip(reading: HoofReading, *, animal_type: AnimalType) -> Slip | None:
    """The change after which the reading is nearest to its kind, if that makes it ordinary; else None."""
    slips = [
        Slip(
            kind=kind,
            axis=axis,
            changed=changed,
            distance=distance_from_kind(changed, animal_type=animal_type),
        )
        for kind, axis, changed in _changes(reading)
    ]
    nearest = min(slips, key=lambda slip: slip.distance)
    return nearest if nearest.distance <= ORDINARY else None


def _changes(reading: HoofReading) -> Iterator[tuple[SlipKind, Axis | None, HoofReading]]:
    yield SlipKind.WIDTH_FOR_LENGTH, None, replace(reading, width=reading.length, length=reading.width)
    for axis in Axis:
        read: AxisReading = getattr(reading, axis.value)
        for off in RULER_SLIPS_MM:
            moved = replace(read, values_mm=tuple(value + off for value in read.values_mm))
            yield SlipKind.RULER_MISREAD, axis, _with(reading, axis=axis, read=moved)
        for typed in _transposed(read.mean_mm):
            yield SlipKind.DIGITS_TRANSPOSED, axis, _with(reading, axis=axis, read=replace(read, values_mm=(typed,)))


def _transposed(value_mm: float) -> Iterator[float]:
    """The whole millimetres that have two neighbouring digits of this value the other way round."""
    digits = str(round(value_mm))
    for at in range(len(digits) - 1):
        if digits[at] != digits[at + 1]:
            yield float(digits[:at] + digits[at + 1] + digits[at] + digits[at + 2 :])


def _with(reading: HoofReading, *, axis: Axis, read: AxisReading) -> HoofReading:
    return replace(reading, width=read) if axis is Axis.WIDTH else replace(reading, length=read)
