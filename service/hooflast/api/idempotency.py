"""Idempotency: a request that makes something makes it once, however often it is sent under one key.

As draft-ietf-httpapi-idempotency-key-header has it: a Structured Fields string, or the same without quotes. A request
that is refused or fails makes nothing, and its key may be used again. REST tells a refusal by raising it; GraphQL
answers with what failed, and says beside that whether anything was made.
"""

import asyncio
import re
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass, field
from hashlib import sha256
from typing import Final

from litestar import Response

from hooflast.api.caller import OPEN
from hooflast.api.operations import Operation
from hooflast.api.refusals import IdempotencyKeyUnreadable
from hooflast.api.service import HttpRequest, Service
from hooflast.store import StoreError
from hooflast.store.idempotency import CLAIM_SECONDS, AnsweredBefore, Asking

HEADER: Final = "idempotency-key"
RENEW_SECONDS: Final = CLAIM_SECONDS / 3
ACCEPTED: Final = '1 to 255 printable characters, in quotes or without: "8e03978e-40d5-43dd-bc93-6894a57f9324"'
_WRITTEN: Final = re.compile(r'"(?P<quoted>[ !#-~]{1,255})"|(?P<bare>[!#-~]{1,255})')


@dataclass(slots=True, kw_only=True)
class Making:
    """Noted while a request is answered: whether anything was made, and the ids of what its answer tells of."""

    has_made: bool = False
    about: list[str] = field(default_factory=list)


async def once(
    request: HttpRequest,
    service: Service,
    *,
    operation: Operation,
    body: bytes,
    make: Callable[[], Awaitable[Response[bytes]]],
    making: Making | None = None,
) -> Response[bytes]:
    """The answer of `make`; or that of the first time, where the request came before under its key.

    Of several keys none is meant, as a list is no string of Structured Fields (RFC 9651). Keys are kept by the real
    clock, whatever day it is for the caller.

    `body` is what tells one request from another besides its address, its content type and its languages. Where
    `making` is given, `make` may answer without having made anything: then the key may be used again.

    Raises IdempotencyKeyUnreadable, IdempotencyKeyInUse, IdempotencyKeyReused, StoreError, and what `make` raises.
    """
    key = key_in(request)
    if key is None:
        return await make()
    asking, clock = _asking(request, service, key=key, body=body), service.real_clock
    await service.store.tenants.ensure(service.tenant, now=clock())
    claimed = await service.store.idempotency_keys.claim(asking, now=clock())
    if isinstance(claimed, AnsweredBefore):
        return _response(claimed)
    is_kept = False
    try:
        async with _held(asking, claim=claimed, service=service):
            made = await make()
        answer = AnsweredBefore(
            status=made.status_code or operation.status,
            fields=_fields(made),
            body=made.content,
            about=tuple(making.about) if making else (),
        )
        if making is None or making.has_made:
            await service.store.idempotency_keys.keep(asking, claim=claimed, answer=answer, now=clock())
            is_kept = True
    finally:
        if not is_kept:
            await service.store.idempotency_keys.let_go(asking, claim=claimed)
    return _response(answer)


@asynccontextmanager
async def _held(asking: Asking, *, claim: str, service: Service) -> AsyncIterator[None]:
    """A claim that does not lapse within the block, however long it takes."""
    renewing = asyncio.create_task(_renew(asking, claim=claim, service=service))
    try:
        yield
    finally:
        renewing.cancel()
        await asyncio.gather(renewing, return_exceptions=True)


async def _renew(asking: Asking, *, claim: str, service: Service) -> None:
    while True:
        await asyncio.sleep(RENEW_SECONDS)
        with suppress(StoreError):
            await service.store.idempotency_keys.renew(asking, claim=claim, now=service.real_clock())


def key_in(request: HttpRequest) -> str | None:
    """The key that came with a request, if one did. Raises IdempotencyKeyUnreadable."""
    fields = request.headers.getall(HEADER, [])
    return _read(", ".join(fields)) if fields else None


def _read(written: str) -> str:
    found = _WRITTEN.fullmatch(written.strip())
    if found is None:
        raise IdempotencyKeyUnreadable(received=written, accepted=ACCEPTED)
    return found["quoted"] or found["bare"]


def _asking(request: HttpRequest, service: Service, *, key: str, body: bytes) -> Asking:
    asked = (
        request.method,
        request.scope["raw_path"].decode("latin-1"),
        request.scope["query_string"].decode("latin-1"),
        request.headers.get("content-type", ""),
        request.headers.get("accept-language", ""),
    )
    fingerprint = sha256("\0".join(asked).encode() + b"\0" + body).digest()
    asker = OPEN if service.caller.key is None else service.caller.key.id
    return Asking(tenant=service.tenant, asker=asker, key=key, fingerprint=fingerprint)


def _fields(made: Response[bytes]) -> dict[str, str]:
    media_type = {"content-type": str(made.media_type)} if made.media_type else {}
    return {**{name.lower(): str(value) for name, value in made.headers.items()}, **media_type}


def _response(answer: AnsweredBefore) -> Response[bytes]:
    fields = dict(answer.fields)
    media_type = fields.pop("content-type", None)
    return Response(answer.body, status_code=answer.status, media_type=media_type, headers=fields)
