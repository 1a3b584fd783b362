"""Shop shelf: a shelf with nothing on it but what an assortment has, so that a shop is answered from its own stock."""

from collections.abc import Iterable
from dataclasses import replace

from hooflast.catalog.assortment import Assortment, AssortmentItem
from hooflast.catalog.assortment_mapping import map_assortment
from hooflast.catalog.values import BootModel, Size
from hooflast.fit.layout import lay_out_sizes
from hooflast.fit.match import BootMatch, HoofMatch
from hooflast.fit.sizes import size_table
from hooflast.matching.question import SizesOf
from hooflast.matching.shelf import Shelf, Sold, boot_chart


def selling(shelf: Shelf, assortment: Assortment, *, sizes: SizesOf) -> Shelf:
    """The boot models of a shelf of which an assortment has some size, each with those sizes alone.

    Of an assortment, either all sizes count or those in stock.
    """
    mapped = map_assortment(assortment, shelf.release)
    items = {
        place: cheapest_first(items)
        for place, items in mapped.of_boots(assortment).items()
        if sizes is SizesOf.LISTED or any(item.is_in_stock for item in items)
    }
    sold = {boot.id: tuple(size for size in boot.sizes if (boot.id, size.code) in items) for boot in shelf.boots}
    boots = tuple(_with(boot, sold[boot.id]) for boot in shelf.boots if sold[boot.id])
    return Shelf(
        release=shelf.release,
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        layout=lay_out_sizes(size_table([boot_chart(boot) for boot in boots])),
        accessories=shelf.accessories,
        size_days=shelf.size_days,
        none_in_sale=shelf.none_in_sale,
        sold=Sold(head=assortment.head, items=items, boots_left_out=len(shelf.boots) - len(boots)),
    )


def in_stock_first(match: HoofMatch, shelf: Shelf, *, at_most: int) -> HoofMatch:
    """The first boot models of a match; of those that fit alike, those come first whose best size is in stock."""

    def is_in_stock(boot: BootMatch) -> bool:
        sold = shelf.sold_size(boot.best, boot=boot.boot)
        return sold is not None and sold.is_in_stock

    boots = sorted(match.boots, key=lambda boot: (boot.band, not is_in_stock(boot)))
    return replace(match, boots=tuple(boots[:at_most]))


def cheapest_first(items: Iterable[AssortmentItem]) -> tuple[AssortmentItem, ...]:
    """The items of one size in the order in which to take them: in stock, soonest, cheapest, by SKU."""
    return tuple(
        sorted(
            items,
            key=lambda item: (
                not item.is_in_stock,
                item.lead_days or 0,
                item.price_minor is None,
                item.price_minor or 0,
                item.sku,
            ),
        )
    )


def _with(boot: BootModel, sizes: tuple[Size, ...]) -> BootModel:
    return replace(boot, sizes=sizes)
