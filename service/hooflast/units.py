"""Units: lengths as people write them, turned into millimetres with the resolution they were read to.

The only module that knows another unit than the millimetre. 1 in = 25.4 mm exactly (NIST SP 811, appendix B.6).
"""

import re
from dataclasses import dataclass
from decimal import Decimal
from enum import StrEnum
from fractions import Fraction
from math import isfinite
from typing import ClassVar, Final

from hooflast.errors import HooflastError

MM_PER_INCH: Final = Fraction(254, 10)
LONGEST_MM: Final = 100_000
LONGEST_TEXT: Final = 60


class Unit(StrEnum):
    """A unit a length may be given in."""

    MM = "mm"
    CM = "cm"
    INCH = "in"


class Unreadable(StrEnum):
    """Why something is not a length."""

    EMPTY = "empty"
    NUMBER = "number"
    UNIT = "unit"
    AMBIGUOUS = "ambiguous"
    NEGATIVE = "negative"
    TOO_LARGE = "too_large"


@dataclass(kw_only=True, eq=False)
class LengthUnreadable(HooflastError, ValueError):
    """What was written is not a length, and why."""

    code: ClassVar[str] = "length-unreadable"
    written: object
    reason: Unreadable

    def __str__(self) -> str:
        return f"{self.written!r} is not a length ({self.reason})"


@dataclass(frozen=True, slots=True, kw_only=True)
class Length:
    """A length in millimetres and the step it was read to, also in millimetres; `unit` is the one it was read in."""

    mm: float
    resolution_mm: float
    unit: Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class _Number:
    """A number as it was written: as a fraction with a denominator, or with so many decimals."""

    value: Fraction
    denominator: int | None = None
    decimals: int = 0


