"""Inputs: GraphQL input types made from forms, and what came for them as the body the form reads.

Where a form takes one of several forms, the input has the fields of all of them; the form says which go together. What
only some of them have is never filled in for them.
"""

import dataclasses
import inspect
import types
from collections.abc import Iterator, Mapping
from enum import Enum, StrEnum
from functools import cache
from typing import Annotated, Any, Final, Union, get_args, get_origin

import strawberry
from annotated_types import Ge, Le, MaxLen
from pydantic import BaseModel, WithJsonSchema
from pydantic.fields import FieldInfo

from hooflast.api.graphql.bounds import BOUND
from hooflast.api.graphql.enumerations import enumeration
from hooflast.api.graphql.naming import camel, input_name
from hooflast.api.graphql.scalars import BY_FORM_TYPE, Length, Lengths
from hooflast.errors import InputRefused
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.plain import DEEPEST
from hooflast.units import Length as ReadLength

_PLAIN: Final = (str, int, float, bool)


@cache
def input_type(*forms: type[BaseModel]) -> Any:
    """The type of a form, from its fields and what they say of themselves. Raises TypeError for a new kind."""
    made = types.new_class(forms[0].__name__)
    fields = {name: info for form in reversed(forms) for name, info in form.model_fields.items()}
    annotations = {}
    for name, info in fields.items():
        is_shared = all(name in form.model_fields for form in forms)
        is_needed = is_shared and all(form.model_fields[name].is_required() for form in forms)
        kind, default = _kind(info), _default(info) if is_shared else strawberry.UNSET
        annotations[name] = kind if is_needed or default is not strawberry.UNSET else kind | None
        given = {} if is_needed else {"default": default}
        if isinstance(default, list):
            given = {"default_factory": default.copy}
        setattr(made, name, _field(info, name=name, given=given))
    made.__annotations__ = annotations
    return strawberry.input(made, name=input_name(forms[0]), description=inspect.getdoc(forms[0]))


def as_body(given: object) -> Any:
    """What came for an input as the document that its form reads. Raises InputRefused for what is nested too deeply."""
    try:
        return _body(given)
    except RecursionError:
        raise too_deep() from None


def too_deep() -> InputRefused:
    """What came is nested more deeply than any form reads."""
    return InputRefused(faults=(fault(FaultCode.TOO_DEEP, received=None, facts={"limit": DEEPEST}),))


def _body(given: object) -> Any:
    if isinstance(given, list):
        return [_body(item) for item in given]
    if isinstance(given, dict):
        return {name: _body(value) for name, value in given.items()}
    if isinstance(given, Enum):
        return given.value
    if dataclasses.is_dataclass(given):
        return {name: _body(value) for name, value in vars(given).items() if value is not strawberry.UNSET}
    return given


def _field(info: FieldInfo, *, name: str, given: Mapping[str, Any]) -> Any:
    said = [info.description or ""]
    metadata = {}
    rules = [*info.metadata, *_rules(info.annotation)]
    most = next((one.max_length for one in rules if isinstance(one, MaxLen)), None)
    low = next((one.ge for one in rules if isinstance(one, Ge)), None)
    high = next((one.le for one in rules if isinstance(one, Le)), None)
    if most is not None and _is_list(info):
        metadata[BOUND] = most
        said.append(f"At most {most}.")
    if low is not None and high is not None:
        said.append(f"From {low} to {high}.")
    return strawberry.field(name=camel(name), description=" ".join(said).strip(), metadata=metadata, **given)


def _is_list(info: FieldInfo) -> bool:
    return any(_bare(part) is list for part in (info.annotation, *get_args(info.annotation)))


def _rules(annotation: Any) -> Iterator[Any]:
    """What an annotation asks of its value, also where the value may be left out."""
    if get_origin(annotation) is Annotated:
        for rule in annotation.__metadata__:
            yield from rule.metadata if isinstance(rule, FieldInfo) else (rule,)
        yield from _rules(annotation.__origin__)
    elif get_origin(annotation) in (Union, types.UnionType):
        for part in get_args(annotation):
            yield from _rules(part)


def _default(info: FieldInfo) -> Any:
    """What is taken where nothing comes, as far as a schema can say it; UNSET where it is the form's own affair."""
    default = info.default
    is_told = isinstance(default, str | int | float | bool | list) and not info.is_required()
    return default if is_told else strawberry.UNSET


def _bare(annotation: Any) -> Any:
    while get_origin(annotation) is Annotated:
        annotation = annotation.__origin__
    return get_origin(annotation) or annotation


def _kind(info: FieldInfo) -> Any:
    return _made(info.annotation, metadata=tuple(info.metadata))


def _made(annotation: Any, *, metadata: tuple[Any, ...] = ()) -> Any:
    """The type that an annotation stands for, without saying whether it may be null."""
    if get_origin(annotation) is Annotated:
        return _made(annotation.__origin__, metadata=(*metadata, *annotation.__metadata__))
    if any(isinstance(one, WithJsonSchema) and "anyOf" in (one.json_schema or {}) for one in metadata):
        return _written(annotation, metadata=metadata)
    if get_origin(annotation) in (Union, types.UnionType):
        members = [part for part in get_args(annotation) if part is not types.NoneType]
        if len(members) == 1:
            return _made(members[0], metadata=metadata)
        return input_type(*(_form(member) for member in members))
    if get_origin(annotation) is list:
        return list[_made(get_args(annotation)[0])]  # type: ignore[misc]
    return _single(annotation)


def _written(annotation: Any, *, metadata: tuple[Any, ...]) -> Any:
    """What may be written as a number or as text."""
    kinds = {choice.get("type") for one in _schemas(metadata) for choice in one["anyOf"]}
    if _bare(annotation) is list or "array" in kinds:
        return Lengths
    return BY_FORM_TYPE.get(annotation, Length)


def _schemas(metadata: tuple[Any, ...]) -> Iterator[Any]:
    return (one.json_schema for one in metadata if isinstance(one, WithJsonSchema))


def _form(annotation: Any) -> type[BaseModel]:
    while get_origin(annotation) is Annotated:
        annotation = annotation.__origin__
    return annotation  # type: ignore[no-any-return]


def _single(kind: Any) -> Any:
    if isinstance(kind, type):
        if issubclass(kind, BaseModel):
            return input_type(kind)
        if issubclass(kind, StrEnum):
            return enumeration(kind)
        if issubclass(kind, ReadLength):
            return Length
        if kind in _PLAIN:
            return kind
    if kind in BY_FORM_TYPE:
        return BY_FORM_TYPE[kind]
    raise TypeError(f"no GraphQL input stands for {kind!r}")
