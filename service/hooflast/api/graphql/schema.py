"""Schema: the resources put together."""

import types
from collections.abc import Callable, Mapping
from functools import cache
from typing import Any, Final

import strawberry
from graphql import GraphQLObjectType, GraphQLSchema
from msgspec import UNSET
from strawberry.schema.config import StrawberryConfig
from strawberry.schema.schema_converter import GraphQLCoreConverter
from strawberry.types.field import StrawberryField

from hooflast.api.graphql import assortments, catalog, hooks, match_jobs, matches, plugins, releases, troubles, works
from hooflast.api.graphql.node_fields import node_fields
from hooflast.api.graphql.scalars import SCALARS

RESOURCES: Final = (catalog, releases, plugins, troubles, matches, works, hooks, assortments, match_jobs)


@cache
def schema() -> strawberry.Schema:
    """The schema of the service."""
    return strawberry.Schema(
        query=_root("Query", "FIELDS", description="What can be read and worked out.", also=node_fields(_finders())),
        mutation=_root("Mutation", "MUTATIONS", description="What changes something that is kept.", also={}),
        config=StrawberryConfig(scalar_map=SCALARS),
    )


@cache
def core_schema() -> GraphQLSchema:
    """The same as graphql-core executes it: fields that only read a member do so without a detour."""
    core = schema()._schema  # noqa: SLF001 (strawberry names no other way to it)
    for kind in core.type_map.values():
        for field in kind.fields.values() if isinstance(kind, GraphQLObjectType) else ():
            declared = field.extensions.get(GraphQLCoreConverter.DEFINITION_BACKREF)
            if isinstance(declared, StrawberryField) and declared.is_basic_field:
                field.resolve = _reader(declared.python_name)
    return core


def _reader(member: str) -> Callable[[Any, Any], Any]:
    def read(source: Any, _info: Any) -> Any:
        value = getattr(source, member)
        return None if value is UNSET else value

    return read


def _root(name: str, member: str, *, description: str, also: Mapping[str, Any]) -> Any:
    fields = dict(also)
    for resource in RESOURCES:
        fields |= getattr(resource, member, {})
    made = types.new_class(name, (), {}, lambda namespace: namespace.update(fields))
    return strawberry.type(made, name=name, description=description)


def _finders() -> Mapping[str, Any]:
    return {kind: finder for resource in RESOURCES for kind, finder in getattr(resource, "FINDERS", {}).items()}
