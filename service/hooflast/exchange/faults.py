"""Faults: what can be wrong with an input, by codes that stay, and pydantic's errors told in them.

`fault.<code>` and `fault.<code>.accepted` in texts say each of them.
"""

import json
from collections.abc import Iterator, Mapping, Sequence
from difflib import get_close_matches
from enum import StrEnum
from math import isfinite
from typing import Any, Final, get_args, get_origin

from pydantic import BaseModel, ValidationError
from pydantic_core import ErrorDetails, PydanticCustomError

from hooflast.errors import Fact, Fault, Path

LONGEST_RECEIVED: Final = 200
LONGEST_CHOICE: Final = 40
_NO_FACTS: Final[Mapping[str, Fact]] = {}


class FaultCode(StrEnum):
    """Every kind of fault a reader of input can find."""

    NOT_UTF_8 = "not-utf-8"
    NOT_JSON = "not-json"
    NOT_YAML = "not-yaml"
    NOT_CSV = "not-csv"
    TOO_BIG = "too-big"
    TOO_DEEP = "too-deep"
    BAD_KEY = "bad-key"
    DUPLICATE_KEY = "duplicate-key"
    BAD_CHARACTERS = "bad-characters"
    NUMBER_NOT_FINITE = "number-not-finite"

    MISSING = "missing"
    UNKNOWN_FIELD = "unknown-field"
    WRONG_TYPE = "wrong-type"
    UNKNOWN_CHOICE = "unknown-choice"
    OUT_OF_RANGE = "out-of-range"
    TOO_LONG = "too-long"
    WRONG_FORM = "wrong-form"
    TOO_FEW = "too-few"
    TOO_MANY = "too-many"

    LENGTH_UNREADABLE = "length-unreadable"
    LENGTH_AMBIGUOUS = "length-ambiguous"
    LENGTH_OUT_OF_RANGE = "length-out-of-range"
    UNIT_UNKNOWN = "unit-unknown"
    DATE_UNREADABLE = "date-unreadable"
    DATE_IN_THE_FUTURE = "date-in-the-future"
    DATE_TOO_LONG_AGO = "date-too-long-ago"
    DUPLICATE_LIMB = "duplicate-limb"
    DUPLICATE_NEED = "duplicate-need"
    NOT_ONE_HOOF = "not-one-hoof"
    HERD_TWICE = "herd-twice"
    HERD_MISSING = "herd-missing"
    HISTORY_OF_ANOTHER_HOOF = "history-of-another-hoof"
    SIZE_WITHOUT_BOOT = "size-without-boot"
    MOVED_WITHOUT_SEAT = "moved-without-seat"

    CURRENCY_UNKNOWN = "currency-unknown"
    PRICE_UNREADABLE = "price-unreadable"
    PRICE_TOO_FINE = "price-too-fine"
    OFFER_UNNAMED = "offer-unnamed"
    ITEM_UNNAMED = "item-unnamed"
    DUPLICATE_SKU = "duplicate-sku"

    URL_REFUSED = "url-refused"
    MOMENT_UNREADABLE = "moment-unreadable"

    LIMB_NOT_IN_RECEIPT = "limb-not-in-receipt"
    FLAG_UNREADABLE = "flag-unreadable"
    ROW_TOO_LONG = "row-too-long"
    ROWS_DIFFER = "rows-differ"
    LINE_TOO_LONG = "line-too-long"


class ValueType(StrEnum):
    """What a value can be asked to be."""

    OBJECT = "object"
    LIST = "list"
    TEXT = "text"
    NUMBER = "number"
    WHOLE_NUMBER = "whole_number"
    TRUE_OR_FALSE = "true_or_false"
    LENGTH = "length"
    VALUE = "value"


_TYPES: Final = {
    "model_type": ValueType.OBJECT,
    "model_attributes_type": ValueType.OBJECT,
    "dict_type": ValueType.OBJECT,
    "list_type": ValueType.LIST,
    "string_type": ValueType.TEXT,
    "bool_type": ValueType.TRUE_OR_FALSE,
    "int_type": ValueType.WHOLE_NUMBER,
    "float_type": ValueType.NUMBER,
}
_LIMITS: Final[Mapping[str, tuple[FaultCode, Mapping[str, str]]]] = {
    "greater_than_equal": (FaultCode.OUT_OF_RANGE, {"low": "ge"}),
    "less_than_equal": (FaultCode.OUT_OF_RANGE, {"high": "le"}),
    "string_too_long": (FaultCode.TOO_LONG, {"limit": "max_length"}),
    "string_pattern_mismatch": (FaultCode.WRONG_FORM, {"form": "pattern"}),
    "too_long": (FaultCode.TOO_MANY, {"limit": "max_length"}),
    "too_short": (FaultCode.TOO_FEW, {"limit": "min_length"}),
}


