"""Loading: every installed catalog plugin asked for its editions, the failures of each kept to itself.

A plugin that cannot be used is named with the reason, an edition with faults is refused with all of them, and the
rest is put together (`composing`) as the library.
"""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from difflib import get_close_matches
from importlib.metadata import EntryPoint, entry_points
from threading import Event
from typing import Any, Final

from hooflast.catalog.asking import Asked, Limits, ask_plugin
from hooflast.catalog.composing import Published, compose
from hooflast.catalog.library import Library
from hooflast.catalog.offers import Edition, Offer
from hooflast.catalog.placing import Files, files_of
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Fate, Held, RowFate
from hooflast.catalog.progress import OnProgress, Progress, WorkStage, WorkStopped, unheard
from hooflast.catalog.reading import read_files
from hooflast.errors import Fact, Fault, InputRefused, PluginFailed


@dataclass(frozen=True, slots=True, kw_only=True)
class PluginConfiguration:
    """How a plugin is used: its own settings, and which plugin an id belongs to where several claim it."""

    settings: dict[str, Any] | None = None
    priority: int = 0


NAMED_AND_NOT_THERE: Final = frozenset(
    {"catalog-unknown-boot", "catalog-unknown-maker", "catalog-unknown-size", "catalog-unknown-successor"}
)
"""Faults of a record that names another, which a refused row may have held."""

_NOT_CONFIGURED: Final[Mapping[str, PluginConfiguration]] = {}
_NOTHING_HELD: Final[Mapping[str, Mapping[str, Held]]] = {}


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
    """The library of all plugins that could be used, a report on every plugin that was found, and what they fetched.

    `files` are those that the library was read from.
    """

    library: Library
    reports: tuple[PluginReport, ...]
    fetched: Mapping[str, Mapping[str, Held]] = field(default_factory=dict)
    files: Files = field(default_factory=Files)


def installed_plugins() -> tuple[EntryPoint, ...]:
    """The entry points of every catalog plugin installed beside Hooflast."""
    return tuple(entry_points(group=ENTRY_POINT_GROUP))


def ask_within_limits(entry_point: EntryPoint, asked: Asked, *, stop: Event | None = None) -> Offer:
    """The offer of one plugin, asked in a process of its own. Raises PluginFailed; WorkStopped once `stop` is set."""
    return ask_plugin(entry_point, asked, limits=Limits(), stop=stop)


def load_catalog(
    found: Iterable[EntryPoint] | None = None,
    *,
    configured: Mapping[str, PluginConfiguration] = _NOT_CONFIGURED,
    held: Mapping[str, Mapping[str, Held]] = _NOTHING_HELD,
    ask: Callable[[EntryPoint, Asked], Offer] = ask_within_limits,
    on_progress: OnProgress = unheard,
) -> LoadedCatalog:
    """Ask the plugins behind `found`, or all installed ones, and make the library of what they publish.

    `configured` says how each plugin is used, and `held` what its sources gave the last time, by the name of its entry
    point.
    """
    reports: dict[str, PluginReport] = {}
    failed: list[PluginReport] = []
    fetched: dict[str, Mapping[str, Held]] = {}
    published: list[Published] = []
    asked = sorted(installed_plugins() if found is None else found, key=lambda one: (one.name, one.value))
    for number, entry_point in enumerate(asked):
        on_progress(Progress(stage=WorkStage.ASKING, about=entry_point.name, done=number, of=len(asked)))
        version = entry_point.dist.version if entry_point.dist else "unknown"
        try:
            use = configured.get(entry_point.name, PluginConfiguration())
            offer = ask(entry_point, Asked(settings=use.settings, held=held.get(entry_point.name, {})))
            if offer.plugin in reports:
                raise PluginFailed(plugin=entry_point.name, reason=f"another plugin is called {offer.plugin!r} already")
            accepted, report = _read(offer, priority=use.priority, version=version, on_progress=on_progress)
        except PluginFailed as failure:
            failed.append(PluginReport(plugin=entry_point.name, version=version, failure=failure))
        else:
            published += accepted
            fetched[entry_point.name] = offer.fetched
            reports[offer.plugin] = report
    failed += _not_installed(configured, asked, taken=reports)
    on_progress(Progress(stage=WorkStage.COMPOSING))
    composed = compose(published)
    told = [replace(one, faults=(*one.faults, *composed.left_out.get(one.plugin, ()))) for one in reports.values()]
    return LoadedCatalog(
        library=Library(releases=composed.releases),
        reports=(*told, *failed),
        fetched=fetched,
        files=files_of(file for one in published for file in one.edition.files),
    )


