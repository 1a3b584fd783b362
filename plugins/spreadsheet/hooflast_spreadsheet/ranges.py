"""Ranges: what charts write for a range of lengths, as its two ends.

Read are `118–124`, `118-124`, `118 to 124`, `<124`, `≤ 124`, `>118`, `118+`, with decimal commas or points, fractions
(`4 5/8`, `4⅝`) and units (`118–124 mm`, `4 5/8"`). An end that is left out stays left out.
"""

import re
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

UNITS: Final = {
    "mm": "mm", "cm": "cm", "in": "in", "in.": "in", "inch": "in", "inches": "in", '"': "in", "″": "in", "”": "in",
}  # fmt: skip
MM: Final = {"mm": Fraction(1), "cm": Fraction(10), "in": Fraction(254, 10)}
"""Millimetres in each unit; the inch is 25.4 mm exactly (NIST SP 811, appendix B.6)."""

_VULGAR: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_NUMBER: Final = r"(?:[0-9]{1,3} [0-9]{1,2}/[0-9]{1,2}|[0-9]{1,2}/[0-9]{1,2}|[0-9]{1,4}(?:[.,][0-9]{1,4})?)"
_UNIT: Final = r"(?: ?(?:mm|cm|inches|inch|in\.?|\"|″|”))?"
_END: Final = rf"({_NUMBER})({_UNIT})"
_BETWEEN: Final = re.compile(rf"{_END} ?(?:-|–|—|−|\.\.\.?|…|to|bis|tot|till|à) ?{_END}", re.IGNORECASE)
_BELOW: Final = re.compile(rf"(<|≤|<=|=<|up to|bis|under) ?{_END}", re.IGNORECASE)
_ABOVE: Final = re.compile(rf"(>|≥|>=|from|ab|over) ?{_END}", re.IGNORECASE)
_PLUS: Final = re.compile(rf"{_END} ?\+")
_ALONE: Final = re.compile(_END, re.IGNORECASE)


class RangeRefused(ValueError):
    """Why a cell is not read as a range."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Ends:
    """The ends of a range in its unit; None where one is left out. An end may itself be outside (`<`, `>`)."""

    low: Fraction | None
    high: Fraction | None
    unit: str
    low_is_outside: bool = False
    high_is_outside: bool = False


def read_range(text: str, *, unit: str) -> Ends:
    """The range that `text` says; `unit` holds where none is written. Raises RangeRefused."""
    plain = _plain(text)
    if found := _BETWEEN.fullmatch(plain):
        low_text, low_unit, high_text, high_unit = found.groups()
        written = _unit(high_unit) or _unit(low_unit) or unit
        if _unit(low_unit) not in (None, written):
            raise RangeRefused(f"{text!r} has two units")
        return Ends(low=_number(low_text), high=_number(high_text), unit=written)
    if found := _BELOW.fullmatch(plain):
        sign, number, its_unit = found.groups()
        outside = sign.lower() in ("<", "under")
        return Ends(low=None, high=_number(number), unit=_unit(its_unit) or unit, high_is_outside=outside)
    if found := _ABOVE.fullmatch(plain):
        sign, number, its_unit = found.groups()
        outside = sign.lower() in (">", "over")
        return Ends(low=_number(number), high=None, unit=_unit(its_unit) or unit, low_is_outside=outside)
    if found := _PLUS.fullmatch(plain):
        number, its_unit = found.groups()
        return Ends(low=_number(number), high=None, unit=_unit(its_unit) or unit)
    if _ALONE.fullmatch(plain):
        raise RangeRefused(f"{text!r} is one length, not a range")
    raise RangeRefused(f"{text!r} is not a range of lengths")


def read_end(text: str, *, unit: str) -> tuple[Fraction, str]:
    """One length and its unit, of a chart that has a column for each end. Raises RangeRefused."""
    found = _ALONE.fullmatch(_plain(text))
    if found is None:
        raise RangeRefused(f"{text!r} is not a length")
    return _number(found[1]), _unit(found[2]) or unit


def in_unit(length: Fraction, *, of: str, to: str) -> Fraction:
    """A length in another unit, exactly."""
    return length * MM[of] / MM[to]


def _plain(text: str) -> str:
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    return " ".join(text.replace("⁄", "/").split())


def _number(text: str) -> Fraction:
    whole, _, fraction = text.rpartition(" ")
    try:
        return Fraction(whole or 0) + Fraction(fraction.replace(",", "."))
    except ZeroDivisionError:
        raise RangeRefused(f"{text!r} is divided by zero") from None


def _unit(text: str) -> str | None:
    return UNITS[text.strip().lower()] if text.strip() else None
