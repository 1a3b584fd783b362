"""Doubts: what to look at again before a catalog release is published, seen beside the one it would follow.

What cannot be served at all was refused when its files were read; nothing here keeps a catalog release back.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Final

from hooflast.catalog.chart_doubts import chart_doubts
from hooflast.catalog.comparing import Change, RecordChange, RecordKind, ReleaseChanges, SizeChange, compare_releases
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.name_doubts import name_doubts
from hooflast.catalog.values import BootId, CatalogRelease, SizeCode
from hooflast.errors import Fact

FAR_MM: Final = 4.0
"""An end of a size's range that moved this far may be a slip [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Doubt:
    """One thing to look at again; `record` is the id of what it is about, empty for the whole."""

    code: DoubtCode
    record: str = ""
    facts: Mapping[str, Fact] = field(default_factory=dict)


def find_doubts(release: CatalogRelease, *, active: CatalogRelease | None) -> tuple[Doubt, ...]:
    """Everything to look at again in `release` before it takes the place of `active`, if there is one.

    Charts and names are looked at that are new or have changed.
    """
    if active is None:
        return (*_of_charts(release, boots=release.boots), *_of_names(release, boots=release.boots))
    changes = compare_releases(active, release)
    touched = [
        BootId(one.id) for one in changes.records if one.kind is RecordKind.BOOT and one.change is not Change.REMOVED
    ]
    return (
        *_of_the_whole(release, active=active, changes=changes),
        *_of_records(changes, active=active),
        *_of_charts(release, boots=touched),
        *_of_names(release, boots=touched),
    )


def _of_charts(release: CatalogRelease, *, boots: Iterable[BootId]) -> Iterator[Doubt]:
    for boot_id in sorted(boots):
        boot = release.boots[boot_id]
        for code, facts in chart_doubts(boot):
            yield Doubt(code=code, record=boot_id, facts={"name": boot.name, **facts})


def _of_names(release: CatalogRelease, *, boots: Iterable[BootId]) -> Iterator[Doubt]:
    looked_at = [release.boots[boot_id] for boot_id in sorted(boots)]
    for code, boot, facts in name_doubts(looked_at, among=release.boots.values()):
        yield Doubt(code=code, record=boot.id, facts={"name": boot.name, **facts})


def _of_the_whole(release: CatalogRelease, *, active: CatalogRelease, changes: ReleaseChanges) -> Iterator[Doubt]:
    if not changes.records:
        yield Doubt(code=DoubtCode.NOTHING_CHANGED)
    if release.released_on < active.released_on:
        facts: dict[str, Fact] = {
            "own_date": release.released_on.isoformat(),
            "active_date": active.released_on.isoformat(),
        }
        yield Doubt(code=DoubtCode.OLDER_THAN_ACTIVE, facts=facts)


def _of_records(changes: ReleaseChanges, *, active: CatalogRelease) -> Iterator[Doubt]:
    for one in changes.records:
        if one.change is Change.REMOVED:
            yield from _of_removed(one, active=active)
        elif one.kind is not RecordKind.MAKER and one.change is Change.CHANGED:
            yield from _of_sizes(one, ended=_ended(active, one))


def _of_removed(removed: RecordChange, *, active: CatalogRelease) -> Iterator[Doubt]:
    """A boot model that is discontinued stays in the catalog, so that its owners are led to its successor."""
    if removed.kind is RecordKind.MAKER:
        yield Doubt(code=DoubtCode.MAKER_GONE, record=removed.id, facts={"name": removed.name})
    if removed.kind is RecordKind.BOOT and active.boots[BootId(removed.id)].discontinued_on is None:
        yield Doubt(code=DoubtCode.BOOT_GONE, record=removed.id, facts={"name": removed.name})


def _ended(active: CatalogRelease, changed: RecordChange) -> frozenset[SizeCode]:
    """The sizes of a boot model that were discontinued already."""
    boot = active.boots.get(BootId(changed.id)) if changed.kind is RecordKind.BOOT else None
    return frozenset(size.code for size in boot.sizes if size.discontinued_on is not None) if boot else frozenset()


def _of_sizes(changed: RecordChange, *, ended: frozenset[SizeCode]) -> Iterator[Doubt]:
    for size in changed.sizes:
        facts: dict[str, Fact] = {"name": changed.name, "size": size.code}
        farthest_mm = _farthest_mm(size)
        if size.change is Change.REMOVED and size.code not in ended:
            yield Doubt(code=DoubtCode.SIZE_GONE, record=changed.id, facts=facts)
        elif farthest_mm >= FAR_MM:
            moved = {**facts, "moved_mm": farthest_mm}
            yield Doubt(code=DoubtCode.SIZE_MOVED, record=changed.id, facts=moved)
    if changed.order:
        order: dict[str, Fact] = {"name": changed.name, "size_list": ",".join(changed.order)}
        yield Doubt(code=DoubtCode.SIZES_REORDERED, record=changed.id, facts=order)


def _farthest_mm(size: SizeChange) -> float:
    return max((abs(edge.moved_mm) for edge in size.edges if edge.moved_mm is not None), default=0.0)
