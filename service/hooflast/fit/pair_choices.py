"""Pair choices: what the hooves of one pair could wear, each choice with what it takes to buy it."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cache
from itertools import product
from typing import Final, NamedTuple

import numpy as np

from hooflast.fit.buying import Offer, Purchase, cheapest
from hooflast.fit.hoof import Limb
from hooflast.fit.plan_order import BETTER, Goal, Value, parts
from hooflast.fit.wearable import HoofBoots, Wearable

LEFT: Final = frozenset({Limb.LF, Limb.LH})

ENOUGH_OTHERS: Final = 3
"""Choices of so many other boot models make up for one that they all match or beat: whichever one of them the other
pair of hooves wears, and whichever one a runner-up must not wear, one is left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BootOnSale:
    """A boot model as it is sold: the ways to buy each of its sizes, by the size's place from small to large, from 0.

    `is_sided` says that its lasts are left and right. `wish_rank` is 0 for what was wished most, then rising.
    """

    boot: str
    offers: Mapping[int, tuple[Offer, ...]]
    is_sided: bool = False
    wish_rank: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class Worn:
    """What one hoof wears."""

    limb: Limb
    boot: str
    wearable: Wearable
    closeness: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """What some hooves wear, of one boot model, and what is bought for them, by size."""

    boot: str
    value: Value
    worn: tuple[Worn, ...] = ()
    purchases: Mapping[int, Purchase] = field(default_factory=dict)

    @property
    def boots(self) -> tuple[str, str]:
        """The boot models of the fores and of the hinds; empty for hooves that it does not serve."""
        return self.boot if self.value.fores else "", self.boot if self.value.hinds else ""


NOTHING: Final = Choice(boot="", value=Value(*[0] * len(Value._fields)))
"""Hooves without boots."""


class Wanted(NamedTuple):
    """A size that so many hooves on the left and on the right are to wear."""

    size: int
    left: int
    right: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Counter:
    """Where a boot model is bought: `buy` gives the cheapest purchase of what is wanted, or None."""

    on_sale: BootOnSale
    buy: Callable[[Wanted], Purchase | None]

    def choice(self, worn: tuple[Worn, ...]) -> Choice | None:
        """Some hooves wearing this boot model, bought together; None if stock does not allow it."""
        sizes = [one.wearable.size for one in worn]
        lefts = [one.wearable.size for one in worn if one.limb in LEFT]
        purchases = {}
        for size in sorted(set(sizes)):
            left = lefts.count(size)
            purchase = self.buy(Wanted(size, left, sizes.count(size) - left))
            if purchase is None:
                return None
            purchases[size] = purchase
        value = Value(
            fores=sum(one.limb.is_fore for one in worn),
            hinds=sum(not one.limb.is_fore for one in worn),
            fitting=sum(parts(one.wearable.fit_chance) for one in worn),
            wish=self.on_sale.wish_rank * len(worn),
            unpriced=sum(purchase.unpriced for purchase in purchases.values()),
            price=sum(purchase.price for purchase in purchases.values()),
            spares=sum(purchase.spares for purchase in purchases.values()),
            closeness=sum(parts(one.closeness) for one in worn),
            worth=sum(parts(one.wearable.worth) for one in worn),
        )
        return Choice(boot=self.on_sale.boot, value=value, worn=worn, purchases=purchases)


def counter(on_sale: BootOnSale, *, goal: Goal) -> Counter:
    """Where `on_sale` is bought; within a budget, nothing is sold that has no price."""

    def sold(offer: Offer) -> Offer:
        return replace(offer, stock=0) if goal.budget is not None and offer.price is None else offer

    offers = {size: tuple(map(sold, ways)) for size, ways in on_sale.offers.items()}

    @cache
    def buy(wanted: Wanted) -> Purchase | None:
        ways = offers[wanted.size]
        return cheapest(ways, left=wanted.left, right=wanted.right, is_sided=on_sale.is_sided)

    return Counter(on_sale=on_sale, buy=buy)


def wearing(hoof: HoofBoots, on_sale: BootOnSale, *, goal: Goal) -> list[Worn]:
    """The sizes of a boot model on sale that one hoof may be given, in stock or not."""
    return [
        Worn(limb=hoof.limb, boot=on_sale.boot, wearable=wearable, closeness=hoof.closeness[on_sale.boot])
        for wearable in hoof.sizes.get(on_sale.boot, ())
        if wearable.size in on_sale.offers and wearable.fit_chance >= goal.least_fit_chance
    ]


def choices_of(pair: Sequence[HoofBoots], counters: Mapping[str, Counter], *, goal: Goal) -> list[Choice]:
    """Every way for one or two hooves to wear one boot model that can be bought, by boot model and sizes."""
    if not pair:
        return []
    found = [
        one.choice(worn)
        for _, one in sorted(counters.items())
        for worn in product(*(wearing(hoof, one.on_sale, goal=goal) for hoof in pair))
    ]
    return [choice for choice in found if choice is not None]


def together(fores: Sequence[Choice], hinds: Sequence[Choice], *, counters: Mapping[str, Counter]) -> list[Choice]:
    """Every way for fores and hinds to wear one boot model, bought together."""
    hinds_in: dict[str, list[Choice]] = {}
    for hind in hinds:
        hinds_in.setdefault(hind.boot, []).append(hind)
    found = [
        counters[fore.boot].choice((*fore.worn, *hind.worn)) for fore in fores for hind in hinds_in.get(fore.boot, ())
    ]
    return [choice for choice in found if choice is not None]


def needed(choices: Sequence[Choice]) -> list[Choice]:
    """The choices that a plan of two boot models may need; with those left out, none would be better.

    A choice is left out if another one of its boot model matches or beats it in everything a plan is judged by, or if
    choices of ENOUGH_OTHERS other boot models do. Of choices that match each other, the first counts as the better.
    """
    values = np.array([choice.value for choice in choices]).reshape(-1, len(BETTER)) * BETTER
    kept = []
    for place, choice in enumerate(choices):
        match_or_beat = np.flatnonzero(np.all(values >= values[place], axis=1))
        better = {
            choices[int(row)].boot for row in match_or_beat if row < place or np.any(values[row] != values[place])
        }
        if choice.boot not in better and len(better) < ENOUGH_OTHERS:
            kept.append(choice)
    return kept
