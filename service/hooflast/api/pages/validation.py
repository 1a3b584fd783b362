"""Validation: all that was found in a catalog as a page of its own, to be read anywhere: nothing is fetched for it."""

from collections.abc import Iterable
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

from hooflast import __version__
from hooflast.api.pages.templating import render
from hooflast.catalog.doubts import Doubt
from hooflast.catalog.naming import short_id
from hooflast.catalog.validation import Grade, Point, Validation
from hooflast.catalog.values import BootId, BootModel, CatalogRelease
from hooflast.exchange.validation_document import PointDocument, point_document, validation_document
from hooflast.matching.chart_pictures import SEEN_IN_A_PICTURE, chart_picture
from hooflast.texts import Texts

MOST_PICTURES: Final = 40
"""Charts that are drawn in one report; a page with more is slow to open."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GroupView:
    """The points of one severity about one boot model, or in one source."""

    anchor: str
    name: str
    source: str
    plugin: str
    boot: BootModel | None
    points: tuple[PointDocument, ...]
    picture: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class GradeView:
    """All points of one severity."""

    grade: Grade
    count: int
    groups: tuple[GroupView, ...]


def validation_page(validation: Validation, *, texts: Texts) -> str:
    """The report as HTML."""
    doubted = _doubted(validation)
    drawn = frozenset(list(doubted)[:MOST_PICTURES])
    grades = [_grade_view(grade, validation, drawn=drawn, texts=texts) for grade in Grade]
    return render(
        "validation.html.j2",
        texts=texts,
        base="",
        document=validation_document(validation, texts=texts),
        release=_short(validation.release),
        since=_short(validation.active),
        grades=grades,
        left_undrawn=len(doubted) - len(drawn),
        engine=__version__,
    )


def _short(release: CatalogRelease | None) -> str:
    return "" if release is None else short_id(release.id)


def _doubted(validation: Validation) -> dict[BootId, None]:
    """The boot models with a doubt that a picture shows, gravest first."""
    return dict.fromkeys(
        BootId(point.record)
        for point in validation.points
        if isinstance(point.found, Doubt) and point.found.code in SEEN_IN_A_PICTURE
    )


def _grade_view(grade: Grade, validation: Validation, *, drawn: frozenset[BootId], texts: Texts) -> GradeView:
    """The points of a severity; a boot model's chart is drawn where its gravest points stand."""
    points = [point for point in validation.points if point.severity is grade]
    graver = {point.record for point in validation.points if _is_graver(point.severity, grade)}
    groups = []
    for number, (_, together) in enumerate(groupby(sorted(points, key=_group_key), key=_group_key), start=1):
        group = _group_view(f"{grade}-{number}", list(together), release=validation.release, texts=texts)
        if group.boot is not None and group.boot.id in drawn - graver:
            doubts = _doubts_about(group.boot, validation.points)
            picture = chart_picture(group.boot, doubts, texts=texts, prefix=f"chart-{group.anchor}")
            group = replace(group, picture=picture)
        groups.append(group)
    return GradeView(grade=grade, count=len(points), groups=tuple(groups))


def _is_graver(one: Grade, other: Grade) -> bool:
    return list(Grade).index(one) < list(Grade).index(other)


def _group_key(point: Point) -> tuple[str, str, str]:
    return point.plugin, point.source, point.record


def _group_view(anchor: str, points: list[Point], *, release: CatalogRelease | None, texts: Texts) -> GroupView:
    first = points[0]
    boot = None if release is None else release.boots.get(BootId(first.record))
    name = boot.name if boot is not None else first.record or first.source or first.plugin
    return GroupView(
        anchor=anchor,
        name=name or texts.say("page.validation.whole"),
        source="" if name == first.source else first.source,
        plugin="" if name == first.plugin else first.plugin,
        boot=boot,
        points=tuple(point_document(point, texts=texts) for point in points),
    )


def _doubts_about(boot: BootModel, points: Iterable[Point]) -> list[Doubt]:
    return [point.found for point in points if point.record == boot.id and isinstance(point.found, Doubt)]
