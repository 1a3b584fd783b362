"""Moment fields: moments inside a form (RFC 3339), read in UTC."""

import re
from datetime import UTC, datetime
from typing import Annotated, Final

from pydantic import PlainValidator, WithJsonSchema

from hooflast.exchange.faults import FaultCode, refusal

_WRITTEN: Final = r"\d{4}-\d{2}-\d{2}[Tt]\d{2}:\d{2}:\d{2}(?:\.\d{1,9})?(?:[Zz]|[+-]\d{2}:\d{2})"


def _moment(value: object) -> datetime:
    try:
        if not isinstance(value, str) or not re.fullmatch(_WRITTEN, value, re.ASCII):
            raise ValueError(value)
        return datetime.fromisoformat(value.upper()).astimezone(UTC)
    except (ValueError, OverflowError):
        raise refusal(FaultCode.MOMENT_UNREADABLE) from None


Moment = Annotated[datetime, PlainValidator(_moment), WithJsonSchema({"type": "string", "format": "date-time"})]
