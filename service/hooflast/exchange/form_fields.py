"""Form fields: the kinds of fields a form has besides lengths, each refusing with a fault of ours."""

import re
from datetime import date, timedelta
from enum import StrEnum
from typing import Annotated, Final

from pydantic import BeforeValidator, Field, PlainValidator, ValidationInfo, WithJsonSchema

from hooflast import units
from hooflast.catalog import assortment, values
from hooflast.exchange import event_kinds
from hooflast.exchange.faults import FaultCode, closest, refusal
from hooflast.exchange.length_fields import read_with
from hooflast.fit import boot, demand, findings, girth, growth, history, hoof, lookahead, outcome, pad, plan_order
from hooflast.matching import question, trial_set_answer

MOST_BOOTS: Final = 20
MOST_ON_CURVE: Final = 40
MOST_STOCK: Final = 1_000_000
LONGEST_NAME: Final = 80
MOST_WEEKS: Final = 104
SHORTEST_CYCLE_WEEKS: Final = 2
LONGEST_CYCLE_WEEKS: Final = 16
OLDEST_DAYS: Final = 10 * 366


def _one_of(words: type[StrEnum]) -> BeforeValidator:
    accepted = [word.value for word in words]

    def read(value: object) -> StrEnum:
        if isinstance(value, str) and value in accepted:
            return words(value)
        raise refusal(FaultCode.UNKNOWN_CHOICE, accepted_choices=", ".join(accepted), **closest(value, accepted))

    return BeforeValidator(read)


def _day(value: object, info: ValidationInfo) -> date:
    today = read_with(info).today
    try:
        if not isinstance(value, str) or not re.fullmatch(r"\d{4}-\d{2}-\d{2}", value, re.ASCII):
            raise ValueError(value)
        day = date.fromisoformat(value)
    except ValueError:
        raise refusal(FaultCode.DATE_UNREADABLE) from None
    if day > today + timedelta(days=1):
        raise refusal(FaultCode.DATE_IN_THE_FUTURE, today_date=today.isoformat())
    oldest = today - timedelta(days=OLDEST_DAYS)
    if day < oldest:
        raise refusal(FaultCode.DATE_TOO_LONG_AGO, oldest_date=oldest.isoformat())
    return day


def _whole(value: object) -> object:
    """JSON has one kind of number: 5.0 is as whole as 5."""
    return int(value) if isinstance(value, float) and value.is_integer() else value


Day = Annotated[date, PlainValidator(_day), WithJsonSchema({"type": "string", "format": "date"})]
Uuid = Annotated[
    str,
    Field(strict=True, pattern=r"^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"),
    WithJsonSchema({"type": "string", "format": "uuid", "pattern": "^[0-9a-f]{8}(-[0-9a-f]{4}){3}-[0-9a-f]{12}$"}),
]
Weeks = Annotated[float, Field(strict=True, ge=0, le=MOST_WEEKS)]
CycleWeeks = Annotated[float, Field(strict=True, ge=SHORTEST_CYCLE_WEEKS, le=LONGEST_CYCLE_WEEKS)]
Name = Annotated[str, Field(strict=True, max_length=LONGEST_NAME, pattern=r"^[^\x00-\x1f\x7f-\x9f]*$")]
FilledName = Annotated[str, Field(strict=True, max_length=LONGEST_NAME, pattern=r"^[^\x00-\x1f\x7f-\x9f]+$")]
ReleasePin = Annotated[str, Field(strict=True, max_length=100, pattern=r"^[!-~]+$")]
BootId = Annotated[str, Field(strict=True, pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")]
MakerId = Annotated[str, Field(strict=True, pattern=r"^[a-z0-9][a-z0-9-]{0,79}$")]
SizeCode = Annotated[str, Field(strict=True, pattern=r"^[^\x00-\x1f\x7f-\x9f]{1,80}$")]
BootCount = Annotated[int, Field(strict=True, ge=1, le=MOST_BOOTS), BeforeValidator(_whole)]
CurveLength = Annotated[int, Field(strict=True, ge=1, le=MOST_ON_CURVE), BeforeValidator(_whole)]
Stock = Annotated[int, Field(strict=True, ge=0, le=MOST_STOCK), BeforeValidator(_whole)]
Probability = Annotated[float, Field(strict=True, ge=0, le=1)]
AnimalType = Annotated[hoof.AnimalType, _one_of(hoof.AnimalType)]
Limb = Annotated[hoof.Limb, _one_of(hoof.Limb)]
Limbs = Annotated[values.LimbSet, _one_of(values.LimbSet)]
Method = Annotated[hoof.Method, _one_of(hoof.Method)]
Observer = Annotated[hoof.Observer, _one_of(hoof.Observer)]
State = Annotated[hoof.HoofState, _one_of(hoof.HoofState)]
Closure = Annotated[boot.Closure, _one_of(boot.Closure)]
Course = Annotated[boot.Course, _one_of(boot.Course)]
Build = Annotated[girth.Build, _one_of(girth.Build)]
Circumstance = Annotated[growth.Circumstance, _one_of(growth.Circumstance)]
Beside = Annotated[history.Beside, _one_of(history.Beside)]
Need = Annotated[boot.Need, _one_of(boot.Need)]
Use = Annotated[boot.IntendedUse, _one_of(boot.IntendedUse)]
PadKind = Annotated[pad.PadKind, _one_of(pad.PadKind)]
Softness = Annotated[pad.Softness, _one_of(pad.Softness)]
Counting = Annotated[demand.Counting, _one_of(demand.Counting)]
ServedBy = Annotated[trial_set_answer.ServedBy, _one_of(trial_set_answer.ServedBy)]
SoldAs = Annotated[values.SoldAs, _one_of(values.SoldAs)]
Aim = Annotated[plan_order.Aim, _one_of(plan_order.Aim)]
Outcome = Annotated[outcome.Outcome, _one_of(outcome.Outcome)]
Channel = Annotated[outcome.Channel, _one_of(outcome.Channel)]
SizesOf = Annotated[question.SizesOf, _one_of(question.SizesOf)]
AssortmentSide = Annotated[assortment.BootSide, _one_of(assortment.BootSide)]
TryFrom = Annotated[question.TryFrom, _one_of(question.TryFrom)]
TryOrder = Annotated[lookahead.Order, _one_of(lookahead.Order)]
TryOnFinding = Annotated[findings.Finding, _one_of(findings.Finding)]
Indicator = Annotated[findings.Indicator, _one_of(findings.Indicator)]
Rotation = Annotated[findings.Rotation, _one_of(findings.Rotation)]
HeelGap = Annotated[findings.HeelGap, _one_of(findings.HeelGap)]
BulbMarks = Annotated[findings.BulbMarks, _one_of(findings.BulbMarks)]
EventKind = Annotated[event_kinds.EventKind, _one_of(event_kinds.EventKind)]
Unit = Annotated[units.Unit, _one_of(units.Unit)]
