"""Node fields: anything with an id as a node, asked for by it."""

import asyncio
from collections.abc import Awaitable, Callable, Mapping
from typing import Annotated, Any, Final

import strawberry

from hooflast.api.graphql.bounds import BOUND
from hooflast.api.graphql.context import Info
from hooflast.api.graphql.fields import LOOK_UP, declared
from hooflast.api.graphql.nodes import Found, Node, read_node_id
from hooflast.errors import Fault, InputRefused, NotFound
from hooflast.exchange.faults import FaultCode, fault

MOST_IDS: Final = 100

Finder = Callable[[Info, Any], Awaitable[Found]]
Id = Annotated[strawberry.ID, strawberry.argument(description="The node's id.")]
Ids = Annotated[
    list[strawberry.ID],
    strawberry.argument(description=f"The nodes' ids. At most {MOST_IDS}.", metadata={BOUND: MOST_IDS}),
]


def node_fields(finders: Mapping[str, Finder]) -> dict[str, Any]:
    """The fields that find nodes of any kind; each kind has its finder, which raises NotFound."""

    async def find(info: Info, written: str) -> Found | None:
        node = read_node_id(written)
        finder = None if node is None else finders.get(node.kind)
        if node is None or finder is None:
            return None
        try:
            return await finder(info, node)
        except NotFound:
            return None

    async def one(info: Info, *, id: Id) -> Found | None:  # noqa: A002 (the argument's name)
        return await find(info, id)

    async def some(info: Info, *, ids: Ids) -> list[Found | None]:
        if len(ids) > MOST_IDS:
            raise InputRefused(faults=(_too_many(ids),))
        return await asyncio.gather(*(find(info, written) for written in ids))

    return {
        "node": declared(
            one, gives=Node, weight=LOOK_UP, description="The thing of that id; null where there is none."
        ),
        "nodes": declared(
            some,
            gives=list[Node | None],
            weight=LOOK_UP,
            most=MOST_IDS,
            description="The things of these ids, in their order; null where there is none.",
        ),
    }


def _too_many(ids: list[strawberry.ID]) -> Fault:
    return fault(FaultCode.TOO_MANY, path=("ids",), received=len(ids), facts={"limit": MOST_IDS})
