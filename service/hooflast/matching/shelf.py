"""Shelf: a catalog release laid out as arrays, ready to be matched against hooves."""

from collections import defaultdict
from collections.abc import Mapping
from dataclasses import dataclass

from hooflast.catalog.values import Accessory, BootId, BootModel, CatalogRelease, Range, Size, SizeCode
from hooflast.fit.layout import Layout, lay_out_sizes
from hooflast.fit.sizes import BootChart, Interval, SizeTable, size_table


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """A catalog release with its boot models in a fixed order, and all their sizes in that order, also laid out.

    `accessories` are those in sale that go with a boot model in a size, with their own size for it.
    """

    release: CatalogRelease
    boots: tuple[BootModel, ...]
    sizes: tuple[Size, ...]
    layout: Layout
    accessories: Mapping[tuple[BootId, SizeCode], tuple[tuple[Accessory, SizeCode], ...]]

    @property
    def table(self) -> SizeTable:
        """All sizes as arrays."""
        return self.layout.table


def lay_out(release: CatalogRelease) -> Shelf:
    """Lay out all boot models of a catalog release, by id."""
    boots = tuple(release.boots[boot_id] for boot_id in sorted(release.boots))
    return Shelf(
        release=release,
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        layout=lay_out_sizes(size_table([boot_chart(boot) for boot in boots])),
        accessories=_accessories(release),
    )


def _accessories(release: CatalogRelease) -> dict[tuple[BootId, SizeCode], tuple[tuple[Accessory, SizeCode], ...]]:
    found = defaultdict(list)
    for accessory in release.accessories.values():
        if accessory.discontinued_on is not None and accessory.discontinued_on <= release.released_on:
            continue
        for size in accessory.sizes:
            for boot_id, codes in size.goes_with.items():
                for code in codes:
                    found[boot_id, code].append((accessory, size.code))
    return {place: tuple(sorted(goes, key=lambda one: one[0].id)) for place, goes in found.items()}


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
