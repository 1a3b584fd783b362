"""Validation: everything that was found in a catalog, each with how much it matters and its place, to be mended.

| severity | what it means                                                                          |
|----------|----------------------------------------------------------------------------------------|
| error    | it cannot be served and was left out: a fault of a file, a refused row, a failed plugin |
| warning  | it can be served, and is likely a slip: someone would order the wrong size, or find none |
| note     | it can be served, and is worth a look                                                   |
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from hooflast.catalog.comparing import ReleaseChanges, compare_releases
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import Doubt, find_doubts
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.placing import Files
from hooflast.catalog.plugin import Fate, RowFate
from hooflast.catalog.values import BootId, CatalogRelease
from hooflast.errors import Fault, PluginFailed, json_pointer


class Grade(StrEnum):
    """How much something matters that was found in a catalog."""

    ERROR = "error"
    WARNING = "warning"
    NOTE = "note"


GRADE_OF_DOUBT: Final = {
    DoubtCode.NOTHING_CHANGED: Grade.NOTE,
    DoubtCode.OLDER_THAN_ACTIVE: Grade.WARNING,
    DoubtCode.BOOT_GONE: Grade.WARNING,
    DoubtCode.MAKER_GONE: Grade.WARNING,
    DoubtCode.SIZE_GONE: Grade.WARNING,
    DoubtCode.SIZE_MOVED: Grade.WARNING,
    DoubtCode.SIZES_REORDERED: Grade.NOTE,
    DoubtCode.SIZE_SWALLOWED: Grade.WARNING,
    DoubtCode.SIZES_OVERLAP: Grade.NOTE,
    DoubtCode.GAP_BETWEEN_SIZES: Grade.WARNING,
    DoubtCode.AXIS_MISSING: Grade.NOTE,
    DoubtCode.AXIS_MISSING_IN_SOME: Grade.WARNING,
    DoubtCode.RANGE_NARROW: Grade.WARNING,
    DoubtCode.RANGE_WIDE: Grade.WARNING,
    DoubtCode.SAME_NAME: Grade.WARNING,
    DoubtCode.CODES_ALIKE: Grade.WARNING,
    DoubtCode.NAME_SPACED: Grade.NOTE,
}
"""How much each doubt matters [C]."""

GRADE_OF_ROW: Final = {Fate.REFUSED: Grade.ERROR, Fate.SKIPPED: Grade.NOTE}
"""A row that was used is no point."""

LEFT_TO_ANOTHER: Final = "catalog-id-taken"
"""The one fault that leaves the rest of its edition in use: another plugin has that id."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Waiting:
    """A plugin that offers nothing until it is given these settings."""

    settings: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Point:
    """One thing that was found: what it is, how much it matters, and where it stands.

    `source` is the file or address, `place` the cell, row or JSON Pointer in it, `record` the id of the maker, boot
    model or accessory it is about; each is empty where it is not known.
    """

    severity: Grade
    found: Fault | Doubt | RowFate | PluginFailed | Waiting
    plugin: str = ""
    source: str = ""
    place: str = ""
    record: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Validation:
    """All that was found, the gravest first. `release` is what would be served, `active` what it was seen beside."""

    points: tuple[Point, ...]
    release: CatalogRelease | None = None
    active: CatalogRelease | None = None
    changes: ReleaseChanges | None = None
    plugins: tuple[PluginReport, ...] = ()

    def count(self, severity: Grade) -> int:
        """How many points there are of a severity."""
        return sum(point.severity is severity for point in self.points)


def validate(
    release: CatalogRelease | None,
    *,
    active: CatalogRelease | None = None,
    plugins: Iterable[PluginReport] = (),
    files: Files | None = None,
) -> Validation:
    """Everything to be found in a catalog release seen beside the active one, and in what plugins read for it."""
    reports = tuple(plugins)
    points = [point for report in reports for point in plugin_points(report)]
    changes = None
    if release is not None:
        points += doubt_points(release, active=active, files=files or Files())
        changes = compare_releases(active, release)
    in_order = sorted(points, key=lambda point: list(Grade).index(point.severity))
    return Validation(points=tuple(in_order), release=release, active=active, changes=changes, plugins=reports)


def plugin_points(report: PluginReport) -> Iterator[Point]:
    """What one plugin's failure, faults and rows come to."""
    if report.failure is not None:
        yield Point(severity=Grade.ERROR, found=report.failure, plugin=report.plugin)
    if report.waits_for:
        yield Point(severity=Grade.NOTE, found=Waiting(settings=report.waits_for), plugin=report.plugin)
    for fault in report.faults:
        yield fault_point(fault, plugin=report.plugin)
    for row in report.rows:
        if row.fate in GRADE_OF_ROW:
            yield Point(severity=GRADE_OF_ROW[row.fate], found=row, plugin=report.plugin, place=row.place)


def fault_point(fault: Fault, *, plugin: str) -> Point:
    """A fault at its place: its path begins with the source."""
    source, *steps = fault.path or ("",)
    place = str(steps[0]) if len(steps) == 1 else json_pointer(tuple(steps))
    grade = Grade.WARNING if fault.code == LEFT_TO_ANOTHER else Grade.ERROR
    return Point(severity=grade, found=fault, plugin=plugin, source=str(source), place=place)


def doubt_points(release: CatalogRelease, *, active: CatalogRelease | None, files: Files) -> Iterator[Point]:
    """Every doubt at its place, as far as the files it was read from are at hand."""
    for doubt in find_doubts(release, active=active):
        boot = release.boots.get(BootId(doubt.record))
        if boot is None:
            yield Point(severity=GRADE_OF_DOUBT[doubt.code], found=doubt, record=doubt.record)
            continue
        yield Point(
            severity=GRADE_OF_DOUBT[doubt.code],
            found=doubt,
            plugin=boot.provenance.plugin,
            source=boot.provenance.source,
            place=files.place_of(boot, size=str(doubt.facts.get("size", "")), axis=str(doubt.facts.get("axis", ""))),
            record=boot.id,
        )
