"""Schema: the resources put together."""

import types
from collections.abc import Mapping
from functools import cache
from typing import Any, Final

import strawberry
from graphql import GraphQLSchema
from strawberry.schema.config import StrawberryConfig

from hooflast.api.graphql import catalog, hooks, matches, plugins, releases, troubles, works
from hooflast.api.graphql.node_fields import node_fields
from hooflast.api.graphql.scalars import SCALARS

RESOURCES: Final = (catalog, releases, plugins, troubles, matches, works, hooks)


@cache
def schema() -> strawberry.Schema:
    """The schema of the service."""
    return strawberry.Schema(
        query=_root("Query", "FIELDS", description="What can be read and worked out.", also=node_fields(_finders())),
        mutation=_root("Mutation", "MUTATIONS", description="What changes something that is kept.", also={}),
        config=StrawberryConfig(scalar_map=SCALARS),
    )


def core_schema() -> GraphQLSchema:
    """The same as graphql-core executes it."""
    return schema()._schema  # noqa: SLF001 (strawberry names no other way to it)


def _root(name: str, member: str, *, description: str, also: Mapping[str, Any]) -> Any:
    fields = dict(also)
    for resource in RESOURCES:
        fields |= getattr(resource, member, {})
    made = types.new_class(name, (), {}, lambda namespace: namespace.update(fields))
    return strawberry.type(made, name=name, description=description)


def _finders() -> Mapping[str, Any]:
    return {kind: finder for resource in RESOURCES for kind, finder in getattr(resource, "FINDERS", {}).items()}
