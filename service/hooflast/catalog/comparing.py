"""Comparing: what changed from one catalog release to another: makers, boot models, accessories and their sizes.

Records are the same if they have the same id, sizes if they have the same code; a record of another name is renamed.
Where records came from plays no part, as it plays none in the id of a catalog release.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, fields
from datetime import date
from enum import StrEnum
from typing import Any, Final

from hooflast.catalog.values import (
    Accessory,
    AccessorySize,
    BootModel,
    CatalogRelease,
    Maker,
    Range,
    ReleaseId,
    Size,
    SizeCode,
    SizeSuccessor,
)
from hooflast.fit.hoof import Axis

Plain = str | float | None | tuple[str, ...]
Record = Maker | BootModel | Accessory
AnySize = Size | AccessorySize


class RecordKind(StrEnum):
    """What a record of the catalog describes."""

    MAKER = "maker"
    BOOT = "boot"
    ACCESSORY = "accessory"


class Change(StrEnum):
    """What became of a record, or of a size."""

    ADDED = "added"
    REMOVED = "removed"
    CHANGED = "changed"


class Edge(StrEnum):
    """Which end of a size's range."""

    LOW = "low"
    HIGH = "high"


@dataclass(frozen=True, slots=True, kw_only=True)
class FieldChange:
    """A field that says something else; sets are sorted words, a day is as RFC 3339 writes it, None: nothing."""

    name: str
    before: Plain
    after: Plain


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeMove:
    """An end of a size's range that moved, in mm. Where the chart had no such axis, or has none now, it is None."""

    axis: Axis
    edge: Edge
    before_mm: float | None
    after_mm: float | None

    @property
    def moved_mm(self) -> float | None:
        """How far it moved: upwards is positive."""
        return None if self.before_mm is None or self.after_mm is None else self.after_mm - self.before_mm


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeChange:
    """What became of one size of a boot model or an accessory."""

    code: SizeCode
    change: Change
    edges: tuple[EdgeMove, ...] = ()
    changed: tuple[FieldChange, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class RecordChange:
    """What became of one record; `name` is its present name, or its last. Only a changed one has more to tell.

    `order` is the present order of its sizes where those that were there before now stand in another one.
    """

    kind: RecordKind
    id: str
    name: str
    change: Change
    former_name: str | None = None
    changed: tuple[FieldChange, ...] = ()
    sizes: tuple[SizeChange, ...] = ()
    order: tuple[SizeCode, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class ReleaseChanges:
    """Everything that changed from the catalog release `old` to `new`: makers, boot models, accessories, each by id."""

    old: ReleaseId | None
    new: ReleaseId
    records: tuple[RecordChange, ...]

    def count(self, kind: RecordKind, *, change: Change) -> int:
        """How many records of a kind were added, removed or changed."""
        return sum(one.kind is kind and one.change is change for one in self.records)


_KINDS: Final[Mapping[RecordKind, str]] = {
    RecordKind.MAKER: "makers",
    RecordKind.BOOT: "boots",
    RecordKind.ACCESSORY: "accessories",
}
_TOLD_APART: Final = frozenset({"id", "name", "sizes", "provenance", "code", "width", "length"})
"""Fields that have a place of their own, or none, in what is told."""


def _told_of(*kinds: type[Record | AnySize]) -> int:
    return max(sum(field.name not in _TOLD_APART for field in fields(kind)) for kind in kinds)


MOST_RECORD_FIELDS: Final = _told_of(Maker, BootModel, Accessory)
MOST_SIZE_FIELDS: Final = _told_of(Size, AccessorySize)
"""How many fields of a record, and of a size, there are to be told of."""


def compare_releases(old: CatalogRelease | None, new: CatalogRelease) -> ReleaseChanges:
    """What changed from `old` to `new`; against None, everything was added."""
    found = [
        change
        for kind, held in _KINDS.items()
        for change in _record_changes({} if old is None else getattr(old, held), getattr(new, held), kind=kind)
    ]
    return ReleaseChanges(old=None if old is None else old.id, new=new.id, records=tuple(found))


def _record_changes(
    old: Mapping[Any, Record], new: Mapping[Any, Record], *, kind: RecordKind
) -> Iterator[RecordChange]:
    for record_id in sorted({*old, *new}):
        before, after = old.get(record_id), new.get(record_id)
        if before is None or after is None:
            there = before or after
            change = Change.ADDED if before is None else Change.REMOVED
            yield RecordChange(kind=kind, id=record_id, name=there.name if there else "", change=change)
        elif before != after:
            told = _changed(before, after, kind=kind)
            if told.former_name is not None or told.changed or told.sizes or told.order:
                yield told


def _changed(before: Record, after: Record, *, kind: RecordKind) -> RecordChange:
    old_sizes, new_sizes = _sizes(before), _sizes(after)
    return RecordChange(
        kind=kind,
        id=after.id,
        name=after.name,
        change=Change.CHANGED,
        former_name=None if before.name == after.name else before.name,
        changed=tuple(_field_changes(before, after)),
        sizes=tuple(_size_changes(old_sizes, new_sizes)),
        order=_new_order(list(old_sizes), list(new_sizes)),
    )


def _sizes(record: Record) -> dict[SizeCode, AnySize]:
    sizes: Sequence[AnySize] = () if isinstance(record, Maker) else record.sizes
    return {size.code: size for size in sizes}


def _size_changes(old: Mapping[SizeCode, AnySize], new: Mapping[SizeCode, AnySize]) -> Iterator[SizeChange]:
    """Those of the new chart in its order, then those it no longer has."""
    for code, after in new.items():
        before = old.get(code)
        if before is None:
            yield SizeChange(code=code, change=Change.ADDED)
        elif before != after:
            edges = tuple(_edge_moves(before, after))
            yield SizeChange(
                code=code, change=Change.CHANGED, edges=edges, changed=tuple(_field_changes(before, after))
            )
    for code in old:
        if code not in new:
            yield SizeChange(code=code, change=Change.REMOVED)


def _edge_moves(before: AnySize, after: AnySize) -> Iterator[EdgeMove]:
    for axis in Axis:
        old: Range | None = getattr(before, axis.value, None)
        new: Range | None = getattr(after, axis.value, None)
        for edge in Edge:
            old_mm, new_mm = (None if one is None else getattr(one, f"{edge.value}_mm") for one in (old, new))
            if old_mm != new_mm:
                yield EdgeMove(axis=axis, edge=edge, before_mm=old_mm, after_mm=new_mm)


def _field_changes(before: Record | AnySize, after: Record | AnySize) -> Iterator[FieldChange]:
    for field in fields(after):
        if field.name in _TOLD_APART:
            continue
        old, new = getattr(before, field.name), getattr(after, field.name)
        if old != new:
            yield FieldChange(name=field.name, before=_plain(old), after=_plain(new))


def _new_order(old: Sequence[SizeCode], new: Sequence[SizeCode]) -> tuple[SizeCode, ...]:
    shared = frozenset(old) & frozenset(new)
    return () if [code for code in old if code in shared] == [code for code in new if code in shared] else tuple(new)


def _plain(value: Any) -> Plain:
    """A field's value in words; a size of a boot model, where it is named beside others, is `boot/size`."""
    if isinstance(value, Mapping):
        return tuple(sorted(f"{boot}/{code}" for boot, codes in value.items() for code in codes))
    if isinstance(value, frozenset):
        return tuple(sorted(map(str, value)))
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, SizeSuccessor):
        return f"{value.boot}/{value.size}"
    return None if value is None else float(value) if isinstance(value, int | float) else str(value)
