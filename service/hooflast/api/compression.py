"""Compression: bodies packed with gzip for clients that take it (RFC 9110, sections 8.4 and 12.5.3).

A packed body is another representation, so its strong ETag is another one: the same with `-gzip` at its end. What a
client sends back with that ending is understood without it.
"""

import gzip
import re
from collections.abc import Iterable
from typing import Final

from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPResponseStartEvent, Message, Receive, Scope, Send

Headers = list[tuple[bytes, bytes]]

LEAST_BYTES: Final = 1024
"""A shorter body fits into one packet anyway."""

LEVEL: Final = 5
_PACKABLE: Final = re.compile(rb"(?:application/(?:[a-z.-]+\+)?json|application/x-ndjson|image/svg\+xml|text/[a-z]+)\b")
_CODING: Final = re.compile(r"\s*(?P<name>[\w*-]+)\s*(?:;\s*[qQ]\s*=\s*(?P<weight>[01](?:\.\d{0,3})?)\s*)?")
_ENDING: Final = b"-gzip"
_TAGS_SENT: Final = frozenset({b"if-none-match", b"if-match"})


class Packing:
    """Packs what the application within it answers. What is sent in several parts goes as it is."""

    def __init__(self, app: ASGIApp) -> None:
        self.app = app

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:  # noqa: PLR0917 (ASGI)
        """Answer one request. What it says of packed bodies is understood as of what they pack."""
        if scope["type"] != ScopeType.HTTP:
            await self.app(scope, receive, send)
            return
        sent: Headers = list(scope["headers"])
        accepted = b",".join(value for name, value in sent if name == b"accept-encoding")
        holds_packed = _names_packed(sent)
        if holds_packed:
            scope["headers"] = _without_ending(sent)
        reply = _Reply(send, takes=takes_gzip(accepted.decode("latin-1")), holds_packed=holds_packed)
        await self.app(scope, receive, reply.send)


class _Reply:
    """One response on its way out: its beginning waits for its body, if that may be packed."""

    def __init__(self, send: Send, *, takes: bool, holds_packed: bool) -> None:
        self._send = send
        self._takes = takes
        self._holds_packed = holds_packed
        self._waiting: HTTPResponseStartEvent | None = None

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            await self._begin(message)
        elif message["type"] == "http.response.body" and self._waiting is not None:
            begin, self._waiting = self._waiting, None
            body = message.get("body", b"")
            if message.get("more_body", False) or len(body) < LEAST_BYTES:
                await self._send(begin)
                await self._send(message)
            else:
                headers, packed = _pack(begin["headers"], body=body)
                await self._send({**begin, "headers": headers})
                await self._send({"type": "http.response.body", "body": packed, "more_body": False})
        else:
            await self._send(message)

    async def _begin(self, message: HTTPResponseStartEvent) -> None:
        headers: Headers = list(message["headers"])
        if message["status"] == 304 and self._holds_packed:
            await self._send({**message, "headers": _with_ending(headers)})
        elif _may_be_packed(headers):
            begin: HTTPResponseStartEvent = {**message, "headers": [*headers, (b"vary", b"Accept-Encoding")]}
            if self._takes:
                self._waiting = begin
            else:
                await self._send(begin)
        else:
            await self._send(message)


def takes_gzip(accept_encoding: str) -> bool:
    """Whether an Accept-Encoding header takes gzip; parts that cannot be read are passed over."""
    weights = {
        found["name"].lower(): float(found["weight"] or 1)
        for part in accept_encoding.split(",")
        if (found := _CODING.fullmatch(part))
    }
    return weights.get("gzip", weights.get("x-gzip", weights.get("*", 0.0))) > 0


def _may_be_packed(headers: Headers) -> bool:
    fields = dict(headers)
    return _PACKABLE.match(fields.get(b"content-type", b"")) is not None and b"content-encoding" not in fields


def _pack(headers: Iterable[tuple[bytes, bytes]], *, body: bytes) -> tuple[Headers, bytes]:
    packed = gzip.compress(body, LEVEL, mtime=0)
    kept = [(name, value) for name, value in _with_ending(headers) if name != b"content-length"]
    return [*kept, (b"content-encoding", b"gzip"), (b"content-length", str(len(packed)).encode())], packed


def _with_ending(headers: Iterable[tuple[bytes, bytes]]) -> Headers:
    return [
        (name, value[:-1] + _ENDING + b'"' if name == b"etag" and value.endswith(b'"') else value)
        for name, value in headers
    ]


def _without_ending(headers: Headers) -> Headers:
    return [(name, value.replace(_ENDING + b'"', b'"') if name in _TAGS_SENT else value) for name, value in headers]


def _names_packed(headers: Headers) -> bool:
    return any(name in _TAGS_SENT and _ENDING + b'"' in value for name, value in headers)
