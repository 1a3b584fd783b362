"""Nodes: things with an id of their own, by which they can be asked for again (Relay, Global Object Identification).

A node's id is opaque to clients: it holds its kind, its id in REST and what it stands in: the catalog
release where one was pinned, the hook of a delivery.
"""

from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import Any, Final, Self

import msgspec
import strawberry

from hooflast.api.graphql.outputs import Cls, made_from
from hooflast.catalog.values import CatalogRelease
from hooflast.errors import NotFound

_BETWEEN: Final = "\n"
ID_MEANING: Final = "Its id as a node, or its id in REST."


@strawberry.interface(description="A thing with an id of its own, by which it can be asked for again.")
class Node:
    """What all nodes share."""

    id: strawberry.ID = strawberry.field(description="Its id as a node: opaque, and the same for ever.")
    rest_id: str = strawberry.field(description="Its id in REST.")


@dataclass(frozen=True, slots=True, kw_only=True)
class NodeId:
    """What a node's id holds."""

    kind: str
    rest_id: str
    within: str | None = None

    def written(self) -> str:
        """The id as clients see it."""
        parts = (self.kind, self.rest_id) if self.within is None else (self.kind, self.rest_id, self.within)
        return urlsafe_b64encode(_BETWEEN.join(parts).encode()).rstrip(b"=").decode("ascii")


@strawberry.type(description="A node that is no longer there.")
class Gone:
    """What is left to tell of a node; each kind has a type of its own made of it."""

    id: strawberry.ID = strawberry.field(description="What was its id as a node.")
    rest_id: str = strawberry.field(description="What was its id in REST.")

    @classmethod
    def was(cls, node: NodeId) -> Self:
        """Told of the node that an id meant."""
        return cls(id=strawberry.ID(node.written()), rest_id=node.rest_id)


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """A node that was found: its document, and for what stands in the catalog the catalog release it was read from.

    `within` is the catalog release that was asked for, if one was; what is reached from here is read from it, too.
    """

    kind: str
    rest_id: str
    document: msgspec.Struct
    release: CatalogRelease | None = None
    within: str | None = None

    @property
    def id(self) -> str:
        """Its id as a node."""
        return NodeId(kind=self.kind, rest_id=self.rest_id, within=self.within).written()

    def __getattr__(self, member: str) -> Any:
        return getattr(self.document, member)


def node_from(
    document: type[msgspec.Struct],
    *,
    kind: str,
    without: Collection[str] = ("id",),
    renamed: Mapping[str, str] | None = None,
) -> Any:
    """Makes a class the type of a node whose other fields are those of a document."""

    def make(cls: Cls) -> Cls:
        def is_type_of(source: Found, _info: Any) -> bool:
            return source.kind == kind

        cls.is_type_of = staticmethod(is_type_of)  # type: ignore[attr-defined]
        return made_from(document, name=kind, without=without, renamed=renamed)(cls)

    return make


def read_node_id(written: str) -> NodeId | None:
    """What an id holds; None for one that was not made here."""
    try:
        raw = urlsafe_b64decode(written.encode("ascii") + b"=" * (-len(written) % 4)).decode()
    except (ValueError, NotBase64):
        return None
    kind, *rest = raw.split(_BETWEEN)
    if len(rest) not in (1, 2):
        return None
    read = NodeId(kind=kind, rest_id=rest[0], within=rest[1] if len(rest) > 1 else None)
    return read if read.written() == written else None


def id_of(written: str, *, kind: str, resource: str) -> NodeId:
    """What an id that should be of one kind holds; what is no node's id is one of REST. Raises NotFound."""
    read = read_node_id(written)
    if read is None:
        return NodeId(kind=kind, rest_id=written)
    if read.kind != kind:
        raise NotFound(resource=resource, name=written)
    return read


def in_release(node: NodeId, pinned: str | None) -> NodeId:
    """The same in a catalog release that is pinned beside it."""
    return node if pinned is None else replace(node, within=pinned)
