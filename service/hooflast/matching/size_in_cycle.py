"""Size in cycle: one size over the weeks between two trims, for the answer to a match and the trim cycle alike."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from hooflast.catalog.values import Size
from hooflast.fit.boot import Need
from hooflast.fit.cycle import Cycle, Moment, Turn, chances_at, hoof_at, joint_chances, turn
from hooflast.fit.estimate import Estimate
from hooflast.fit.growth import Circumstance, usual_changes
from hooflast.fit.hoof import Axis, HoofReading
from hooflast.fit.sizes import AXES, SizeTable
from hooflast.matching.question import NamedNeed
from hooflast.matching.shelf import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeInCycle:
    """One size over the cycle: the chance that it fits at each moment, and that it does at all of them."""

    size: Size
    chances: Mapping[Moment, float]
    holds_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BestInCycle:
    """The best size of a hoof's first boot over the cycle, and when it turns on either axis."""

    best: SizeInCycle
    turns: Mapping[Axis, Turn | None]


def sizes_in_cycle(cycle: Cycle, *, shelf: Shelf, sizes: Sequence[int]) -> tuple[SizeInCycle, ...]:
    """The chances of some sizes; none holds more surely than it fits at its worst moment."""
    at_moment = {moment: chances_at(hoof_at(cycle, moment), shelf.table, sizes=sizes) for moment in Moment}
    joint = np.minimum(joint_chances(cycle, shelf.table, sizes=sizes), np.min(list(at_moment.values()), axis=0))
    return tuple(
        SizeInCycle(
            size=shelf.sizes[size],
            chances={moment: float(chances[place]) for moment, chances in at_moment.items()},
            holds_chance=float(joint[place]),
        )
        for place, size in enumerate(sizes)
    )


def turns_of(cycle: Cycle, table: SizeTable, *, size: int) -> dict[Axis, Turn | None]:
    """When a size turns, on either axis."""
    return {axis: turn(cycle, table, size=size, axis=column) for column, axis in enumerate(AXES)}


def best_in_cycle(
    reading: HoofReading,
    *,
    estimate: Estimate,
    size: int,
    cycle_weeks: float,
    needs: Iterable[NamedNeed],
    shelf: Shelf,
) -> BestInCycle:
    """A match's best size over the cycle; a hoof of which nobody told when it was trimmed counts as freshly trimmed."""
    changes = usual_changes(reading.limb, cycle_weeks=cycle_weeks, circumstances=told_by(needs))
    cycle = Cycle(estimate=estimate, weeks=cycle_weeks, since_trim=reading.weeks_since_trim or 0.0, changes=changes)
    (best,) = sizes_in_cycle(cycle, shelf=shelf, sizes=[size])
    return BestInCycle(best=best, turns=turns_of(cycle, shelf.table, size=size))


def told_by(needs: Iterable[NamedNeed]) -> frozenset[Circumstance]:
    """The circumstances that lie in a horse's needs."""
    if any(named.need is Need.OUT_OF_SHOES for named in needs):
        return frozenset({Circumstance.OUT_OF_SHOES})
    return frozenset()
