"""Buying: the cheapest way to get the boots of one size that hooves are to wear, in singles and pairs as they are sold.

A pair is two boots of one size and, where lasts are left and right, one of each. With p pairs bought for l hooves of
the left side and r of the right, there remain to be bought singly

    max(0, l + r − 2p)               where one last serves both sides,
    max(0, l − p) + max(0, r − p)    where each side has its own.

Items of one kind are alike, so the cheapest ones are taken first; trying every p that stock allows is then exact.
Prices are whole numbers of the currency's minor unit.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """One way to buy one size: a single boot or a pair, at a price (None: not known).

    `stock` counts what is sold, boots or pairs (None: not known, taken as enough).
    """

    is_pair: bool
    price: int | None = None
    stock: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Purchase:
    """How many of each offer to buy, in the offers' order, and what that comes to.

    `price` adds up the prices that are known, `unpriced` counts the boots whose price is not, `spares` the boots that
    no hoof wears.
    """

    counts: tuple[int, ...]
    unpriced: int
    price: int
    spares: int

    @property
    def cost(self) -> tuple[int, int, int]:
        """What purchases are compared by: boots without a price, then the price, then spares."""
        return self.unpriced, self.price, self.spares


def cheapest(offers: Sequence[Offer], *, left: int, right: int, is_sided: bool) -> Purchase | None:
    """The purchase of least cost for `left` and `right` hooves to wear one size; None if stock does not allow it."""
    pairs = _items(offers, is_pair=True, at_most=left + right)
    singles = _items(offers, is_pair=False, at_most=left + right)
    possible = []
    for bought in range(len(pairs) + 1):
        missing = max(0, left - bought) + max(0, right - bought) if is_sided else max(0, left + right - 2 * bought)
        if missing <= len(singles):
            taken = (*pairs[:bought], *singles[:missing])
            possible.append(_purchase(offers, taken, worn=left + right))
    return min(possible, key=lambda purchase: purchase.cost, default=None)


def _items(offers: Sequence[Offer], *, is_pair: bool, at_most: int) -> list[int]:
    """The offer of each item of one kind that is in stock, cheapest first."""
    of_kind = [place for place, offer in enumerate(offers) if offer.is_pair is is_pair]
    of_kind.sort(key=lambda place: _cost(offers[place]))
    return list(_each(offers, of_kind, at_most=at_most))


def _each(offers: Sequence[Offer], places: Sequence[int], *, at_most: int) -> Iterator[int]:
    for place in places:
        stock = offers[place].stock
        yield from [place] * (at_most if stock is None else min(stock, at_most))


def _cost(offer: Offer) -> tuple[int, int]:
    """Boots without a price, and the price."""
    return (2 if offer.is_pair else 1, 0) if offer.price is None else (0, offer.price)


def _purchase(offers: Sequence[Offer], taken: Sequence[int], *, worn: int) -> Purchase:
    costs = [_cost(offers[place]) for place in taken]
    boots = sum(2 if offers[place].is_pair else 1 for place in taken)
    return Purchase(
        counts=tuple(taken.count(place) for place in range(len(offers))),
        unpriced=sum(unpriced for unpriced, _ in costs),
        price=sum(price for _, price in costs),
        spares=boots - worn,
    )