_MM_PER: Final = {Unit.MM: Fraction(1), Unit.CM: Fraction(10), Unit.INCH: MM_PER_INCH}
_SPELLINGS: Final = {
    "mm": Unit.MM, "millimetre": Unit.MM, "millimetres": Unit.MM, "millimeter": Unit.MM, "millimeters": Unit.MM,
    "cm": Unit.CM, "centimetre": Unit.CM, "centimetres": Unit.CM, "centimeter": Unit.CM, "centimeters": Unit.CM,
    "in": Unit.INCH, "inch": Unit.INCH, "inches": Unit.INCH, '"': Unit.INCH, "″": Unit.INCH, "”": Unit.INCH,
    "zentimeter": Unit.CM, "zoll": Unit.INCH, "po": Unit.INCH, "pouce": Unit.INCH, "pouces": Unit.INCH,
    "duim": Unit.INCH, "tum": Unit.INCH,
}  # fmt: skip
"""As English, German, French, Dutch and Swedish write them."""
_VULGAR: Final = {"½": "1/2", "¼": "1/4", "¾": "3/4", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_LENGTH: Final = re.compile(r"(?P<sign>[-−]?)\s*(?P<number>[0-9.,][-0-9.,/\s]*?)\s*(?P<unit>(?:[^-0-9.,/\s−]+\.?)?)")
_NUMBER: Final = re.compile(
    r"""(?P<whole>[0-9]{1,6})(?:\s+|\s*-\s*)(?P<top>[0-9]{1,2})/(?P<bottom>[0-9]{1,2})   # 4 7/8  or  4-7/8
      | (?P<only_top>[0-9]{1,5})/(?P<only_bottom>[0-9]{1,2})                            # 39/8
      | (?P<decimal>[0-9]{1,6}(?:[.,](?P<decimals>[0-9]{1,9}))?)                        # 124  12.4  12,4
      | [.,](?P<bare_decimals>[0-9]{1,9})                                               # .875""",
    re.VERBOSE,
)
_THOUSANDS_OR_DECIMALS: Final = re.compile(r"[1-9][0-9]{0,2}(,[0-9]{3})+")
_DENOMINATORS: Final = (1, 2, 4, 8, 16, 32, 64)
_COARSEST_INCH: Final = Fraction(1, 8)
_FINEST_DECIMAL_INCH: Final = Fraction(1, 32)


def read_length(written: str | int | float, *, unit: Unit) -> Length:
    """Read a length such as `124`, `"12.4 cm"`, `"4 7/8 in"` or `"4⅞″"`; `unit` holds where none is written.

    The resolution is the step the writing shows [C]: 1 mm for millimetres; 1 mm for centimetres with a decimal,
    5 mm without; for inches the written fraction, at most 1/8 in (4 1/2 is 4 4/8). Inches with decimals count as the
    eighths, sixteenths or thirty-seconds they equal, else as their last decimal, at least 1/32 and at most 1/8 in.

    A comma before exactly three digits ("1,240") may part thousands or begin decimals: it is refused, not guessed.
    Raises LengthUnreadable.
    """
    if isinstance(written, str):
        number, unit = _read_text(written, unit=unit)
    else:
        number = _read_number(written)
    if number.value < 0:
        raise LengthUnreadable(written=written, reason=Unreadable.NEGATIVE)
    length = number.value * _MM_PER[unit]
    if length > LONGEST_MM:
        raise LengthUnreadable(written=written, reason=Unreadable.TOO_LARGE)
    return Length(mm=float(length), resolution_mm=float(_resolution(number, unit=unit)), unit=unit)


def to_unit(length_mm: float, *, unit: Unit) -> float:
    """A length in millimetres, expressed in `unit`."""
    return float(Fraction(length_mm) / _MM_PER[unit])


def read_unit(written: str) -> Unit:
    """The unit called `written` ("mm", "Inches", "in.", …). Raises LengthUnreadable."""
    try:
        return _SPELLINGS[written.strip().lower().removesuffix(".")]
    except KeyError:
        raise LengthUnreadable(written=written, reason=Unreadable.UNIT) from None


def _read_text(written: str, *, unit: Unit) -> tuple[_Number, Unit]:
    text = written.strip()
    if not text:
        raise LengthUnreadable(written=written, reason=Unreadable.EMPTY)
    if len(text) > LONGEST_TEXT:
        raise LengthUnreadable(written=written, reason=Unreadable.NUMBER)
    for sign, fraction in _VULGAR.items():
        text = text.replace(sign, f" {fraction}")
    match = _LENGTH.fullmatch(text.replace("⁄", "/").strip())
    if match is None:
        raise LengthUnreadable(written=written, reason=Unreadable.NUMBER)
    if match["unit"]:
        try:
            unit = read_unit(match["unit"])
        except LengthUnreadable:
            raise LengthUnreadable(written=written, reason=Unreadable.UNIT) from None
    if _THOUSANDS_OR_DECIMALS.fullmatch(match["number"]):
        raise LengthUnreadable(written=written, reason=Unreadable.AMBIGUOUS)
    number = _read_digits(match["number"])
    if number is None:
        raise LengthUnreadable(written=written, reason=Unreadable.NUMBER)
    if match["sign"]:
        raise LengthUnreadable(written=written, reason=Unreadable.NEGATIVE)
    return number, unit


def _read_digits(text: str) -> _Number | None:
    match = _NUMBER.fullmatch(text)
    if match is None:
        return None
    if match["decimal"]:
        return _Number(value=Fraction(match["decimal"].replace(",", ".")), decimals=len(match["decimals"] or ""))
    if match["bare_decimals"]:
        return _Number(value=Fraction(f"0.{match['bare_decimals']}"), decimals=len(match["bare_decimals"]))
    top = int(match["top"] or match["only_top"])
    bottom = int(match["bottom"] or match["only_bottom"])
    if bottom not in _DENOMINATORS or (match["whole"] and top >= bottom):
        return None
    return _Number(value=int(match["whole"] or 0) + Fraction(top, bottom), denominator=bottom)


def _read_number(written: int | float) -> _Number:
    if isinstance(written, bool) or (isinstance(written, float) and not isfinite(written)):
        raise LengthUnreadable(written=written, reason=Unreadable.NUMBER)
    if isinstance(written, int):
        return _Number(value=Fraction(written))
    exact = Decimal(repr(written))
    is_whole = exact == exact.to_integral_value()
    exponent = exact.as_tuple().exponent
    return _Number(value=Fraction(exact), decimals=0 if is_whole or not isinstance(exponent, int) else -exponent)


def _resolution(number: _Number, *, unit: Unit) -> Fraction:
    if unit is Unit.MM:
        return Fraction(1)
    if unit is Unit.CM:
        return Fraction(1) if number.decimals else Fraction(5)
    if number.denominator:
        return MM_PER_INCH * min(Fraction(1, number.denominator), _COARSEST_INCH)
    for denominator in (8, 16, 32):
        if (number.value * denominator).denominator == 1:
            return MM_PER_INCH / denominator
    return MM_PER_INCH * min(max(Fraction(1, 10**number.decimals), _FINEST_DECIMAL_INCH), _COARSEST_INCH)
