"""Sensitivity: how little another reading would have to differ for another size to be best."""

from dataclasses import dataclass
from typing import Final

import numpy as np

from hooflast.fit.chances import preference
from hooflast.fit.estimate import estimates_if_read
from hooflast.fit.hoof import AnimalType, Axis, HoofReading
from hooflast.fit.normal import Floats
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import AXES, SizeTable

STEP_MM: Final = 0.5
FARTHEST_STEPS: Final = 20
"""Changes of the reading are looked for in half millimetres and up to ten [C]."""

SIDES: Final[Floats] = np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
"""Less and more width, less and more length: the directions in which a turn is looked for."""


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

    The size is the best of its neighbours under every change there is, all at once, each worth within the error of
    `series`.
    """
    sizes = table.sizes_of(boot)
    near = slice(max(sizes.start, best - 1), min(sizes.stop, best + 2))
    steps = np.arange(1, FARTHEST_STEPS + 1)
    changes = SIDES[:, None] * (steps * STEP_MM)[:, None]
    worth = expected_worths(
        estimates_if_read(reading, animal_type=animal_type, changes_mm=changes.reshape(-1, 2)),
        edges_mm=table.edges_mm[near],
        edge_sd_mm=table.edge_sd_mm[near],
        steps=np.broadcast_to(preference(table.closures[boot]), (1, near.stop - near.start, 4)),
    )
    size = near.start + worth.argmax(axis=-1).reshape(len(SIDES), FARTHEST_STEPS)
    turns = size != best
    first = turns.argmax(axis=1)
    nearest: dict[Axis, Turn] = {}
    for side in sorted(np.flatnonzero(turns.any(axis=1)), key=lambda side: first[side]):
        axis = AXES[int(side) // 2]
        change = float(changes[side, first[side]].sum())
        nearest.setdefault(axis, Turn(axis=axis, change_mm=change, size=int(size[side, first[side]])))
    return tuple(nearest.values())
