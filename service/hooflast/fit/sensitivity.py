"""Sensitivity: how little another reading would have to differ for another size to be best."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading
from hooflast.fit.sizes import SizeTable

STEP_MM: Final = 0.5
FARTHEST_MM: Final = 10.0
"""Changes of the reading are tried in these steps and up to this far [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The smallest change of one reading that makes another size best: by how much, mm, and which size then."""

    axis: Axis
    change_mm: float
    size: int


def nearest_turns(
    reading: HoofReading, table: SizeTable, *, animal_type: AnimalType, boot: int, best: int
) -> tuple[Turn, ...]:
    """Per axis the smallest change that would turn the best size of a boot model, nearest first; none beyond reach."""
    steps = int(FARTHEST_MM / STEP_MM)
    turns = []
    for axis in Axis:
        for step in sorted(range(-steps, steps + 1), key=abs)[1:]:
            change = step * STEP_MM
            size = _best_size(_moved(reading, axis=axis, change_mm=change), table, animal_type=animal_type, boot=boot)
            if size != best:
                turns.append(Turn(axis=axis, change_mm=change, size=size))
                break
    return tuple(sorted(turns, key=lambda turn: abs(turn.change_mm)))


def _best_size(reading: HoofReading, table: SizeTable, *, animal_type: AnimalType, boot: int) -> int:
    sizes = table.sizes_of(boot)
    rows = slice(sizes.start, sizes.stop)
    estimate = estimate_hoof(reading, animal_type=animal_type)
    corners = corner_chances(estimate, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows])
    return sizes[int(np.argmax(expected_worth(corners, steps=preference(table.closures[boot]))))]


def _moved(reading: HoofReading, *, axis: Axis, change_mm: float) -> HoofReading:
    read: AxisReading = getattr(reading, axis.value)
    moved = replace(read, values_mm=tuple(value + change_mm for value in read.values_mm))
    return replace(reading, width=moved) if axis is Axis.WIDTH else replace(reading, length=moved)
