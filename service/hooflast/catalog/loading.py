"""Loading: every installed catalog plugin asked for its editions, the failures of each kept to itself.

A plugin that cannot be used is named with the reason, an edition with faults is refused with all of them, and the
rest becomes the library: one catalog release for each day on which any plugin published, made of all plugins' newest
editions of that day. An id belongs to the plugin that published it first.
"""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from importlib.metadata import EntryPoint, entry_points
from typing import Any, Final

from hooflast.catalog.asking import Asked, Limits, ask_plugin
from hooflast.catalog.library import Library
from hooflast.catalog.offers import Edition, Offer
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, RowFate
from hooflast.catalog.reading import Records, read_files
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import Fault, InputRefused, PluginFailed

_KINDS: Final = ("makers", "boots", "accessories")
_NO_SETTINGS: Final[Mapping[str, dict[str, Any]]] = {}


@dataclass(frozen=True, slots=True, kw_only=True)
class PluginReport:
    """What became of one plugin: the days of its editions in use, the faults of those refused, or its failure.

    `waits_for` names settings that it cannot do without and that were not given; `rows` says what became of every row
    that it read.
    """

    plugin: str
    version: str
    editions: tuple[date, ...] = ()
    refused: tuple[date, ...] = ()
    faults: tuple[Fault, ...] = ()
    waits_for: tuple[str, ...] = ()
    rows: tuple[RowFate, ...] = ()
    failure: PluginFailed | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class LoadedCatalog:
    """The library of all plugins that could be used, and a report on every plugin that was found."""

    library: Library
    reports: tuple[PluginReport, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Published:
    plugin: str
    edition: Edition
    records: Records


def installed_plugins() -> tuple[EntryPoint, ...]:
    """The entry points of every catalog plugin installed beside Hooflast."""
    return tuple(entry_points(group=ENTRY_POINT_GROUP))


def ask_within_limits(entry_point: EntryPoint, asked: Asked) -> Offer:
    """The offer of one plugin, asked in a process of its own. Raises PluginFailed."""
    return ask_plugin(entry_point, asked, limits=Limits())


def load_catalog(
    found: Iterable[EntryPoint] | None = None,
    *,
    settings: Mapping[str, dict[str, Any]] = _NO_SETTINGS,
    ask: Callable[[EntryPoint, Asked], Offer] = ask_within_limits,
) -> LoadedCatalog:
    """Ask the plugins behind `found`, or all installed ones, and make the library of what they publish.

    `settings` are those of each plugin, by the name of its entry point.
    """
    reports: dict[str, PluginReport] = {}
    failed: list[PluginReport] = []
    published: list[_Published] = []
    for entry_point in sorted(installed_plugins() if found is None else found, key=lambda one: (one.name, one.value)):
        version = entry_point.dist.version if entry_point.dist else "unknown"
        try:
            offer = ask(entry_point, Asked(settings=settings.get(entry_point.name)))
            if offer.plugin in reports:
                raise PluginFailed(plugin=entry_point.name, reason=f"another plugin is called {offer.plugin!r} already")
            accepted, report = _read(offer)
        except PluginFailed as failure:
            failed.append(PluginReport(plugin=entry_point.name, version=version, failure=failure))
        else:
            published += accepted
            reports[offer.plugin] = replace(report, version=version)
    kept = _keep_to_owners(published, reports)
    releases = tuple(_releases(kept))
    return LoadedCatalog(library=Library(releases=releases), reports=(*reports.values(), *failed))


def _read(offer: Offer) -> tuple[list[_Published], PluginReport]:
    accepted: list[_Published] = []
    report = PluginReport(plugin=offer.plugin, version="", waits_for=offer.waits_for, rows=offer.rows)
    for edition in offer.editions:
        if edition.findings:
            report = _with_refused(report, edition, faults=[_found(finding) for finding in edition.findings])
            continue
        try:
            records = read_files(edition.files, plugin=offer.plugin)
        except InputRefused as refusal:
            report = _with_refused(report, edition, faults=refusal.faults)
        except Exception as error:
            reason = f"its edition of {edition.released_on} cannot be read: {type(error).__name__}: {error}"
            raise PluginFailed(plugin=offer.plugin, reason=reason) from error
        else:
            accepted.append(_Published(plugin=offer.plugin, edition=edition, records=records))
            report = replace(report, editions=(*report.editions, edition.released_on))
    return accepted, report


def _found(finding: str) -> Fault:
    """What a plugin itself finds wrong, in its own words."""
    return Fault(path=(), code="catalog-plugin-finding", received=None, facts={"finding": finding})


def _with_refused(report: PluginReport, edition: Edition, *, faults: Sequence[Fault]) -> PluginReport:
    return replace(
        report,
        editions=tuple(day for day in report.editions if day != edition.released_on),
        refused=(*report.refused, edition.released_on),
        faults=(*report.faults, *faults),
    )


def _keep_to_owners(published: Iterable[_Published], reports: dict[str, PluginReport]) -> list[_Published]:
    """The editions that use no id of another plugin; `reports` tells of the others."""
    owners: dict[tuple[str, str], str] = {}
    kept: list[_Published] = []
    for one in sorted(published, key=lambda one: (one.edition.released_on, one.plugin)):
        if faults := list(_taken_ids(one, owners)):
            reports[one.plugin] = _with_refused(reports[one.plugin], one.edition, faults=faults)
            continue
        owners.update(((kind, record_id), one.plugin) for kind in _KINDS for record_id in getattr(one.records, kind))
        kept.append(one)
    return kept


def _taken_ids(one: _Published, owners: Mapping[tuple[str, str], str]) -> Iterator[Fault]:
    for kind in _KINDS:
        for record_id, record in getattr(one.records, kind).items():
            owner = owners.get((kind, record_id), one.plugin)
            if owner != one.plugin:
                path = (record.provenance.source, kind, record_id)
                yield Fault(path=path, code="catalog-id-taken", received=record_id, facts={"plugin": owner})


def _releases(kept: Sequence[_Published]) -> Iterator[CatalogRelease]:
    """One catalog release for each day in `kept`, which is in order of days."""
    newest: dict[str, _Published] = {}
    for day in sorted({one.edition.released_on for one in kept}):
        today = [one for one in kept if one.edition.released_on == day]
        newest |= {one.plugin: one for one in today}
        notes = [one.edition.note for one in today if one.edition.note]
        yield compose_release(_together(newest.values()), released_on=day, note="\n".join(notes))


def _together(published: Iterable[_Published]) -> Records:
    records = [one.records for one in published]
    return Records(
        makers={key: maker for one in records for key, maker in one.makers.items()},
        boots={key: boot for one in records for key, boot in one.boots.items()},
        accessories={key: accessory for one in records for key, accessory in one.accessories.items()},
    )