def _not_installed(
    configured: Mapping[str, PluginConfiguration], asked: Sequence[EntryPoint], *, taken: Iterable[str]
) -> Iterable[PluginReport]:
    """A report on every plugin that is configured and is not there."""
    names = sorted({entry_point.name for entry_point in asked})
    for name in sorted(configured.keys() - set(names)):
        closest = get_close_matches(name, names, n=1)
        reason = "it is told how it is used, and no catalog plugin of that name is installed"
        reason += f"; the closest is {closest[0]!r}" if closest else f"; there are: {', '.join(names) or 'none'}"
        plugin = f"{name} (not installed)" if name in taken else name
        yield PluginReport(plugin=plugin, version="", failure=PluginFailed(plugin=name, reason=reason))


def _read(
    offer: Offer, *, priority: int, version: str, on_progress: OnProgress
) -> tuple[list[Published], PluginReport]:
    accepted: list[Published] = []
    report = PluginReport(plugin=offer.plugin, version=version, waits_for=offer.waits_for, rows=offer.rows)
    of = sum(len(edition.files) for edition in offer.editions)
    read = 0

    def tell() -> None:
        nonlocal read
        read += 1
        on_progress(Progress(stage=WorkStage.READING, about=offer.plugin, done=read, of=of))

    for edition in offer.editions:
        found = _found(edition)
        try:
            records = read_files(edition.files, plugin=offer.plugin, version=version, on_file=tell)
        except InputRefused as refusal:
            behind = rows_behind(refusal.faults, rows=offer.rows)
            report = _with_refused(report, edition, faults=[*found, *refusal.faults, *behind])
        except WorkStopped:
            raise
        except Exception as error:
            reason = f"its edition of {edition.released_on} cannot be read: {type(error).__name__}: {error}"
            raise PluginFailed(plugin=offer.plugin, reason=reason) from error
        else:
            if found:
                report = _with_refused(report, edition, faults=found)
                continue
            accepted.append(Published(plugin=offer.plugin, priority=priority, edition=edition, records=records))
            report = replace(report, editions=(*report.editions, edition.released_on))
    return accepted, report


def _found(edition: Edition) -> list[Fault]:
    """What a plugin itself finds wrong, in its own words; about the one file of an edition, where it has but one."""
    path = (edition.files[0].source,) if len(edition.files) == 1 else ()
    return [
        Fault(path=path, code="catalog-plugin-finding", received=None, facts={"finding": finding})
        for finding in edition.findings
    ]


def rows_behind(faults: Iterable[Fault], *, rows: Iterable[RowFate]) -> tuple[Fault, ...]:
    """That rows were refused, where something is named and not there: it may have stood in one of them."""
    refused = [row for row in rows if row.fate is Fate.REFUSED]
    if not refused or not any(fault.code in NAMED_AND_NOT_THERE for fault in faults):
        return ()
    facts: dict[str, Fact] = {"count": len(refused), "first": f"{refused[0].place}: {refused[0].why}".rstrip(": ")}
    return (Fault(path=(), code="catalog-rows-refused", received=None, facts=facts),)


def _with_refused(report: PluginReport, edition: Edition, *, faults: Sequence[Fault]) -> PluginReport:
    return replace(
        report,
        editions=tuple(day for day in report.editions if day != edition.released_on),
        refused=(*report.refused, edition.released_on),
        faults=(*report.faults, *faults),
    )
