"""Connections: lists read page by page (Relay, Cursor Connections), forwards."""

import types
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Annotated, Any, Final, TypeVar

import strawberry

from hooflast.api.graphql.bounds import BOUND, PAGE
from hooflast.api.paging import CURSOR, LIMIT, Cursor, cursor_of, cursor_text, page_of
from hooflast.api.parameters import ParameterUnreadable, Query
from hooflast.api.refusals import QueryRefused
from hooflast.errors import Fact, Fault

Item = TypeVar("Item")

MOST: Final = 100
USUAL: Final = 20
First = Annotated[int, strawberry.argument(description=f"How many items, from 1 to {MOST}.")]
After = Annotated[
    str | None, strawberry.argument(description="Where to go on: the cursor of the last item you have had.")
]


@strawberry.type(description="Where a page lies in its list.")
class PageInfo:
    """Where a page lies."""

    has_next_page: bool = strawberry.field(description="Whether more items follow.")
    has_previous_page: bool = strawberry.field(description="Whether items came before.")
    start_cursor: str | None = strawberry.field(description="The cursor of the first item.")
    end_cursor: str | None = strawberry.field(description="The cursor of the last item.")


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """The page that is asked for, of a list with some filters, and what is wrong with these."""

    scope: str
    first: int
    after: str | None
    filters: Mapping[str, object] = field(default_factory=dict)
    faults: Sequence[Fault] = ()

    def query(self) -> Query:
        """The same as parameters of a query. Raises QueryRefused."""
        faults = list(self.faults)
        values = {name: value for name, value in self.filters.items() if value is not None}
        if not 1 <= self.first <= MOST:
            facts: dict[str, Fact] = {"low": 1, "high": MOST}
            faults.append(Fault(path=("first",), code="parameter-not-a-whole-number", received=self.first, facts=facts))
        if self.after is not None:
            try:
                values[CURSOR.name] = CURSOR.read(self.after)
            except ParameterUnreadable as unreadable:
                faults.append(Fault(path=("after",), code=unreadable.code, received=self.after))
        if faults:
            raise QueryRefused(faults=tuple(faults))
        return Query(values={**values, LIMIT.name: self.first})


@dataclass(frozen=True, slots=True, kw_only=True)
class EdgeFound:
    """One item of a page. Its cursor is only written when it is asked for."""

    node: Any
    key: str
    query: Query
    scope: str
    release: str

    @property
    def cursor(self) -> str:
        """Where to go on after this item."""
        return cursor_text(query=self.query, scope=self.scope, release=self.release, after=self.key)


@dataclass(frozen=True, slots=True, kw_only=True)
class PageFound:
    """One page of a connection."""

    edges: Sequence[EdgeFound]
    has_next_page: bool
    has_previous_page: bool

    @property
    def nodes(self) -> list[Any]:
        """The items alone."""
        return [edge.node for edge in self.edges]

    @property
    def page_info(self) -> "PageFound":
        """Where it lies."""
        return self

    @property
    def start_cursor(self) -> str | None:
        """The cursor of the first item."""
        return self.edges[0].cursor if self.edges else None

    @property
    def end_cursor(self) -> str | None:
        """The cursor of the last item."""
        return self.edges[-1].cursor if self.edges else None


def cursor_in(asked: Asked) -> Cursor | None:
    """The cursor that came, once it is sure that it was made for this list. Raises QueryRefused."""
    try:
        return cursor_of(asked.query(), scope=asked.scope)
    except QueryRefused as refused:
        raise _of_the_argument(refused) from None


def page_found(
    items: Sequence[Item],
    keys: Sequence[str],
    *,
    asked: Asked,
    release: str,
    shape: Callable[[Item], Any],
) -> PageFound:
    """The page that is asked for; each item has its key, and is put in form by `shape`. Raises QueryRefused."""
    query, cursor = asked.query(), cursor_in(asked)
    try:
        page = page_of(items, keys, query=query, cursor=cursor)
    except QueryRefused as refused:
        raise _of_the_argument(refused) from None
    start = 0 if cursor is None else keys.index(cursor.after) + 1
    return PageFound(
        edges=[
            EdgeFound(node=shape(item), key=key, query=query, scope=asked.scope, release=release)
            for item, key in zip(page.items, keys[start:], strict=False)
        ],
        has_next_page=page.last is not None,
        has_previous_page=cursor is not None,
    )


def connection_type(node: Any, *, name: str, also: Mapping[str, Any] | None = None) -> Any:
    """The type of a connection of some nodes, with some fields besides."""
    edge = types.new_class(f"{name}Edge")
    edge.__annotations__ = {"node": node, "cursor": str}
    edge.node = strawberry.field(description="The item.")  # type: ignore[attr-defined]
    edge.cursor = strawberry.field(description="Where to go on after it.")  # type: ignore[attr-defined]
    edge = strawberry.type(edge, name=f"{name}Edge", description="One item of a page.")
    made = types.new_class(f"{name}Connection")
    made.__annotations__ = {"edges": list[edge], "nodes": list[node], "page_info": PageInfo}  # type: ignore[valid-type]
    most = {BOUND: MOST, PAGE: True}
    made.edges = strawberry.field(description="Its items with their cursors.", metadata=most)  # type: ignore[attr-defined]
    made.nodes = strawberry.field(description="Its items alone.", metadata=most)  # type: ignore[attr-defined]
    made.page_info = strawberry.field(description="Where it lies.")  # type: ignore[attr-defined]
    for member, more in (also or {}).items():
        setattr(made, member, more)
    return strawberry.type(made, name=f"{name}Connection", description="A page of a list.")


def _of_the_argument(refused: QueryRefused) -> QueryRefused:
    """Faults of a cursor, told of the argument that it came in."""
    return QueryRefused(
        faults=tuple(
            Fault(path=("after",), code=fault.code, received=fault.received, facts=fault.facts)
            if fault.path == (CURSOR.name,)
            else fault
            for fault in refused.faults
        )
    )
