"""Units: lengths as people write them, turned into millimetres with the resolution they were read to.

The only module that knows another unit than the millimetre. 1 in = 25.4 mm exactly (NIST SP 811, appendix B.6).
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import isfinite
from typing import Final

MM_PER_INCH: Final = Fraction(254, 10)


class Unit(StrEnum):
    """A unit a length may be given in."""

    MM = "mm"
    CM = "cm"
    INCH = "in"


_MM_PER: Final = {Unit.MM: Fraction(1), Unit.CM: Fraction(10), Unit.INCH: MM_PER_INCH}
_SPELLINGS: Final = {
    "mm": Unit.MM, "millimetre": Unit.MM, "millimetres": Unit.MM, "millimeter": Unit.MM, "millimeters": Unit.MM,
    "cm": Unit.CM, "centimetre": Unit.CM, "centimetres": Unit.CM, "centimeter": Unit.CM, "centimeters": Unit.CM,
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, '"': Unit.INCH, "″": Unit.INCH,
}  # fmt: skip
_VULGAR: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_WRITTEN: Final = re.compile(
    r"""(?P<whole>\d{1,6})\s+(?P<num>\d{1,3})/(?P<den>\d{1,3})   # 4 7/8
      | (?P<only_num>\d{1,5})/(?P<only_den>\d{1,3})              # 39/8
      | (?P<decimal>\d{1,6}(?:[.,]\d{1,9})?)                     # 124  or  12.4  or  12,4""",
    re.VERBOSE,
)
_INCH_DENOMINATORS: Final = (1, 2, 4, 8, 16, 32)


class LengthUnreadable(ValueError):
    """The text or number is not a length; `reason` is `number` or `unit`."""

    def __init__(self, written: object, *, reason: str) -> None:
        super().__init__(written, reason)
        self.written = written
        self.reason = reason

    def __str__(self) -> str:
        return f"{self.written!r} is not a length ({self.reason} not understood)"


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A length in millimetres and the step it was read to, also in millimetres."""

    mm: float
    resolution_mm: float


def read_length(written: str | int | float, *, unit: Unit) -> Length:
    """Read a length such as `124`, `"12.4 cm"` or `"4 7/8 in"`; `unit` holds where none is written.

    The resolution is the step the writing shows: 1 mm for millimetres; 1 mm for centimetres with a decimal,
    5 mm without; for inches the written fraction, at most 1/8 in. Raises LengthUnreadable.
    """
    if isinstance(written, bool) or (not isinstance(written, str) and not isfinite(written)):
        raise LengthUnreadable(written, reason="number")
    text = written if isinstance(written, str) else format(Decimal(str(written)), "f")
    number_text, unit = _split_unit(text, unit=unit)
    number, denominator = _read_number(number_text)
    return Length(mm=float(number * _MM_PER[unit]), resolution_mm=float(_resolution(number, denominator, unit=unit)))


def to_unit(length_mm: float, *, unit: Unit) -> float:
    """A length in millimetres, expressed in `unit`."""
    return float(Fraction(length_mm) / _MM_PER[unit])


def read_unit(written: str) -> Unit:
    """The unit called `written` ("mm", "inches", …). Raises LengthUnreadable."""
    try:
        return _SPELLINGS[written.strip().lower()]
    except KeyError:
        raise LengthUnreadable(written, reason="unit") from None


def _split_unit(text: str, *, unit: Unit) -> tuple[str, Unit]:
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    match = re.fullmatch(r"\s*(?P<number>[\d\s.,/]*\d)\s*(?P<unit>[^\d\s.,/]*)\s*", text)
    if match is None:
        raise LengthUnreadable(text, reason="number")
    return match["number"], read_unit(match["unit"]) if match["unit"] else unit


def _read_number(text: str) -> tuple[Fraction, int | None]:
    """The number and, if it was written as a fraction, its denominator."""
    match = _WRITTEN.fullmatch(text)
    if match is None:
        raise LengthUnreadable(text, reason="number")
    if match["decimal"]:
        return Fraction(match["decimal"].replace(",", ".")), None
    denominator = int(match["den"] or match["only_den"])
    if denominator == 0:
        raise LengthUnreadable(text, reason="number")
    numerator = int(match["num"] or match["only_num"])
    return int(match["whole"] or 0) + Fraction(numerator, denominator), denominator


def _resolution(number: Fraction, denominator: int | None, *, unit: Unit) -> Fraction:
    if unit is Unit.MM:
        return Fraction(1)
    if unit is Unit.CM:
        return Fraction(5) if number.denominator == 1 else Fraction(1)
    if denominator is None:
        denominator = next((d for d in _INCH_DENOMINATORS if (number * d).denominator == 1), 32)
    return MM_PER_INCH / max(denominator, 8)
