"""Parameters: query parameters, declared once; the same declaration reads them and documents them."""

import re
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from difflib import get_close_matches
from enum import StrEnum
from typing import Final, Generic, TypeVar, cast
from urllib.parse import parse_qsl

from hooflast.api.refusals import QueryRefused
from hooflast.errors import Fact, Fault

Value = TypeVar("Value")
Word = TypeVar("Word", bound=StrEnum)
MOST_PARAMETERS: Final = 32


class ParameterUnreadable(ValueError):
    """The text is not a value of its parameter; `code` and `facts` say why."""

    def __init__(self, code: str, **facts: Fact) -> None:
        super().__init__(code)
        self.code = code
        self.facts = facts


@dataclass(frozen=True, slots=True, kw_only=True)
class Parameter(Generic[Value]):
    """One query parameter. `read` raises ParameterUnreadable; `schema` is its JSON Schema."""

    name: str
    meaning: str
    schema: Mapping[str, object]
    read: Callable[[str], Value]
    default: Value | None = None
    examples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Query:
    """The query parameters of one request, read."""

    values: Mapping[str, object] = field(default_factory=dict)

    def get(self, parameter: Parameter[Value], /) -> Value | None:
        """What came for `parameter`, or its default."""
        return cast("Value | None", self.values.get(parameter.name, parameter.default))

    def text(self, *, without: Iterable[str] = ()) -> str:
        """One spelling for all queries that ask the same; used in ETags and cursors."""
        left_out = set(without)
        return "&".join(f"{name}={value}" for name, value in sorted(self.values.items()) if name not in left_out)


def one_of(words: type[Word], *, name: str, meaning: str) -> Parameter[Word]:
    """A parameter that takes one word of an enumeration."""
    choices = [word.value for word in words]

    def read(text: str) -> Word:
        try:
            return words(text)
        except ValueError:
            raise ParameterUnreadable(
                "parameter-not-one-of", choices=", ".join(choices), **_closest(text, choices)
            ) from (None)

    schema = {"type": "string", "enum": choices}
    return Parameter(name=name, meaning=meaning, schema=schema, read=read, examples=(choices[0],))


def whole_number(*, name: str, meaning: str, low: int, high: int, default: int) -> Parameter[int]:
    """A parameter that takes a whole number from `low` to `high`."""

    def read(text: str) -> int:
        if not re.fullmatch(r"-?\d{1,9}", text, re.ASCII) or not low <= int(text) <= high:
            raise ParameterUnreadable("parameter-not-a-whole-number", low=low, high=high)
        return int(text)

    schema = {"type": "integer", "minimum": low, "maximum": high, "default": default}
    return Parameter(name=name, meaning=meaning, schema=schema, read=read, default=default)


def written_as(pattern: str, *, name: str, meaning: str, examples: tuple[str, ...] = ()) -> Parameter[str]:
    """A parameter that takes text in one form."""

    def read(text: str) -> str:
        if not re.fullmatch(pattern, text):
            raise ParameterUnreadable("parameter-not-in-form", form=pattern)
        return text

    schema = {"type": "string", "pattern": f"^{pattern}$"}
    return Parameter(name=name, meaning=meaning, schema=schema, read=read, examples=examples)


def read_query(raw: bytes, *, parameters: tuple[Parameter[object], ...]) -> Query:
    """Read a query string. Raises QueryRefused with every fault: unknown, repeated and unreadable parameters."""
    known = {parameter.name: parameter for parameter in parameters}
    values: dict[str, object] = {}
    faults = []
    for name, text in _pairs(raw):
        if not known:
            faults.append(Fault(path=(name,), code="parameter-unknown-here", received=text))
        elif name not in known:
            facts: dict[str, Fact] = {"choices": ", ".join(known), **_closest(name, known)}
            faults.append(Fault(path=(name,), code="parameter-unknown", received=text, facts=facts))
        elif name in values:
            faults.append(Fault(path=(name,), code="parameter-repeated", received=text))
        else:
            values[name] = text
            try:
                values[name] = known[name].read(text)
            except ParameterUnreadable as unreadable:
                faults.append(Fault(path=(name,), code=unreadable.code, received=text, facts=unreadable.facts))
    if faults:
        raise QueryRefused(faults=tuple(faults))
    return Query(values=values)


def _pairs(raw: bytes) -> list[tuple[str, str]]:
    if not raw:
        return []
    try:
        pairs = parse_qsl(raw.decode("ascii"), keep_blank_values=True, errors="strict", max_num_fields=MOST_PARAMETERS)
    except ValueError:
        received = raw.decode("ascii", "backslashreplace")
        raise QueryRefused(faults=(Fault(path=(), code="query-unreadable", received=received),)) from None
    return pairs


def _closest(written: str, choices: Iterable[str]) -> dict[str, Fact]:
    found = get_close_matches(written, list(choices), n=1)
    return {"closest": found[0]} if found else {}
