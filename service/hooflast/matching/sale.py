"""Sale: what can be bought for a plan: a shop's offers, or the whole catalog release at unknown prices."""

from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from hooflast.catalog.structure import nearest_first
from hooflast.catalog.values import BootModel, Sides, SoldAs
from hooflast.errors import Fact, Fault, InputRefused
from hooflast.fit.buying import Offer
from hooflast.fit.pair_choices import BootOnSale
from hooflast.matching.choosing import wish_rank
from hooflast.matching.plan_question import PlanQuestion, SizeOffer
from hooflast.matching.shelf import Shelf

Place = tuple[str, int]
"""A boot model's id and a size's place in it, from small to large."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sale:
    """What is on sale, and where in the question's offers each way to buy a size stands (None: not from an offer)."""

    boots: tuple[BootOnSale, ...]
    offered_at: Mapping[Place, tuple[int | None, ...]]


def from_assortment(question: PlanQuestion, shelf: Shelf) -> PlanQuestion:
    """A question that names no offers, with those of the assortment that a shelf is of; else as it is.

    Raises InputRefused for a currency that is not the assortment's.
    """
    if question.offers is not None or shelf.sold is None:
        return question
    currency = shelf.sold.head.currency
    if question.currency not in (None, currency):
        fault = Fault(
            path=("currency",), code="currency-of-assortment", received=question.currency, facts={"currency": currency}
        )
        raise InputRefused(faults=(fault,))
    offers = tuple(
        SizeOffer(
            boot=boot,
            size=size,
            sold_as=item.sold_as,
            price=item.price_minor,
            stock=item.stock,
            sku=item.sku,
        )
        for (boot, size), items in shelf.sold.items.items()
        for item in items
    )
    return replace(question, offers=offers, currency=currency)


def sale_for(question: PlanQuestion, shelf: Shelf) -> Sale:
    """What is on sale. Raises InputRefused for offers that name no boot model, size or GTIN of the catalog release."""
    ways: defaultdict[Place, list[tuple[int | None, Offer]]] = defaultdict(list)
    boots: dict[str, BootModel] = {boot.id: boot for boot in shelf.boots}
    if question.offers is None:
        for boot in shelf.boots:
            for size in range(len(boot.sizes)):
                ways[boot.id, size].append((None, Offer(is_pair=boot.sold_as is SoldAs.PAIR)))
    else:
        for at, (place, offer) in enumerate(zip(_places(question.offers, shelf), question.offers, strict=True)):
            sold_as = offer.sold_as or boots[place[0]].sold_as
            way = Offer(is_pair=sold_as is SoldAs.PAIR, price=offer.price, stock=offer.stock)
            ways[place].append((at, way))
    return Sale(
        boots=tuple(
            BootOnSale(
                boot=boot.id,
                offers={
                    size: tuple(way for _, way in ways[boot.id, size])
                    for size in range(len(boot.sizes))
                    if (boot.id, size) in ways
                },
                is_sided=boot.sides is Sides.LEFT_AND_RIGHT,
                wish_rank=wish_rank(boot, question.horse),
            )
            for boot in shelf.boots
        ),
        offered_at={place: tuple(at for at, _ in found) for place, found in ways.items()},
    )


def _places(offers: Sequence[SizeOffer], shelf: Shelf) -> list[Place]:
    boots: dict[str, BootModel] = {boot.id: boot for boot in shelf.boots}
    gtins = {
        _same_length(size.gtin): (boot.id, place)
        for boot in shelf.boots
        for place, size in enumerate(boot.sizes)
        if size.gtin is not None
    }
    faults = [
        fault.under("offers", at)
        for at, offer in enumerate(offers)
        for fault in _faults(offer, boots=boots, gtins=gtins)
    ]
    if faults:
        raise InputRefused(faults=tuple(faults))
    return [
        gtins[_same_length(offer.gtin)]
        if offer.gtin is not None
        else (str(offer.boot), _codes(boots[str(offer.boot)]).index(str(offer.size)))
        for offer in offers
    ]


def _faults(offer: SizeOffer, *, boots: Mapping[str, BootModel], gtins: Mapping[str, Place]) -> Iterator[Fault]:
    if offer.gtin is not None:
        if _same_length(offer.gtin) not in gtins:
            yield Fault(path=("gtin",), code="offer-gtin-unknown", received=offer.gtin)
        return
    boot = boots.get(str(offer.boot))
    if boot is None:
        yield Fault(path=("boot",), code="boot-unknown", received=offer.boot)
    elif offer.size not in _codes(boot):
        facts: dict[str, Fact] = {"boot": boot.name, "accepted_list": nearest_first(_codes(boot), to=str(offer.size))}
        yield Fault(path=("size",), code="size-unknown", received=offer.size, facts=facts)


def _codes(boot: BootModel) -> list[str]:
    return [size.code for size in boot.sizes]


def _same_length(gtin: str) -> str:
    """A GTIN of any length as one of 14 digits, noughts in front (GS1 Sweden, Check digit calculator, gs1.se)."""
    return gtin.zfill(14)
