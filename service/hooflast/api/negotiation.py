"""Negotiation: what a client sends and what it accepts (RFC 9110, sections 8.3 and 12.5), as guards on routes.

Guards are asynchronous though they wait for nothing: synchronous ones are each run in a thread of their own.
"""

import re
from typing import Any, Final, Protocol

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from hooflast.api.refusals import MediaTypeRefused, NothingAcceptable

JSON: Final = "application/json"
GRAPHQL: Final = "application/graphql-response+json"
HTML: Final = "text/html"
SVG: Final = "image/svg+xml"
FORM: Final = "application/x-www-form-urlencoded"
CSV: Final = "text/csv"
MERGE_PATCH: Final = "application/merge-patch+json"
PLAIN: Final = "text/plain"
NDJSON: Final = "application/x-ndjson"
LISTED: Final = (NDJSON, CSV)
"""How many horses are written, and what is answered to them."""
Connection = ASGIConnection[Any, Any, Any, Any]


class Guard(Protocol):
    """What is asked before a handler."""

    async def __call__(self, connection: Connection, _handler: BaseRouteHandler) -> None:
        """Raises what keeps a request out."""


def in_turn(*guards: Guard) -> Guard:
    """One guard of several, asked in this order. Litestar copies the handler for each guard that it asks itself."""

    async def ask(connection: Connection, _handler: BaseRouteHandler) -> None:
        for guard in guards:
            await guard(connection, _handler)

    return ask


_RANGE: Final = re.compile(
    r"""\s*(?P<main>[\w!#$&^.+*-]+)/(?P<sub>[\w!#$&^.+*-]+)\s*
        (?P<parameters>(?:;[^;,]*)*)""",
    re.VERBOSE,
)
_WEIGHT: Final = re.compile(r";\s*[qQ]\s*=\s*(?P<weight>[01](?:\.\d{0,3})?)\s*(?:;|$)")


def takes_one_of(accepted: tuple[str, ...]) -> Guard:
    """Guard: the body is of one of these types, in UTF-8, as it is. Raises MediaTypeRefused."""

    async def takes(connection: Connection, _handler: BaseRouteHandler) -> None:
        written = connection.headers.get("content-type", "")
        _media_type, _semicolon, parameters = written.partition(";")
        charset = re.search(r"charset\s*=\s*\"?([^\s\";]+)", parameters, re.IGNORECASE)
        if media_type_of(connection) not in accepted or (charset and charset[1].lower() not in ("utf-8", "utf8")):
            raise MediaTypeRefused(received=written, accepted=", ".join(accepted))
        coding = connection.headers.get("content-encoding", "identity")
        if coding.strip().lower() != "identity":
            raise MediaTypeRefused(received=coding, accepted="identity", header="Content-Encoding")

    return takes


def media_type_of(connection: Connection) -> str:
    """What a body says that it is."""
    return connection.headers.get("content-type", "").partition(";")[0].strip().lower()


async def gives_json(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts JSON. Raises NothingAcceptable."""
    _gives(JSON, connection)


async def gives_html(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts HTML. Raises NothingAcceptable."""
    _gives(HTML, connection)


async def gives_svg(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts SVG. Raises NothingAcceptable."""
    _gives(SVG, connection)


async def gives_plain(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts plain text. Raises NothingAcceptable."""
    _gives(PLAIN, connection)


async def gives_results(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts NDJSON or CSV. Raises NothingAcceptable."""
    dearest(LISTED, connection)


def dearest(media_types: tuple[str, ...], connection: Connection) -> str:
    """The one of several media types that a client likes best, the first among equals. Raises NothingAcceptable."""
    accept = ",".join(connection.headers.getall("accept", []))
    if not accept:
        return media_types[0]
    best = max(media_types, key=lambda media_type: weight_in(accept, media_type))
    if weight_in(accept, best) <= 0:
        raise NothingAcceptable(received=accept, accepted=", ".join(media_types))
    return best


def is_acceptable(media_type: str, *, accept: str) -> bool:
    """Whether an Accept header leaves `media_type`."""
    return weight_in(accept, media_type) > 0


def weight_in(accept: str, media_type: str) -> float:
    """How much an Accept header wishes for `media_type`: the weight of the most specific range that covers it.

    Parts that cannot be read are passed over; a header without any readable part asks for nothing in particular.
    """
    main, _slash, sub = media_type.partition("/")
    exactness = {f"{main}/{sub}": 2, f"{main}/*": 1, "*/*": 0}
    weights: dict[int, float] = {}
    read_any = False
    for part in accept.split(","):
        found = _RANGE.fullmatch(part)
        if found is None:
            continue
        read_any = True
        written = f"{found['main']}/{found['sub']}".lower()
        if written in exactness:
            weight = _WEIGHT.search(found["parameters"])
            weights[exactness[written]] = float(weight["weight"]) if weight else 1.0
    if not read_any:
        return 1.0
    return weights[max(weights)] if weights else 0.0


def _gives(media_type: str, connection: Connection) -> None:
    accept = ",".join(connection.headers.getall("accept", []))
    if accept and not is_acceptable(media_type, accept=accept):
        raise NothingAcceptable(received=accept, accepted=media_type)