def fault(code: FaultCode, *, path: Path = (), received: object, facts: Mapping[str, Fact] = _NO_FACTS) -> Fault:
    """A fault whose received value can be written down in any format."""
    return Fault(path=path, code=code.value, received=shown(received), facts=facts)


def refusal(code: FaultCode, **facts: Fact) -> PydanticCustomError:
    """What a validator of a form raises to report a fault of ours."""
    return PydanticCustomError(code.value, "refused", dict(facts))


def faults_of(error: ValidationError, *, document: object, form: type[BaseModel]) -> list[Fault]:
    """Every error of `form`'s validation as a fault, with its true place in `document`."""
    return [_fault_of(detail, document=document, form=form) for detail in error.errors(include_url=False)]


def closest(written: object, choices: Sequence[str]) -> dict[str, Fact]:
    """The choice most like what was written, as the fact `closest`; nothing if none is."""
    by_lower = {choice.lower(): choice for choice in choices}
    near = get_close_matches(str(written)[:LONGEST_CHOICE].lower(), by_lower, n=1)
    return {"closest": by_lower[near[0]]} if near else {}


def shown(received: object) -> str | int | float | bool | None:
    """What came, as a value any format can write: objects and lists as JSON, long ones cut."""
    if received is None or isinstance(received, bool | int):
        return received
    if isinstance(received, float):
        return received if isfinite(received) else json.dumps(received)
    text = received if isinstance(received, str) else json.dumps(received, ensure_ascii=False, default=str)
    text = text.encode("utf-8", "replace").decode("utf-8")
    return text if len(text) <= LONGEST_RECEIVED else text[:LONGEST_RECEIVED] + "…"


_OF_A_NAME: Final = "[key]"
"""How pydantic says that a name of a mapping is meant, and not what stands under it."""


def true_path(loc: Path, *, document: object) -> Path:
    """The steps of `loc` that lead through `document`; the last one may name a member that is missing there.

    What is wrong with a name itself lies where the name stands.
    """
    path: list[str | int] = []
    loc = loc[:-1] if loc[-1:] == (_OF_A_NAME,) else loc
    here = document
    for number, step in enumerate(loc, start=1):
        if isinstance(here, dict) and isinstance(step, str) and (step in here or number == len(loc)):
            here = here.get(step)
        elif isinstance(here, list) and isinstance(step, int) and step < len(here):
            here = here[step]
        else:
            continue
        path.append(step)
    return tuple(path)


def _fault_of(detail: ErrorDetails, *, document: object, form: type[BaseModel]) -> Fault:
    path = true_path(detail["loc"], document=document)
    context: Mapping[str, Any] = detail.get("ctx", {})
    kind = detail["type"]
    if kind == "missing":
        return fault(FaultCode.MISSING, path=path, received=None, facts={"field": str(path[-1])})
    if kind in list(FaultCode):
        return fault(FaultCode(kind), path=path, received=detail["input"], facts=context)
    if kind == "extra_forbidden":
        return _unknown_field(path, known=list(_form_at(path[:-1], form=form).model_fields))
    if kind in _TYPES:
        facts = {"expected_type": _TYPES[kind].value}
        return fault(FaultCode.WRONG_TYPE, path=path, received=detail["input"], facts=facts)
    code, told = _LIMITS[kind]
    facts = {name: context[key] for name, key in told.items()}
    return fault(code, path=path, received=detail["input"], facts=facts)


def _unknown_field(path: Path, *, known: Sequence[str]) -> Fault:
    field = str(path[-1])
    facts: dict[str, Fact] = {"field": field, "accepted_list": ", ".join(known), **closest(field, known)}
    return fault(FaultCode.UNKNOWN_FIELD, path=path, received=field, facts=facts)


def _form_at(path: Path, *, form: type[BaseModel]) -> type[BaseModel]:
    """The form that describes the object at `path`. What follows a field that holds objects by name is such a name."""
    is_name = False
    for step in path:
        if is_name or not isinstance(step, str):
            is_name = False
            continue
        annotation = form.model_fields[step].annotation
        form, is_name = next(_forms_in(annotation)), get_origin(annotation) is dict
    return form


def _forms_in(annotation: object) -> Iterator[type[BaseModel]]:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
    for part in get_args(annotation):
        yield from _forms_in(part)
