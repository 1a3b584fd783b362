"""Changes document: what changed between two catalog releases, written down."""

from typing import Annotated

from msgspec import Meta

from hooflast.catalog.comparing import (
    Change,
    Edge,
    EdgeMove,
    FieldChange,
    RecordChange,
    RecordKind,
    ReleaseChanges,
    SizeChange,
)
from hooflast.exchange.answer_parts import Document, rounded
from hooflast.fit.hoof import Axis

Value = str | float | list[str] | None


class FieldChangeDocument(Document, frozen=True):
    """A field that says something else. Sets are sorted words, days are as RFC 3339 writes them."""

    name: Annotated[str, Meta(description="The field, as it is called where the record is read.")]
    before: Value
    after: Value


class EdgeMoveDocument(Document, frozen=True):
    """An end of a size's range that moved. Null: the chart had no such axis, or has none now."""

    axis: Axis
    edge: Edge
    before_mm: float | None
    after_mm: float | None
    moved_mm: Annotated[float | None, Meta(description="How far it moved, rounded to 0.001; upwards is positive.")]


class SizeChangeDocument(Document, frozen=True):
    """What became of one size."""

    code: str
    change: Change
    edges: Annotated[list[EdgeMoveDocument], Meta(max_length=4, description="The ends of its ranges that moved.")]
    fields: Annotated[list[FieldChangeDocument], Meta(description="What else is said of it otherwise.")]


class RecordChangeDocument(Document, frozen=True):
    """What became of one maker, boot model or accessory. Only a changed one has more to tell."""

    kind: RecordKind
    id: str
    name: Annotated[str, Meta(description="Its present name, or its last.")]
    change: Change
    former_name: Annotated[str | None, Meta(description="Its name before, where it was renamed.")]
    fields: Annotated[list[FieldChangeDocument], Meta(description="What is said of it otherwise.")]
    sizes: Annotated[
        list[SizeChangeDocument],
        Meta(
            max_length=400, description="Its sizes that were added, changed or removed: those of the new chart first."
        ),
    ]
    order: Annotated[
        list[str],
        Meta(
            max_length=200, description="All its sizes in their present order, where that is another one; else empty."
        ),
    ]


class CountsDocument(Document, frozen=True):
    """How many records of one kind were added, removed and changed."""

    kind: RecordKind
    added: Annotated[int, Meta(ge=0)]
    removed: Annotated[int, Meta(ge=0)]
    changed: Annotated[int, Meta(ge=0)]


def change_document(change: RecordChange) -> RecordChangeDocument:
    """One record's change as a document."""
    return RecordChangeDocument(
        kind=change.kind,
        id=change.id,
        name=change.name,
        change=change.change,
        former_name=change.former_name,
        fields=[_field(field) for field in change.changed],
        sizes=[_size(size) for size in change.sizes],
        order=list(change.order),
    )


def counts_documents(changes: ReleaseChanges) -> list[CountsDocument]:
    """How much changed, one line a kind."""
    return [
        CountsDocument(
            kind=kind,
            added=changes.count(kind, change=Change.ADDED),
            removed=changes.count(kind, change=Change.REMOVED),
            changed=changes.count(kind, change=Change.CHANGED),
        )
        for kind in RecordKind
    ]


def _size(size: SizeChange) -> SizeChangeDocument:
    return SizeChangeDocument(
        code=size.code,
        change=size.change,
        edges=[_edge(move) for move in size.edges],
        fields=[_field(field) for field in size.changed],
    )


def _edge(move: EdgeMove) -> EdgeMoveDocument:
    moved_mm = move.moved_mm
    return EdgeMoveDocument(
        axis=move.axis,
        edge=move.edge,
        before_mm=move.before_mm,
        after_mm=move.after_mm,
        moved_mm=None if moved_mm is None else rounded(moved_mm, decimals=3),
    )


def _field(field: FieldChange) -> FieldChangeDocument:
    before, after = (list(value) if isinstance(value, tuple) else value for value in (field.before, field.after))
    return FieldChangeDocument(name=field.name, before=before, after=after)
