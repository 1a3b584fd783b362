"""Plain: raw input turned into plain values, with every fault of its form found on the way.

Plain values are objects with text keys, lists, text, numbers, truth values and null: what JSON can say (RFC 8259).
"""

import json
import math
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused, Path
from hooflast.exchange.faults import FaultCode, ValueType, fault

DEEPEST: Final = 12
MOST_VALUES: Final = 1_000
LONGEST_KEY: Final = 100
LEFT_OUT: Final = frozenset(
    {FaultCode.BAD_CHARACTERS, FaultCode.NUMBER_NOT_FINITE, FaultCode.TOO_DEEP, FaultCode.WRONG_TYPE}
)
"""Faults after which another value stands in the plain document than came; what it leads to is no fault of its own."""

_LARGEST_WHOLE_NUMBER: Final = 2**53


class Members(list[tuple[str, object]]):
    """The members of an object as they were written, repeated names included."""


@dataclass(slots=True, kw_only=True)
class Plain:
    """A plain document and the faults met while making it plain; a value that cannot be plain is left out."""

    document: object = None
    faults: list[Fault] = field(default_factory=list)
    most_values: int = MOST_VALUES
    _values: int = 0

    def take(self, value: object, path: Path) -> object:
        """The plain form of `value`, which stands at `path`."""
        self._values += 1
        if self._values > self.most_values:
            raise InputRefused(faults=(fault(FaultCode.TOO_BIG, received=None, facts={"limit": self.most_values}),))
        if isinstance(value, str):
            return self._text(value, path)
        if value is None or isinstance(value, bool):
            return value
        if isinstance(value, int | float):
            return self._number(value, path)
        if isinstance(value, date) and not isinstance(value, datetime):
            return value.isoformat()
        if isinstance(value, Mapping | Members | list | tuple):
            return self._container(value, path)
        self._add(FaultCode.WRONG_TYPE, value, path=path, expected_type=ValueType.VALUE.value)
        return None

    def _container(self, value: Mapping[object, object] | Sequence[object], path: Path) -> object:
        if len(path) >= DEEPEST:
            self._add(FaultCode.TOO_DEEP, None, path=path, limit=DEEPEST)
            return None
        if isinstance(value, Mapping):
            return self._object(value.items(), path)
        if isinstance(value, Members):
            return self._object(value, path)
        return [self.take(item, (*path, index)) for index, item in enumerate(value)]

    def _object(self, members: Iterable[tuple[object, object]], path: Path) -> dict[str, object]:
        taken: dict[str, object] = {}
        for key, value in members:
            if not isinstance(key, str) or len(key) > LONGEST_KEY or _is_unseen(key):
                self._add(FaultCode.BAD_KEY, key, path=path, limit=LONGEST_KEY)
                continue
            is_repeated = key in taken
            taken[key] = self.take(value, (*path, key))
            if is_repeated:
                self._add(FaultCode.DUPLICATE_KEY, taken[key], path=(*path, key), key=key)
        return taken

    def _text(self, value: str, path: Path) -> str:
        if _is_unseen(value):
            self._add(FaultCode.BAD_CHARACTERS, value, path=path)
            return ""
        return value

    def _number(self, value: int | float, path: Path) -> int | float:
        if abs(value) <= _LARGEST_WHOLE_NUMBER:
            return value
        value = _as_float(value)
        if math.isfinite(value):
            return value
        self._add(FaultCode.NUMBER_NOT_FINITE, value, path=path)
        return 0.0

    def _add(self, code: FaultCode, received: object, *, path: Path, **facts: Fact) -> None:
        self.faults.append(fault(code, path=path, received=received, facts=facts))


def plain(value: object, *, most_values: int = MOST_VALUES) -> Plain:
    """The plain form of a value from Python, or of what a parser gave. Raises InputRefused when it is too big."""
    made = Plain(most_values=most_values)
    made.document = made.take(value, ())
    return made


def read_json(raw: bytes) -> object:
    """Read JSON in UTF-8 as a value for `plain`, which finds repeated names and NaN. Raises InputRefused."""
    text = read_text(raw)
    try:
        return json.loads(text, object_pairs_hook=Members, parse_int=_whole_number)
    except json.JSONDecodeError as error:
        facts: dict[str, Fact] = {"line": error.lineno, "column": error.colno}
        received = text[error.pos : error.pos + 20]
        raise InputRefused(faults=(fault(FaultCode.NOT_JSON, received=received, facts=facts),)) from None
    except RecursionError:
        raise InputRefused(faults=(fault(FaultCode.TOO_DEEP, received=None, facts={"limit": DEEPEST}),)) from None


def read_text(raw: bytes) -> str:
    """Text in UTF-8, with or without a byte order mark. Raises InputRefused."""
    try:
        return raw.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        received = raw[error.start : error.start + 4].hex(" ")
        facts: dict[str, Fact] = {"position": error.start}
        raise InputRefused(faults=(fault(FaultCode.NOT_UTF_8, received=received, facts=facts),)) from None


def _whole_number(digits: str) -> int | float:
    return int(digits) if len(digits) <= len(str(_LARGEST_WHOLE_NUMBER)) else float(digits)


def _as_float(number: int | float) -> float:
    try:
        return float(number)
    except OverflowError:
        return math.inf if number > 0 else -math.inf


def _is_unseen(text: str) -> bool:
    """Whether text holds control characters, or halves of a surrogate pair, which no encoding can write."""
    return any(unicodedata.category(character) in ("Cc", "Cs") for character in text)
