"""Scalars: values that GraphQL has no type for. What a form reads is handed on as it came: the form refuses it."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any, Final, NewType

from graphql import ValueNode, value_from_ast_untyped
from strawberry import scalar
from strawberry.types.scalar import ScalarDefinition

Length = NewType("Length", object)
Lengths = NewType("Lengths", object)
Price = NewType("Price", object)
Value = NewType("Value", object)
JsonObject = NewType("JsonObject", object)


def _as_it_came(value: object) -> object:
    return value


def _literal(node: ValueNode, variables: dict[str, Any] | None = None) -> object:
    return value_from_ast_untyped(node, variables)


def _day(value: object) -> object:
    return value.isoformat() if isinstance(value, date) else value


def _moment(value: object) -> object:
    """RFC 3339 as JSON answers write it: Z for UTC."""
    return value.isoformat().replace("+00:00", "Z") if isinstance(value, datetime) else value


def _handed_on(name: str, *, description: str) -> ScalarDefinition:
    return scalar(
        name=name,
        description=description,
        serialize=_as_it_came,
        parse_value=_as_it_came,
        parse_literal=_literal,
    )


SCALARS: Final[dict[object, ScalarDefinition]] = {
    Length: _handed_on(
        "Length",
        description='A length: a number in the unit that holds there, or a text with a unit of its own ("4 7/8 in").',
    ),
    Lengths: _handed_on("Lengths", description="A length as in `Length`, or a list of up to 10 repeated readings."),
    Price: _handed_on("Price", description='A price in the currency of the form: a number, or a text ("89.50").'),
    Value: _handed_on(
        "Value",
        description="What a field of a record says, or what came: a text, a number, true or false, or a list of texts.",
    ),
    JsonObject: _handed_on("JsonObject", description="A JSON object, whole, with its names as REST spells them."),
    date: scalar(
        name="Date",
        description="A day (RFC 3339 full-date).",
        serialize=_day,
        parse_value=_as_it_came,
        parse_literal=_literal,
    ),
    datetime: scalar(
        name="DateTime",
        description="A moment with its zone (RFC 3339).",
        serialize=_moment,
        parse_value=_as_it_came,
        parse_literal=_literal,
    ),
}
BY_FORM_TYPE: Final[dict[object, object]] = {Decimal: Price, date: date, datetime: datetime}
"""The scalars of what forms read besides text, numbers and lengths."""
