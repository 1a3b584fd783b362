"""Body: reads a request's body, no longer and no slower than the settings allow."""

import asyncio
from collections.abc import AsyncIterator
from typing import Final

from hooflast.api.refusals import BodyTooLarge, BodyTooSlow, ClientGone
from hooflast.api.service import HttpRequest

LONGEST_STREAM_SECONDS: Final = 900
"""How long a body may take that is read piece by piece."""


async def read_body(request: HttpRequest, *, limit: int, seconds: int) -> bytes:
    """The whole body. Raises BodyTooLarge as soon as it is longer than `limit`, BodyTooSlow and ClientGone."""
    _require_short(request, limit=limit)
    try:
        async with asyncio.timeout(seconds):
            return await _gather(request, limit=limit)
    except TimeoutError:
        raise BodyTooSlow(seconds=seconds) from None


async def body_pieces(request: HttpRequest, *, limit: int, seconds: int) -> AsyncIterator[bytes]:
    """The body piece by piece, each within `seconds`. Raises as `read_body` does."""
    _require_short(request, limit=limit)
    loop = asyncio.get_running_loop()
    ends_at = loop.time() + LONGEST_STREAM_SECONDS
    size, has_more = 0, True
    while has_more:
        try:
            async with asyncio.timeout_at(min(ends_at, loop.time() + seconds)):
                message = await request.receive()
        except TimeoutError:
            raise BodyTooSlow(seconds=seconds if loop.time() < ends_at else LONGEST_STREAM_SECONDS) from None
        if message["type"] != "http.request":
            raise ClientGone
        piece, has_more = message.get("body", b""), message.get("more_body", False)
        size += len(piece)
        if size > limit:
            raise BodyTooLarge(limit=limit)
        yield piece


def _require_short(request: HttpRequest, *, limit: int) -> None:
    announced = request.headers.get("content-length", "")
    if announced.isdecimal() and (len(announced) > 18 or int(announced) > limit):
        raise BodyTooLarge(limit=limit)


async def _gather(request: HttpRequest, *, limit: int) -> bytes:
    body = bytearray()
    while True:
        message = await request.receive()
        if message["type"] != "http.request":
            raise ClientGone
        body += message.get("body", b"")
        if len(body) > limit:
            raise BodyTooLarge(limit=limit)
        if not message.get("more_body", False):
            return bytes(body)
