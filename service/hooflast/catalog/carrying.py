"""Carrying: the records of plugins that cannot be relied on just now, carried over from what is served.

A plugin that fails, waits for its settings, or whose newest edition is refused, offers nothing, or something old.
Nobody is to lose its boot models for that: until it can be relied on again, its records stay as they were published
last.
"""

from collections.abc import Iterable, Mapping
from datetime import date
from typing import Any

from hooflast.catalog.comparing import compare_releases
from hooflast.catalog.composing import KINDS
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import Accessory, BootModel, CatalogRelease


def unreliable(reports: Iterable[PluginReport], *, active: CatalogRelease) -> frozenset[str]:
    """The plugins of which records are served, and whose offer does not say now what they offer.

    A plugin that failed cannot say what it is called, so all count that have records and did not answer. One that is
    no longer installed is missed only as long as another one fails.
    """
    reports = list(reports)
    answered = {report.plugin for report in reports if _has_answered(report)}
    if len(answered) == len(reports):
        return frozenset()
    return frozenset(plugins_of(active) - answered)


def plugins_of(release: CatalogRelease) -> set[str]:
    """The plugins that its records came through."""
    return {record.provenance.plugin for kind in KINDS for record in getattr(release, kind).values()}


def carry_over(newest: CatalogRelease, *, active: CatalogRelease, plugins: frozenset[str]) -> CatalogRelease | None:
    """The newest of what is offered, with the records of `plugins` as they are in the active one.

    None if no record differs from the active one then. It is of the later day of the two.
    """
    records = Records(**{kind: _carried(kind, newest, active=active, plugins=plugins) for kind in KINDS})
    day = max(newest.released_on, active.released_on)
    carried = compose_release(records, released_on=day, note=newest.note)
    return carried if compare_releases(active, carried).records else None


def _carried(
    kind: str, newest: CatalogRelease, *, active: CatalogRelease, plugins: frozenset[str]
) -> Mapping[Any, Any]:
    """Records of a kind: those of `plugins` from the active one, the others as offered; no maker of theirs is lost."""
    offered = {key: one for key, one in getattr(newest, kind).items() if one.provenance.plugin not in plugins}
    kept = {key: one for key, one in getattr(active, kind).items() if one.provenance.plugin in plugins}
    if kind != "makers":
        return {**offered, **kept}
    named: list[BootModel | Accessory] = [*active.boots.values(), *active.accessories.values()]
    needed = {one.maker for one in named if one.provenance.plugin in plugins}
    return {**{key: one for key, one in active.makers.items() if key in needed}, **offered, **kept}


def _has_answered(report: PluginReport) -> bool:
    """Whether a plugin says what it offers now: it neither failed, nor waits for its settings, nor was refused."""
    return report.failure is None and not report.waits_for and not _is_behind(report)


def _is_behind(report: PluginReport) -> bool:
    """Whether the newest edition of a plugin was refused."""
    return bool(report.refused) and max(report.refused) > max(report.editions, default=date.min)
