"""Hook form: where a client wants to be told, and of what; and since when it wants to be told again."""

import re
from dataclasses import dataclass
from datetime import date, datetime
from typing import Annotated, Final
from urllib.parse import urlsplit

from pydantic import ConfigDict, Field, PlainValidator, WithJsonSchema

from hooflast.exchange import form_fields as fields
from hooflast.exchange.event_kinds import EventKind
from hooflast.exchange.faults import FaultCode, refusal
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import Form
from hooflast.exchange.moment_fields import Moment

LONGEST_URL: Final = 500
_URL: Final = (
    r"^https?://(?:[A-Za-z0-9](?:[A-Za-z0-9.-]{0,251}[A-Za-z0-9])?|\[[0-9A-Fa-f:.]{2,45}\])"
    r"(?::[1-9][0-9]{0,4})?(?:[/?](?:[A-Za-z0-9._~:/?@!$&'()*+,;=-]|%[0-9A-Fa-f]{2})*)?$"
)


def _url(value: object) -> str:
    try:
        if not isinstance(value, str) or len(value) > LONGEST_URL or not re.fullmatch(_URL, value):
            raise ValueError(value)
        _ = urlsplit(value).port
    except ValueError:  # also from urlsplit, for what is in brackets and no address, and for a port beyond the last
        raise refusal(FaultCode.URL_REFUSED, limit=LONGEST_URL) from None
    return value


HookUrl = Annotated[
    str,
    PlainValidator(_url),
    WithJsonSchema({"type": "string", "format": "uri", "maxLength": LONGEST_URL, "pattern": _URL}),
]


class HookForm(Form):
    """An address at which you want to be told of what happens."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "url": "https://tarn-and-tether.example/hooks/hooflast",
                    "events": ["catalog_release.published", "match_job.done", "match_job.failed"],
                }
            ]
        }
    )

    url: HookUrl = Field(
        description="Where messages are sent: http or https, without a user name, password or fragment.",
        examples=["https://tarn-and-tether.example/hooks/hooflast"],
    )
    events: list[fields.EventKind] = Field(
        list(EventKind),
        min_length=1,
        max_length=20,
        description="Of which kinds of events you want to be told; left out: of all there are when the hook is made.",
        examples=[["catalog_release.published"]],
    )


class ReplayForm(Form):
    """Since when events are to be delivered again."""

    model_config = ConfigDict(json_schema_extra={"examples": [{"since": "2026-03-01T00:00:00Z"}]})

    since: Moment = Field(
        description="The moment from which on, with its zone (RFC 3339).", examples=["2026-03-01T00:00:00Z"]
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class HookWish:
    """Where a client wants to be told, and of what."""

    url: str
    events: tuple[str, ...]


def read_hook_wish(raw: object, *, today: date) -> HookWish:
    """Read a request for a hook. Raises InputRefused with every fault."""
    form = read_form(raw, form=HookForm, today=today)
    return HookWish(url=form.url, events=tuple(kind.value for kind in EventKind if kind in form.events))


def read_since(raw: object, *, today: date) -> datetime:
    """Read a request for a replay. Raises InputRefused with every fault."""
    return read_form(raw, form=ReplayForm, today=today).since
