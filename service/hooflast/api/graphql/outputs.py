"""Outputs: GraphQL types made from documents, with what they say of themselves, so that no type is written twice."""

import inspect
import types
from collections.abc import Callable, Collection, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from enum import StrEnum
from functools import cache
from typing import Annotated, Any, Final, Literal, TypeVar, Union, get_args, get_origin, get_type_hints

import msgspec
import strawberry
from msgspec import Meta

from hooflast.api.graphql.bounds import BOUND, bound_of
from hooflast.api.graphql.enumerations import enumeration
from hooflast.api.graphql.naming import camel, output_name
from hooflast.api.graphql.scalars import JsonObject, Value

Cls = TypeVar("Cls", bound=type)

_PLAIN: Final = (str, int, float, bool, date, datetime)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Told:
    """A member of a document: its type in GraphQL, what is said of it, and how many items its list holds at most."""

    type: Any
    metas: tuple[Meta, ...] = ()
    item: Any = None

    @property
    def description(self) -> str | None:
        return " ".join(meta.description for meta in self.metas if meta.description) or None

    @property
    def most(self) -> int | None:
        return next((meta.max_length for meta in self.metas if meta.max_length is not None), None)


@cache
def output_type(document: type[msgspec.Struct]) -> Any:
    """The type of a document, from its members and what they say of themselves. Raises TypeError for a new kind."""
    made = types.new_class(document.__name__)
    return made_from(document)(made)


def made_from(
    document: type[msgspec.Struct],
    *,
    name: str | None = None,
    without: Collection[str] = (),
    renamed: Mapping[str, str] | None = None,
) -> Callable[[Cls], Cls]:
    """Makes a class the type of a document, with the fields it has itself besides."""

    def make(cls: Cls) -> Cls:
        annotations = inspect.get_annotations(cls)
        for member, hint in get_type_hints(document, include_extras=True).items():
            if member in without:
                continue
            told = _told(hint, owner=document)
            annotations[member] = told.type
            setattr(cls, member, _field(document, member=member, told=told, name=(renamed or {}).get(member)))
        cls.__annotations__ = annotations
        return strawberry.type(cls, name=name or output_name(document), description=inspect.getdoc(document))

    return make


def _field(document: type[msgspec.Struct], *, member: str, told: _Told, name: str | None) -> Any:
    description, metadata = told.description, {}
    if told.item is not None:
        bound = told.most or bound_of(document, member, item=told.item)
        if bound is not None:
            metadata[BOUND] = bound
            description = f"{description or ''} At most {bound}.".strip()
    return strawberry.field(name=name or camel(member), description=description, metadata=metadata)


def _told(hint: Any, *, owner: type) -> _Told:
    """The type that a hint stands for, and everything that is said along with it."""
    if get_origin(hint) is Annotated:
        inner = _told(hint.__origin__, owner=owner)
        metas = (meta for meta in hint.__metadata__ if isinstance(meta, Meta))
        return replace(inner, metas=(*metas, *inner.metas))
    if get_origin(hint) in (Union, types.UnionType):
        return _choice(hint, owner=owner)
    if get_origin(hint) is list:
        inner = _told(get_args(hint)[0], owner=owner)
        return _Told(type=_list_of(inner.type), item=_bare(get_args(hint)[0]))
    return _Told(type=_single(hint, owner=owner))


def _choice(hint: Any, *, owner: type) -> _Told:
    members = [part for part in get_args(hint) if part not in (types.NoneType, msgspec.UnsetType)]
    if len(members) > 1:
        return _Told(type=Value | None)
    inner = _told(members[0], owner=owner)
    return replace(inner, type=inner.type | None)


def _list_of(item: Any) -> Any:
    return types.GenericAlias(list, (item,))


def _bare(hint: Any) -> Any:
    return hint.__origin__ if get_origin(hint) is Annotated else hint


def _single(hint: Any, *, owner: type) -> Any:
    if get_origin(hint) is Literal:
        return str
    if get_origin(hint) is dict:
        return JsonObject
    if isinstance(hint, type):
        if issubclass(hint, msgspec.Struct):
            return output_type(hint)
        if issubclass(hint, StrEnum):
            return enumeration(hint)
        if hint in _PLAIN:
            return hint
    raise TypeError(f"{owner.__name__}: no GraphQL type stands for {hint!r}")
