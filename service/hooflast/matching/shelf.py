"""Shelf: a catalog release laid out as arrays, ready to be matched against hooves."""

from dataclasses import dataclass

from hooflast.catalog.values import BootModel, CatalogRelease, Range, Size
from hooflast.fit.sizes import BootChart, Interval, SizeTable, size_table


@dataclass(frozen=True, slots=True, kw_only=True)
class Shelf:
    """A catalog release with its boot models in a fixed order, and all their sizes in that order, also as one table."""

    release: CatalogRelease
    boots: tuple[BootModel, ...]
    sizes: tuple[Size, ...]
    table: SizeTable


def lay_out(release: CatalogRelease) -> Shelf:
    """Lay out all boot models of a catalog release, by id."""
    boots = tuple(release.boots[boot_id] for boot_id in sorted(release.boots))
    return Shelf(
        release=release,
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        table=size_table([_chart(boot) for boot in boots]),
    )


def _chart(boot: BootModel) -> BootChart:
    return BootChart(
        closure=boot.closure,
        widths_mm=[_interval(size.width) for size in boot.sizes],
        lengths_mm=[_interval(size.length) for size in boot.sizes],
        chart_step_mm=boot.chart_step_mm,
    )


def _interval(printed: Range | None) -> Interval | None:
    return None if printed is None else (printed.low_mm, printed.high_mm)
