"""Sensitivity: how little another reading would have to differ for another size to be best."""

from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from hooflast.fit.chances import corner_chances, expected_worth, preference
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading
from hooflast.fit.sizes import SizeTable

STEP_MM: Final = 0.5
FARTHEST_STEPS: Final = 20
"""Changes of the reading are looked for in half millimetres and up to ten [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The smallest change of one reading that makes another size best: by how much, mm, and which size then."""

    axis: Axis
    change_mm: float
    size: int


def nearest_turns(
    reading: HoofReading, table: SizeTable, *, animal_type: AnimalType, boot: int, best: int
) -> tuple[Turn, ...]:
    """Per axis the smallest change that would turn the best size of a boot model, nearest first; none beyond reach.

    A longer reading asks for a larger size and a shorter one for a smaller, so each side is halved down to its turn.
    """
    sizes = table.sizes_of(boot)
    near = range(max(sizes.start, best - 1), min(sizes.stop, best + 2))

    def best_after(axis: Axis, steps: int) -> int:
        moved = _moved(reading, axis=axis, change_mm=steps * STEP_MM)
        return _best_of(near, moved, table=table, animal_type=animal_type, boot=boot)

    turns = []
    for axis in Axis:
        for side in (-1, 1):
            kept, turned = 0, FARTHEST_STEPS
            if best_after(axis, side * turned) == best:
                continue
            while turned - kept > 1:
                middle = (kept + turned) // 2
                kept, turned = (middle, turned) if best_after(axis, side * middle) == best else (kept, middle)
            size = best_after(axis, side * turned)
            turns.append(Turn(axis=axis, change_mm=side * turned * STEP_MM, size=size))
    nearest = sorted(turns, key=lambda turn: abs(turn.change_mm))
    return tuple(next(turn for turn in nearest if turn.axis is axis) for axis in dict.fromkeys(t.axis for t in nearest))


def _best_of(sizes: range, reading: HoofReading, *, table: SizeTable, animal_type: AnimalType, boot: int) -> int:
    rows = slice(sizes.start, sizes.stop)
    estimate = estimate_hoof(reading, animal_type=animal_type)
    corners = corner_chances(estimate, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows])
    return sizes[int(np.argmax(expected_worth(corners, steps=preference(table.closures[boot]))))]


def _moved(reading: HoofReading, *, axis: Axis, change_mm: float) -> HoofReading:
    read: AxisReading = getattr(reading, axis.value)
    moved = replace(read, values_mm=tuple(value + change_mm for value in read.values_mm))
    return replace(reading, width=moved) if axis is Axis.WIDTH else replace(reading, length=moved)
