"""Wire: HTTP/1.1 as uvicorn speaks it, with a bound on how long and how slow the head of a request may be.

What is refused here never reaches the application, and is told as a problem all the same.
"""

from asyncio import AbstractEventLoop, TimerHandle, Transport
from collections.abc import Callable
from http import HTTPStatus
from typing import Any, Final

import msgspec
from uvicorn.config import Config
from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol
from uvicorn.server import ServerState

from hooflast.api.problems import MEDIA_TYPE, REFUSED, Problem, title_and_about
from hooflast.store import new_id
from hooflast.texts import DEFAULT_LANGUAGE, load_texts

_KINDS: Final = {
    HTTPStatus.BAD_REQUEST: REFUSED,
    HTTPStatus.REQUEST_TIMEOUT: "request-too-slow",
    HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE: "head-too-large",
}


class BoundedConfig(Config):
    """How uvicorn is to serve, with the bounds of a request's head; `base` stands before the types of problems."""

    def __init__(
        self, app: Callable[[], Any], *, head_bytes: int, head_seconds: float, base: str = "", **options: Any
    ) -> None:
        super().__init__(app, factory=True, http=BoundedProtocol, **options)
        self.head_bytes = head_bytes
        self.head_seconds = head_seconds
        self.base = base


class BoundedProtocol(HttpToolsProtocol):
    """One connection."""

    def __init__(  # noqa: PLR0917 (uvicorn calls it so)
        self,
        config: BoundedConfig,
        server_state: ServerState,
        app_state: dict[str, Any],
        _loop: AbstractEventLoop | None = None,
    ) -> None:
        super().__init__(config=config, server_state=server_state, app_state=app_state, _loop=_loop)
        self._bounds = config
        self._head_size = 0
        self._head_timer: TimerHandle | None = None

    def connection_made(self, transport: Transport) -> None:  # type: ignore[override]
        super().connection_made(transport)
        self._head_timer = self.loop.call_later(self._bounds.head_seconds, self._head_too_slow)

    def connection_lost(self, exc: Exception | None) -> None:
        self._stop_timer()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        if not self.transport.is_closing():
            super().data_received(data)

    def on_message_begin(self) -> None:
        super().on_message_begin()
        self._head_size = 0
        self._stop_timer()
        self._head_timer = self.loop.call_later(self._bounds.head_seconds, self._head_too_slow)

    def on_url(self, url: bytes) -> None:
        if self._fits(len(url)):
            super().on_url(url)

    def on_header(self, name: bytes, value: bytes) -> None:
        if self._fits(len(name) + len(value)):
            super().on_header(name, value)

    def on_headers_complete(self) -> None:
        self._stop_timer()
        if not self.transport.is_closing():
            super().on_headers_complete()

    def send_400_response(self, msg: str) -> None:  # noqa: ARG002 (uvicorn's own wording)
        self._refuse(HTTPStatus.BAD_REQUEST)

    def _fits(self, size: int) -> bool:
        self._head_size += size
        if self._head_size > self._bounds.head_bytes:
            self._refuse(HTTPStatus.REQUEST_HEADER_FIELDS_TOO_LARGE)
        return not self.transport.is_closing()

    def _head_too_slow(self) -> None:
        self._refuse(HTTPStatus.REQUEST_TIMEOUT)

    def _stop_timer(self) -> None:
        if self._head_timer is not None:
            self._head_timer.cancel()
            self._head_timer = None

    def _refuse(self, status: HTTPStatus) -> None:
        if self.transport.is_closing():
            return
        request_id = new_id()
        title, about = title_and_about(_KINDS[status], texts=load_texts(DEFAULT_LANGUAGE))
        problem = Problem(
            type=f"{self._bounds.base}/problems/{_KINDS[status]}",
            title=title,
            status=status,
            detail=about,
            instance=f"urn:uuid:{request_id}",
        )
        body = msgspec.json.encode(problem)
        head = (
            f"HTTP/1.1 {status.value} {status.phrase}\r\ncontent-type: {MEDIA_TYPE}\r\ncontent-length: {len(body)}\r\n"
            f"x-request-id: {request_id}\r\nx-content-type-options: nosniff\r\nconnection: close\r\n\r\n"
        )
        self.transport.write(head.encode("ascii") + body)
        self.transport.close()
