"""Canonical: values of the catalog as JSON in RFC 8785 canonical form, so that equal values are equal bytes.

A field that holds its default is left out. Whatever the fast writer could write otherwise than RFC 8785 asks for (keys
beyond ASCII, which that orders by UTF-16, very small and very large numbers) goes through the slow and sure one.
"""

from collections.abc import Callable, Mapping
from dataclasses import MISSING, Field, fields, is_dataclass
from datetime import date
from functools import cache
from typing import Any, Final, cast

import msgspec
import rfc8785

_LEAST: Final = 1e-3
_MOST: Final = 1e15
_LARGEST_WHOLE: Final = 2**53
_SCALARS: Final = (str, int, float, date, type(None))

Number = Callable[[float], int | float]


class _UnusualError(Exception):
    """Something that the two writers could write differently."""


def canonical(
    value: object, *, leave_out: frozenset[str] = frozenset(), without: frozenset[str] = frozenset()
) -> bytes:
    """A value in canonical form, without the fields called `leave_out` anywhere and those `without` at its top."""
    try:
        plain = _plain(value, leave_out=leave_out, number=_usual)
        return msgspec.json.encode(_without(plain, without), order="sorted")
    except _UnusualError:
        plain = _plain(value, leave_out=leave_out, number=_as_it_is)
        return rfc8785.dumps(_without(plain, without))


def _without(plain: Any, names: frozenset[str]) -> Any:
    return {name: member for name, member in plain.items() if name not in names} if names else plain


def _plain(value: Any, *, leave_out: frozenset[str], number: Number) -> Any:
    """A value in JSON's own types; sets become sorted lists."""
    if isinstance(value, _SCALARS):
        return _scalar(value, number=number)
    if is_dataclass(value):
        members = _members(cast("Any", type(value)), leave_out)
        return {
            name: _plain(member, leave_out=leave_out, number=number)
            for name, default in members
            if (member := getattr(value, name)) != default
        }
    if isinstance(value, Mapping):
        if number is _usual and not all(map(str.isascii, map(str, value))):
            raise _UnusualError
        return {str(key): _plain(entry, leave_out=leave_out, number=number) for key, entry in value.items()}
    if isinstance(value, frozenset):
        return sorted(map(str, value))
    if isinstance(value, tuple):
        return [_plain(entry, leave_out=leave_out, number=number) for entry in value]
    return value


def _scalar(value: Any, *, number: Number) -> Any:
    if isinstance(value, str):
        return str(value)
    if isinstance(value, int | float) and not isinstance(value, bool):
        return number(value)
    return value.isoformat() if isinstance(value, date) else value


@cache
def _members(kind: type[Any], leave_out: frozenset[str]) -> tuple[tuple[str, object], ...]:
    """The fields of a kind of value, each with its default."""
    return tuple((field.name, _default(field)) for field in fields(kind) if field.name not in leave_out)


def _default(field: Field[Any]) -> object:
    return field.default_factory() if field.default_factory is not MISSING else field.default


def _usual(value: float) -> int | float:
    """A number that both write alike: RFC 8785 writes 118.0 as 118."""
    if abs(value) < _LARGEST_WHOLE and value == int(value):
        return int(value)
    if _LEAST <= abs(value) < _MOST:
        return value
    raise _UnusualError


def _as_it_is(value: float) -> int | float:
    return value
