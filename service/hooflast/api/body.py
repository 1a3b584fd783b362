"""Body: reads a request's body, no longer and no slower than the settings allow."""

import asyncio

from hooflast.api.refusals import BodyTooLarge, BodyTooSlow, ClientGone
from hooflast.api.service import HttpRequest


async def read_body(request: HttpRequest, *, limit: int, seconds: int) -> bytes:
    """The whole body. Raises BodyTooLarge as soon as it is longer than `limit`, BodyTooSlow and ClientGone."""
    announced = request.headers.get("content-length", "")
    if announced.isdecimal() and (len(announced) > 18 or int(announced) > limit):
        raise BodyTooLarge(limit=limit)
    try:
        async with asyncio.timeout(seconds):
            return await _gather(request, limit=limit)
    except TimeoutError:
        raise BodyTooSlow(seconds=seconds) from None


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
