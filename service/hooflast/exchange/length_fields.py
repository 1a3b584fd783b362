"""Length fields: lengths inside a form, as numbers in the unit that holds there, or as text with a unit of its own."""

from dataclasses import dataclass
from datetime import date
from math import floor
from typing import Annotated, Any, Final, cast

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema

from hooflast.errors import Fact
from hooflast.exchange.faults import FaultCode, ValueType, refusal
from hooflast.units import Length, LengthUnreadable, Unit, Unreadable, read_length, to_unit

MOST_REPEATS: Final = 10
LONGEST_WRITTEN: Final = 40
_WRITTEN: Final = r'^\s*[0-9.,½¼¾⅛⅜⅝⅞][-0-9.,/⁄\s½¼¾⅛⅜⅝⅞]*(?:(?:[A-Za-z]+|["″”])\.?)?\s*$'
_CODES: Final = {
    Unreadable.EMPTY: FaultCode.LENGTH_UNREADABLE,
    Unreadable.NUMBER: FaultCode.LENGTH_UNREADABLE,
    Unreadable.UNIT: FaultCode.UNIT_UNKNOWN,
    Unreadable.AMBIGUOUS: FaultCode.LENGTH_AMBIGUOUS,
    Unreadable.NEGATIVE: FaultCode.LENGTH_OUT_OF_RANGE,
    Unreadable.TOO_LARGE: FaultCode.LENGTH_OUT_OF_RANGE,
}


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadWith:
    """What a form is read with: its unit (None: it named one that does not exist) and the day it is read on."""

    unit: Unit | None
    today: date


def read_with(info: ValidationInfo) -> ReadWith:
    """What the form being validated is read with."""
    return cast("ReadWith", info.context)


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """The lengths a field takes, in mm. `usual_mm` are common ones: they tell which unit a stray one was meant in."""

    low_mm: float
    high_mm: float
    usual_mm: tuple[float, float] | None = None

    def holds(self, length_mm: float) -> bool:
        """Whether a length is one of those taken."""
        return self.low_mm <= length_mm <= self.high_mm

    def read(self, value: object, info: ValidationInfo) -> Length:
        """The length written as `value`. Raises a refusal."""
        if isinstance(value, bool) or not isinstance(value, str | int | float):
            raise refusal(FaultCode.WRONG_TYPE, expected_type=ValueType.LENGTH.value)
        holds = _unit_that_holds(info)
        try:
            if isinstance(value, str) and len(value) > LONGEST_WRITTEN:
                raise LengthUnreadable(written=value, reason=Unreadable.NUMBER)
            length = read_length(value, unit=holds or Unit.MM)
        except LengthUnreadable as unreadable:
            raise refusal(_CODES[unreadable.reason], **self._facts(holds or Unit.MM)) from None
        if holds and not self.holds(length.mm):
            facts = self._facts(length.unit) | self._likely_unit(length)
            raise refusal(FaultCode.LENGTH_OUT_OF_RANGE, **facts)
        return length

    def schema(self, *, examples: list[str | float]) -> dict[str, Any]:
        """The JSON Schema of such a length, in whichever unit it comes."""
        least = floor(to_unit(self.low_mm, unit=Unit.INCH) * 10_000) / 10_000
        return {
            "anyOf": [
                {"type": "number", "minimum": least, "maximum": self.high_mm},
                {"type": "string", "minLength": 1, "maxLength": LONGEST_WRITTEN, "pattern": _WRITTEN},
            ],
            "examples": examples,
        }

    def _facts(self, unit: Unit) -> dict[str, Fact]:
        return {"low_mm": self.low_mm, "high_mm": self.high_mm, "unit": unit.value}

    def _likely_unit(self, length: Length) -> dict[str, Fact]:
        """The other unit in which the same number would be a usual length, as the fact `likely_unit`."""
        number = to_unit(length.mm, unit=length.unit)
        if self.usual_mm is None or number > self.high_mm:
            return {}
        for unit in Unit:
            if self.usual_mm[0] <= read_length(number, unit=unit).mm <= self.usual_mm[1]:
                return {"likely_unit": unit.value}
        return {}


HOOF: Final = Bounds(low_mm=40.0, high_mm=250.0, usual_mm=(80.0, 180.0))
PAD: Final = Bounds(low_mm=0.0, high_mm=40.0)
GIRTH: Final = Bounds(low_mm=500.0, high_mm=3000.0, usual_mm=(900.0, 2400.0))
ALLOWANCE: Final = Bounds(low_mm=0.0, high_mm=30.0)
STEP: Final = Bounds(low_mm=0.1, high_mm=13.0)
SPREAD: Final = Bounds(low_mm=0.5, high_mm=40.0)

_HOOF_SCHEMA: Final = HOOF.schema(examples=[124, "12.4 cm", "4 7/8 in"])
HoofLength = Annotated[Length, PlainValidator(HOOF.read), WithJsonSchema(_HOOF_SCHEMA)]
PadThickness = Annotated[Length, PlainValidator(PAD.read), WithJsonSchema(PAD.schema(examples=[6, "6 mm", "1/4 in"]))]
ChestGirth = Annotated[
    Length, PlainValidator(GIRTH.read), WithJsonSchema(GIRTH.schema(examples=[1800, "180 cm", "71 in"]))
]
Allowance = Annotated[
    Length, PlainValidator(ALLOWANCE.read), WithJsonSchema(ALLOWANCE.schema(examples=[5, "5 mm", "1/4 in"]))
]
SizeSpread = Annotated[Length, PlainValidator(SPREAD.read), WithJsonSchema(SPREAD.schema(examples=[8, "8 mm"]))]
ReadingStep = Annotated[Length, PlainValidator(STEP.read), WithJsonSchema(STEP.schema(examples=[1, "5 mm", "1/8 in"]))]


def _as_repeats(value: object) -> list[object]:
    return value if isinstance(value, list) else [value]


Repeats = Annotated[
    list[HoofLength],
    BeforeValidator(_as_repeats),
    Field(min_length=1, max_length=MOST_REPEATS),
    WithJsonSchema(
        {
            "anyOf": [
                *_HOOF_SCHEMA["anyOf"],
                {"type": "array", "items": _HOOF_SCHEMA, "minItems": 1, "maxItems": MOST_REPEATS},
            ]
        }
    ),
]


def _unit_that_holds(info: ValidationInfo) -> Unit | None:
    """The hoof's own unit, else the form's; None where the one that was named does not exist."""
    if "unit" not in info.data:
        return None
    own: Unit | None = info.data["unit"]
    return own or read_with(info).unit
