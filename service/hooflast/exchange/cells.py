"""Cells: what one field holds where all is text, as in a CSV cell or a reading flag, made into a form's value."""

import re
from collections.abc import Sequence
from typing import Final

_REPEATABLE: Final = frozenset({"width", "length"})
_LISTS: Final = frozenset({"states"})
_NUMBERS: Final = frozenset({"weeks_since_trim"})
_NUMBER: Final = re.compile(r"[-+]?[0-9]{1,9}(?:[.,][0-9]{1,9})?")


def field_name(written: str) -> str:
    """The name of a field from a heading: `Measured on` is `measured_on`."""
    return re.sub(r"[\s-]+", "_", written.strip().lower())


def field_value(name: str, texts: Sequence[str]) -> object:
    """What the form takes for the field `name`, given everything that was written for it, in order."""
    values = [text.strip() for text in texts]
    if name in _LISTS:
        return values
    if len(values) > 1:
        return values
    return _number(values[0]) if name in _NUMBERS else values[0]


def _number(text: str) -> object:
    return float(text.replace(",", ".")) if _NUMBER.fullmatch(text) else text
