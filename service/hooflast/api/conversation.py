"""Conversation: what every request gets, whatever answers it: an id, an access line, and the manners of HTTP."""

import time
from collections.abc import Awaitable, Callable, Iterable, Mapping
from typing import Any, Final
from uuid import UUID

import msgspec
import structlog
from litestar.enums import ScopeType
from litestar.types import ASGIApp, HTTPResponseStartEvent, Message, Receive, Scope, Send
from structlog.contextvars import bound_contextvars

from hooflast.api.caller import REQUEST_ID, RESPONSE_HEADERS
from hooflast.api.cors import may_send, preflight_of
from hooflast.api.problems import MEDIA_TYPE
from hooflast.api.running import Running
from hooflast.api.watching import Seen, Watcher, route_of, watched
from hooflast.store import StoreError, new_id

_ALWAYS: Final = (
    (b"x-content-type-options", b"nosniff"),
    (b"referrer-policy", b"no-referrer"),
    (b"vary", b"Origin"),
)
"""What stands in every answer: whether a page may read it depends on where the page comes from (RFC 6454)."""

log = structlog.stdlib.get_logger("hooflast.api")


class Conversation:
    """The outermost layer of the service.

    A GET route also answers HEAD: the same headers, no body (RFC 9110, section 9.3.2); `Allow` says so.
    """

    def __init__(
        self,
        app: ASGIApp,
        *,
        running: Running,
        methods: Mapping[str, Iterable[str]],
        is_origin_known: Callable[[str], Awaitable[bool]],
        watchers: tuple[Watcher, ...] = (),
    ) -> None:
        """`methods` are those of each route, by its path; `is_origin_known` says whether pages of it may ask."""
        self.app = app
        self.watchers = watchers
        self.is_origin_known = is_origin_known
        self.running = running
        self.allowed = {path: with_head(", ".join((*taken, "OPTIONS")).encode()) for path, taken in methods.items()}

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:  # noqa: PLR0917 (ASGI)
        """Answer one request."""
        if scope["type"] != ScopeType.HTTP:
            await self.app(scope, receive, send)
            return
        request_id = request_id_of(scope["headers"])
        is_head = scope["method"] == "HEAD"
        inner: Any = {**scope, "state": {**scope["state"], REQUEST_ID: request_id}}
        if is_head:
            inner["method"] = "GET"
        reply = _Reply(send, scope=inner, is_head=is_head, allowed=self.allowed)
        seen = Seen(method=scope["method"], headers=scope["headers"], request_id=request_id)
        started = time.perf_counter()
        with bound_contextvars(request_id=request_id), self.running.one(), watched(seen, by=self.watchers):
            try:
                reply.asking = await self._known_page(scope)
                await self.app(inner, receive, reply.send)
            except Exception as error:
                log.error("unexpected error", exc_info=error)
                if reply.status:
                    raise
                await reply.give_up()
            finally:
                seen.route, seen.status = route_of(inner), reply.status
                log.info(
                    "request",
                    method=seen.method,
                    route=seen.route,
                    status=seen.status,
                    duration_ms=round((time.perf_counter() - started) * 1000, 2),
                )

    async def _known_page(self, scope: Scope) -> str | None:
        """The origin of a page that asks whether it may send a request, if a key is for pages of it."""
        asking = preflight_of(scope)
        try:
            return asking if asking is not None and await self.is_origin_known(asking) else None
        except StoreError as error:
            log.warning("no page is let ask", reason=str(error))
            return None


class _Reply:
    """One response on its way out."""

    def __init__(self, send: Send, *, scope: Any, is_head: bool, allowed: Mapping[str, bytes]) -> None:
        self._send = send
        self._scope = scope
        self._is_head = is_head
        self._allowed = allowed
        self._request_id: str = scope["state"][REQUEST_ID]
        self.status = 0
        self.asking: str | None = None

    async def send(self, message: Message) -> None:
        if message["type"] == "http.response.start":
            self.status = message["status"]
            await self._send(self._dressed(message))
        elif message["type"] == "http.response.body" and self._is_head:
            if not message.get("more_body", False):
                await self._send({"type": "http.response.body", "body": b"", "more_body": False})
        else:
            await self._send(message)

    async def give_up(self) -> None:
        """The last resort, when not even the problem could be told."""
        problem = {"type": "/problems/unexpected", "title": "Internal Server Error", "status": 500}
        told = {**problem, "detail": "", "instance": f"urn:uuid:{self._request_id}"}
        headers = [(b"content-type", MEDIA_TYPE.encode())]
        await self.send({"type": "http.response.start", "status": 500, "headers": headers})
        await self.send({"type": "http.response.body", "body": msgspec.json.encode(told), "more_body": False})

    def _dressed(self, message: HTTPResponseStartEvent) -> HTTPResponseStartEvent:
        headers = [(name, self._allow(value) if name == b"allow" else value) for name, value in message["headers"]]
        added = self._scope["state"].get(RESPONSE_HEADERS, [])
        if self.asking is not None and self.status < 400:
            added = may_send(self.asking, methods=self._allow(b""))
        return {**message, "headers": [*headers, (b"x-request-id", self._request_id.encode()), *_ALWAYS, *added]}

    def _allow(self, written: bytes) -> bytes:
        """All methods of the route where one was found: Litestar's answer to OPTIONS may miss some of them."""
        return self._allowed.get(self._scope.get("path_template", ""), with_head(written))


def with_head(allow: bytes) -> bytes:
    """The methods of an `Allow` header in alphabetical order, HEAD beside GET."""
    methods = {method.strip() for method in allow.split(b",")}
    return b", ".join(sorted(methods | {b"HEAD"} if b"GET" in methods else methods))


def request_id_of(headers: Any) -> str:
    """The id a client or a proxy gave the request if it is a UUID, or else a new one."""
    for name, value in headers:
        if name == b"x-request-id":
            try:
                return str(UUID(value.decode("ascii")))
            except ValueError:
                break
    return new_id()
