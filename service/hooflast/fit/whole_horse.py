"""Whole horse: which boot models and sizes to buy for up to four hooves at once, chosen exactly.

The two fores wear one boot model, so that they stand level, and the two hinds one, which may be another; sizes are free
for each hoof. A pair of hooves is served whole or not at all [C]. What is bought depends on all four: two hooves share
a pair of boots, and fores and hinds share the stock of one boot model and the budget. Every plan that stock and budget
allow is compared, in the order of `plan_order`: plans of two boot models add up the choices of both pairs of hooves,
those of one boot model for all are bought together (`pair_choices`, `plan_search`).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.fit.hoof import Limb
from hooflast.fit.pair_choices import NOTHING, BootOnSale, Worn, choices_of, counter, needed, together, wearing
from hooflast.fit.plan_order import PARTS, Goal, parts
from hooflast.fit.plan_search import Found, Search, beside
from hooflast.fit.wearable import HoofBoots

ORDER: Final = tuple(Limb)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bought:
    """So many of one offer; `size` and `offer` count from 0, as in BootOnSale."""

    boot: str
    size: int
    offer: int
    quantity: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Spare:
    """Boots of one size that are bought and that no hoof wears."""

    boot: str
    size: int
    boots: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plan:
    """What every hoof served wears, and what is bought for it.

    `expected_fitting` is the expected number of hooves that fit, the sum of their fit chances, whether or not the
    hooves are misread alike. `price` adds up the known prices, in minor units; `unpriced` counts boots without one.
    `band` is 0 for plans that the readings cannot tell from the best fit there is.
    """

    worn: tuple[Worn, ...]
    bought: tuple[Bought, ...]
    spares: tuple[Spare, ...]
    band: int
    expected_fitting: float
    price: int
    unpriced: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Plans:
    """The best plan, the best of those that serve the same hooves in other boot models, and the frontier.

    The frontier holds, of the plans that serve the same hooves at known prices, those for which no other is surer to
    fit for as little: from the cheapest to the surest. `best` serves no hoof if nothing can be had.
    """

    best: Plan
    runner_up: Plan | None
    frontier: tuple[Plan, ...]


def plan_horse(hooves: Sequence[HoofBoots], on_sale: Sequence[BootOnSale], *, goal: Goal) -> Plans:
    """The plans for one horse of one to four hooves, each limb once, in whatever order hooves and boot models come."""
    counters = {one.boot: counter(one, goal=goal) for one in on_sale}
    fores, hinds = (choices_of(pair, counters, goal=goal) for pair in _pairs(hooves))
    search = Search(
        fores=needed(fores),
        hinds=beside([NOTHING, *needed(hinds)]),
        alike=beside(together(fores, hinds, counters=counters)),
        goal=goal,
        ideal=ideal_fitting(hooves, on_sale, goal=goal),
    )
    best = search.best()
    other = search.runner_up(best)
    return Plans(
        best=_plan(best),
        runner_up=None if other is None else _plan(other),
        frontier=tuple(_plan(step) for step in search.frontier(best)),
    )


def ideal_fitting(hooves: Sequence[HoofBoots], on_sale: Sequence[BootOnSale], *, goal: Goal) -> int:
    """The largest expected number of hooves that fit, in PARTS, with everything in stock and no budget."""
    total = 0
    for pair in _pairs(hooves):
        chances = [
            [[parts(worn.wearable.fit_chance) for worn in wearing(hoof, one, goal=goal)] for hoof in pair]
            for one in on_sale
        ]
        total += max((sum(map(max, of_pair)) for of_pair in chances if all(of_pair)), default=0)
    return total


def _pairs(hooves: Sequence[HoofBoots]) -> tuple[list[HoofBoots], list[HoofBoots]]:
    """The fores and the hinds, each left before right."""
    in_order = sorted(hooves, key=lambda hoof: ORDER.index(hoof.limb))
    return [hoof for hoof in in_order if hoof.limb.is_fore], [hoof for hoof in in_order if not hoof.limb.is_fore]


def _plan(found: Found) -> Plan:
    purchases = [
        (choice.boot, size, bought) for choice in found.choices for size, bought in sorted(choice.purchases.items())
    ]
    worn = [worn for choice in found.choices for worn in choice.worn]
    return Plan(
        worn=tuple(sorted(worn, key=lambda one: ORDER.index(one.limb))),
        bought=tuple(
            Bought(boot=boot, size=size, offer=offer, quantity=quantity)
            for boot, size, bought in purchases
            for offer, quantity in enumerate(bought.counts)
            if quantity
        ),
        spares=tuple(
            Spare(boot=boot, size=size, boots=bought.spares) for boot, size, bought in purchases if bought.spares
        ),
        band=found.band,
        expected_fitting=found.value.fitting / PARTS,
        price=found.value.price,
        unpriced=found.value.unpriced,
    )
