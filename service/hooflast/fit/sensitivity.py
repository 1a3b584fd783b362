"""Sensitivity: how little another reading would have to differ for another size to be best."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.chances import preference
from hooflast.fit.estimate import estimates_if_read
from hooflast.fit.hoof import AnimalType, Axis, HoofReading
from hooflast.fit.normal import Floats
from hooflast.fit.pad import RoomLost
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import AXES, SizeTable

STEP_MM: Final = 0.5
STRIDES: Final = np.arange(4, 24, 4)
"""Changes of the reading are looked for in half millimetres and up to ten [C], two millimetres at a stride."""

SIDES: Final[Floats] = np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])
"""Less and more width, less and more length: the directions in which a turn is looked for."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Turn:
    """The smallest change of one reading that makes another size best: by how much, mm, and which size then."""

    axis: Axis
    change_mm: float
    size: int


def nearest_turns(
    reading: HoofReading,
    table: SizeTable,
    *,
    animal_type: AnimalType,
    boot: int,
    best: int,
    room: RoomLost | None = None,
) -> tuple[Turn, ...]:
    """Per axis the smallest change that would turn the best size of a boot model, nearest first; none beyond reach.

    A longer reading asks for a larger size and a shorter one for a smaller, so a turn is looked for in strides first,
    then within the stride in which it came; all sides at once, each worth within the error of `series`. `room` is what
    a pad takes in the boot.
    """
    sizes = table.sizes_of(boot)
    near = slice(max(sizes.start, best - 1), min(sizes.stop, best + 2))
    preferred = np.broadcast_to(preference(table.closures[boot]), (1, near.stop - near.start, 4))

    def size_after(steps: NDArray[np.intp]) -> NDArray[np.intp]:
        """The best size after so many steps to each side, (4, n)."""
        changes = SIDES[:, None] * (steps * STEP_MM)[..., None]
        estimates = estimates_if_read(reading, animal_type=animal_type, changes_mm=changes.reshape(-1, 2))
        worth = expected_worths(
            estimates if room is None else estimates.changed(by_mm=room.mean_mm, covariance=room.covariance),
            edges_mm=table.edges_mm[near],
            edge_sd_mm=table.edge_sd_mm[near],
            steps=preferred,
        )
        size: NDArray[np.intp] = near.start + worth.argmax(axis=-1).reshape(steps.shape)
        return size

    far = size_after(np.tile(STRIDES, (len(SIDES), 1)))
    stride = (far != best).argmax(axis=1)
    last = STRIDES[stride, None]
    between = last - np.arange(STRIDES[0])[::-1]
    size = np.concatenate([size_after(between[:, :-1]), np.take_along_axis(far, stride[:, None], axis=1)], axis=1)
    turns = size != best
    first = turns.argmax(axis=1)
    nearest: dict[Axis, Turn] = {}
    steps = np.take_along_axis(between, first[:, None], axis=1)[:, 0]
    for side in sorted(np.flatnonzero(turns.any(axis=1)), key=lambda side: steps[side]):
        axis = AXES[int(side) // 2]
        change = float(SIDES[side].sum() * steps[side] * STEP_MM)
        nearest.setdefault(axis, Turn(axis=axis, change_mm=change, size=int(size[side, first[side]])))
    return tuple(nearest.values())
