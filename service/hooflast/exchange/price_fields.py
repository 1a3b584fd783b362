"""Price fields: money inside a form: an ISO 4217 currency, and prices in it as numbers or text.

A currency has as many decimals as CLDR gives it (two for most, none for the yen).
"""

import re
from collections.abc import Iterator, Mapping
from decimal import Decimal
from typing import Annotated, Final

from babel.numbers import get_currency_precision, is_currency
from pydantic import PlainValidator, WithJsonSchema

from hooflast.errors import Fact, Fault, Path
from hooflast.exchange.faults import FaultCode, ValueType, fault, refusal

HIGHEST: Final = 1_000_000
_WRITTEN: Final = r"^[0-9]{1,7}(\.[0-9]{1,4})?$"


def minor_units(price: Decimal, *, currency: str) -> int:
    """A price in the currency's minor unit; it must not be finer than that."""
    return int(price.scaleb(get_currency_precision(currency)))


def price_text(minor: int, *, currency: str) -> str:
    """A price from the currency's minor unit, as a form writes it."""
    return str(Decimal(minor).scaleb(-get_currency_precision(currency)))


def price_faults(prices: Mapping[Path, object], *, currency: object) -> Iterator[Fault]:
    """What is wrong with prices as they stand in a document, by their places, beside what one field alone shows."""
    if prices and currency is None:
        yield fault(FaultCode.MISSING, path=("currency",), received=None, facts={"field": "currency"})
    if not isinstance(currency, str) or not is_currency(currency):
        return
    decimals = get_currency_precision(currency)
    for path, written in prices.items():
        price = _decimal(written)
        if price is not None and 0 <= price <= HIGHEST and price != round(price, decimals):
            facts: dict[str, Fact] = {"decimals": decimals, "currency": currency}
            yield fault(FaultCode.PRICE_TOO_FINE, path=path, received=written, facts=facts)


def _price(value: object) -> Decimal:
    if isinstance(value, bool) or not isinstance(value, str | int | float):
        raise refusal(FaultCode.WRONG_TYPE, expected_type=ValueType.NUMBER.value)
    price = _decimal(value)
    if price is None:
        raise refusal(FaultCode.PRICE_UNREADABLE)
    if not 0 <= price <= HIGHEST:
        raise refusal(FaultCode.OUT_OF_RANGE, low=0, high=HIGHEST)
    return price


def _decimal(written: object) -> Decimal | None:
    """A price as it is written, exactly; None if it is none."""
    if isinstance(written, bool) or not isinstance(written, str | int | float):
        return None
    if isinstance(written, str):
        return Decimal(written) if re.fullmatch(_WRITTEN, written, re.ASCII) else None
    return Decimal(repr(written))


def _currency(value: object) -> str:
    if isinstance(value, str) and re.fullmatch(r"[A-Z]{3}", value, re.ASCII) and is_currency(value):
        return value
    raise refusal(FaultCode.CURRENCY_UNKNOWN)


Price = Annotated[
    Decimal,
    PlainValidator(_price),
    WithJsonSchema(
        {
            "anyOf": [
                {"type": "number", "minimum": 0, "maximum": HIGHEST},
                {"type": "string", "pattern": _WRITTEN},
            ]
        }
    ),
]
Currency = Annotated[
    str, PlainValidator(_currency), WithJsonSchema({"type": "string", "pattern": "^[A-Z]{3}$", "examples": ["EUR"]})
]
