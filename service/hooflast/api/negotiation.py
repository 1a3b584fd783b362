"""Negotiation: what a client sends and what it accepts (RFC 9110, sections 8.3 and 12.5), as guards on routes.

Guards are asynchronous though they wait for nothing: synchronous ones are each run in a thread of their own.
"""

import re
from typing import Any, Final

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from hooflast.api.refusals import MediaTypeRefused, NothingAcceptable

JSON: Final = "application/json"
HTML: Final = "text/html"
SVG: Final = "image/svg+xml"
FORM: Final = "application/x-www-form-urlencoded"
Connection = ASGIConnection[Any, Any, Any, Any]

_RANGE: Final = re.compile(
    r"""\s*(?P<main>[\w!#$&^.+*-]+)/(?P<sub>[\w!#$&^.+*-]+)\s*
        (?P<parameters>(?:;[^;,]*)*)""",
    re.VERBOSE,
)
_WEIGHT: Final = re.compile(r";\s*[qQ]\s*=\s*(?P<weight>[01](?:\.\d{0,3})?)\s*(?:;|$)")


async def takes_json(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the body is JSON in UTF-8, as it is. Raises MediaTypeRefused."""
    _takes(JSON, connection)


async def takes_form(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the body is a form as browsers send it, in UTF-8, as it is. Raises MediaTypeRefused."""
    _takes(FORM, connection)


def _takes(accepted: str, connection: Connection) -> None:
    written = connection.headers.get("content-type", "")
    media_type, _semicolon, parameters = written.partition(";")
    charset = re.search(r"charset\s*=\s*\"?([^\s\";]+)", parameters, re.IGNORECASE)
    if media_type.strip().lower() != accepted or (charset and charset[1].lower() not in ("utf-8", "utf8")):
        raise MediaTypeRefused(received=written, accepted=accepted)
    coding = connection.headers.get("content-encoding", "identity")
    if coding.strip().lower() != "identity":
        raise MediaTypeRefused(received=coding, accepted="identity", header="Content-Encoding")


async def gives_json(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts JSON. Raises NothingAcceptable."""
    _gives(JSON, connection)


async def gives_html(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts HTML. Raises NothingAcceptable."""
    _gives(HTML, connection)


async def gives_svg(connection: Connection, _handler: BaseRouteHandler) -> None:
    """Guard: the client accepts SVG. Raises NothingAcceptable."""
    _gives(SVG, connection)


def is_acceptable(media_type: str, *, accept: str) -> bool:
    """Whether an Accept header leaves `media_type`: the most specific range that covers it has a weight above 0.

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
        return True
    return bool(weights) and weights[max(weights)] > 0


def _gives(media_type: str, connection: Connection) -> None:
    accept = ",".join(connection.headers.getall("accept", []))
    if accept and not is_acceptable(media_type, accept=accept):
        raise NothingAcceptable(received=accept, accepted=media_type)
