"""Sensitivity: how little another reading would have to differ for another size to be best."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.chances import corner_chances_of, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimates_if_read
from hooflast.fit.hoof import AnimalType, Axis, HoofReading
from hooflast.fit.normal import Floats
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

    A longer reading asks for a larger size and a shorter one for a smaller, so each side of each axis is halved down to
    its turn, all four at once.
    """
    sizes = table.sizes_of(boot)
    near = range(max(sizes.start, best - 1), min(sizes.stop, best + 2))

    def best_after(steps: NDArray[np.intp]) -> NDArray[np.intp]:
        estimates = estimates_if_read(
            reading, animal_type=animal_type, changes_mm=SIDES * (steps * STEP_MM)[:, np.newaxis]
        )
        return _best_of(near, estimates, table=table, boot=boot)

    kept, turned = np.zeros(4, dtype=np.intp), np.full(4, FARTHEST_STEPS)
    size = best_after(turned)
    in_reach = size != best
    while np.any(turned - kept > 1):
        middle = (kept + turned) // 2
        found = best_after(middle)
        turns = found != best
        kept, turned, size = (
            np.where(turns, kept, middle),
            np.where(turns, middle, turned),
            np.where(turns, found, size),
        )
    nearest: dict[Axis, Turn] = {}
    for side in sorted(np.flatnonzero(in_reach), key=lambda side: turned[side]):
        axis = AXES[int(side) // 2]
        change = float(SIDES[side].sum() * turned[side] * STEP_MM)
        nearest.setdefault(axis, Turn(axis=axis, change_mm=change, size=int(size[side])))
    return tuple(nearest.values())


def _best_of(sizes: range, estimates: Sequence[Estimate], *, table: SizeTable, boot: int) -> NDArray[np.intp]:
    """The size of largest expected worth under each estimate."""
    rows = slice(sizes.start, sizes.stop)
    corners = corner_chances_of(estimates, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows])
    steps = preference(table.closures[boot])
    return np.array([sizes[int(np.argmax(expected_worth(each, steps=steps)))] for each in corners])
