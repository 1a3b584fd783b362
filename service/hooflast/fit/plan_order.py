"""Plan order: how plans for a whole horse are compared: by one thing after the other, nothing weighed against another.

Everything a plan is judged by is a whole number, chances being counted in billionths, so that sums are exact.

The surest plan serves the most hooves; then lies in the best band of the expected number of hooves that fit; then
closes as wished; then has the fewest boots without a price, costs least, and leaves the fewest boots that no hoof
wears; then follows the hooves most closely, and sits best in its sizes' ranges [C]. Bands are counted from the best fit
that the boots on sale allow with everything in stock and no budget. What is in stock does not move them, so more stock
or a larger budget never makes the plan a worse one.

The cheapest plan gives every hoof the least fit chance asked for; then come hooves served, price, wishes, and fit [C].
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

Integers = NDArray[np.int64]

PARTS: Final = 1_000_000_000
"""How many parts of a hoof chances are counted in."""


class Aim(StrEnum):
    """What is asked of a plan: the surest fit, and then the price; or fit enough, and then the least price."""

    SUREST = "surest"
    CHEAPEST = "cheapest"


@dataclass(frozen=True, slots=True, kw_only=True)
class Goal:
    """What a plan is to reach.

    No hoof is given a size less likely to fit than `least_fit_chance`. `band_width` is how far the expected number of
    hooves that fit may differ for two plans to tie. `budget` is in minor units (None: any price); within a budget, no
    boot is bought whose price is not known.
    """

    least_fit_chance: float
    band_width: float
    aim: Aim = Aim.SUREST
    budget: int | None = None


class Value(NamedTuple):
    """What a plan, or a part of it, is judged by; parts add up. `fores` and `hinds` are the hooves served."""

    fores: int
    hinds: int
    fitting: int
    wish: int
    unpriced: int
    price: int
    spares: int
    closeness: int
    worth: int


BETTER: Final = np.array(
    Value(fores=1, hinds=1, fitting=1, wish=-1, unpriced=-1, price=-1, spares=-1, closeness=1, worth=1)
)
"""Which numbers of a value are better when larger (1) and which when smaller (−1)."""


def parts(number: float) -> int:
    """A chance, or a number of hooves, in PARTS."""
    return round(number * PARTS)


def column(values: Integers, name: str) -> Integers:
    """One number of each value (N, 9), by its name in Value."""
    return values[:, Value._fields.index(name)]


def bands(values: Integers, *, goal: Goal, ideal: int) -> Integers:
    """The band of each plan (N,), the best being 0; `ideal` is the best fit there is, in PARTS."""
    return (ideal - column(values, "fitting")) // max(1, parts(goal.band_width))


def keys(values: Integers, *, goal: Goal, ideal: int) -> Integers:
    """What plans are ordered by (N, K), from their values (N, 9): column after column, the smaller is better."""
    fores, hinds, fitting, wish, unpriced, price, spares, closeness, worth = values.T
    served = fores + hinds
    if goal.aim is Aim.CHEAPEST:
        return np.column_stack([-served, unpriced, price, wish, -fitting, spares, -closeness, -worth])
    band = bands(values, goal=goal, ideal=ideal)
    return np.column_stack([-served, band, wish, unpriced, price, spares, -closeness, -worth, -fitting])


def first(keyed: Integers) -> int:
    """The row of the best key; among equals, the one that stands first."""
    rows = np.arange(len(keyed))
    for numbers in keyed.T:
        rows = rows[numbers[rows] == numbers[rows].min()]
    return int(rows[0])


def frontier(values: Integers, keyed: Integers) -> list[int]:
    """Rows for which no other row fits surer for as little, from the cheapest to the surest.

    Of rows that fit and cost alike, the one with the best key.
    """
    fitting, price = column(values, "fitting"), column(values, "price")
    order = np.lexsort((*keyed.T[::-1], -fitting, price))
    surest_so_far = np.maximum.accumulate(fitting[order])
    surer = np.diff(surest_so_far, prepend=-1) > 0
    return [int(row) for row in order[surer]]
