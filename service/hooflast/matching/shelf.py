"""Shelf: a catalog release laid out as arrays, ready to be matched against hooves."""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Final

import numpy as np

from hooflast.catalog.assortment import AssortmentHead, AssortmentItem, SoldSize
from hooflast.catalog.availability import is_in_sale
from hooflast.catalog.values import Accessory, BootId, BootModel, CatalogRelease, Range, Size, SizeCode
from hooflast.fit.layout import Layout, lay_out_sizes
from hooflast.fit.sizes import BootChart, Interval, SizeTable, size_table

MOST_ACCESSORIES: Final = 200
"""How many accessories are told of one size of a boot model at most, the first by id [C]."""

MOST_DAYS: Final = 4
"""For how many kinds of days a shelf is laid out at most: today's, and those of answers that are told again."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sold:
    """What an assortment has of a catalog release: the items of each size, in the order in which to take them.

    `boots_left_out` counts the boot models of which it has no size.
    """

    head: AssortmentHead
    items: Mapping[tuple[BootId, SizeCode], tuple[AssortmentItem, ...]]
    boots_left_out: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """A catalog release with its boot models in a fixed order, and all their sizes in that order, also laid out.

    `accessories` are those in sale that go with a boot model in a size, with their own size for it. `size_days` are
    the days on which some size comes into sale or ends; `none_in_sale` the boot models of which, on the day it is laid
    out for, no size is in sale: they stand there with all of them. `sold` is the assortment that this is the shelf of.
    """

    release: CatalogRelease
    boots: tuple[BootModel, ...]
    sizes: tuple[Size, ...]
    layout: Layout
    accessories: Mapping[tuple[BootId, SizeCode], tuple[tuple[Accessory, SizeCode], ...]]
    size_days: tuple[date, ...] = ()
    none_in_sale: frozenset[BootId] = frozenset()
    sold: Sold | None = None
    _on: dict[int, "Shelf"] = field(init=False, default_factory=dict, repr=False, compare=False)

    def on(self, day: date) -> "Shelf":
        """The same with those sizes alone that are in sale on a day; laid out once for all days that are alike."""
        if not self.size_days:
            return self
        alike = bisect_right(self.size_days, day)
        if alike not in self._on:
            if len(self._on) >= MOST_DAYS:
                self._on.clear()
            self._on[alike] = _in_sale(self, day=day)
        return self._on[alike]

    def sold_size(self, size: int, *, boot: int) -> SoldSize | None:
        """What the assortment has of a size, both by their place here; None where there is no assortment."""
        if self.sold is None:
            return None
        place = (self.boots[boot].id, self.sizes[size].code)
        return SoldSize(currency=self.sold.head.currency, items=self.sold.items.get(place, ()))

    @property
    def table(self) -> SizeTable:
        """All sizes as arrays."""
        return self.layout.table


def lay_out(release: CatalogRelease) -> Shelf:
    """Lay out all boot models of a catalog release, by id."""
    return shelf_of(release, layout=layout_of(release))


def layout_of(release: CatalogRelease) -> Layout:
    """All boot models of a catalog release laid out, by id: what takes long of a shelf."""
    return lay_out_sizes(size_table([boot_chart(boot) for boot in _by_id(release)]))


def shelf_of(release: CatalogRelease, *, layout: Layout) -> Shelf:
    """The shelf of a catalog release whose `layout_of` is known."""
    boots = _by_id(release)
    return Shelf(
        release=release,
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        layout=layout,
        accessories=_accessories(release),
        size_days=_size_days(boots),
    )


def _by_id(release: CatalogRelease) -> tuple[BootModel, ...]:
    return tuple(release.boots[boot_id] for boot_id in sorted(release.boots))


def _size_days(boots: Iterable[BootModel]) -> tuple[date, ...]:
    days = {day for boot in boots for size in boot.sizes for day in (size.available_from, size.discontinued_on) if day}
    return tuple(sorted(days))


def _in_sale(shelf: Shelf, *, day: date) -> Shelf:
    sold = {boot.id: tuple(size for size in boot.sizes if is_in_sale(size, day=day)) for boot in shelf.boots}
    boots = tuple(_with_sizes(boot, sizes=sold[boot.id] or boot.sizes) for boot in shelf.boots)
    kept = [is_in_sale(size, day=day) or not sold[boot.id] for boot in shelf.boots for size in boot.sizes]
    return Shelf(
        release=shelf.release,
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        layout=shelf.layout.only(np.array(kept, dtype=np.bool_)),
        accessories=shelf.accessories,
        none_in_sale=frozenset(boot_id for boot_id, sizes in sold.items() if not sizes),
        sold=shelf.sold,
    )


def _with_sizes(boot: BootModel, *, sizes: tuple[Size, ...]) -> BootModel:
    return boot if len(sizes) == len(boot.sizes) else replace(boot, sizes=sizes)


def _accessories(release: CatalogRelease) -> dict[tuple[BootId, SizeCode], tuple[tuple[Accessory, SizeCode], ...]]:
    found = defaultdict(list)
    for accessory in release.accessories.values():
        if accessory.discontinued_on is not None and accessory.discontinued_on <= release.released_on:
            continue
        for size in accessory.sizes:
            for boot_id, codes in size.goes_with.items():
                for code in codes:
                    found[boot_id, code].append((accessory, size.code))
    return {place: tuple(sorted(goes, key=lambda one: one[0].id)[:MOST_ACCESSORIES]) for place, goes in found.items()}


def boot_chart(boot: BootModel) -> BootChart:
    """A boot model's sizes as `fit` takes them."""
    return BootChart(
        closure=boot.closure,
        widths_mm=[_interval(size.width) for size in boot.sizes],
        lengths_mm=[_interval(size.length) for size in boot.sizes],
        chart_step_mm=boot.chart_step_mm,
    )


def _interval(printed: Range | None) -> Interval | None:
    return None if printed is None else (printed.low_mm, printed.high_mm)
