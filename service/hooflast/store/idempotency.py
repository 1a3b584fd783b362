"""Idempotency: a request that makes something is claimed before it is answered, and its answer kept for a while.

What comes again meanwhile, or after a connection broke, is given the same answer (draft-ietf-httpapi-idempotency-key).
A claim whose process was killed lapses after CLAIM_SECONDS; a request that comes again after that is answered anew.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final
from zlib import compress, decompress

import msgspec
from sqlalchemy import ColumnElement, and_, delete, insert, select, update
from sqlalchemy.exc import IntegrityError
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.store import tables
from hooflast.store.errors import IdempotencyKeyInUse, IdempotencyKeyReused
from hooflast.store.ids import new_id
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

CLAIM_SECONDS: Final = 60
KEPT_FOR: Final = timedelta(hours=24)

_TABLE: Final = tables.IdempotencyKey
_ABOUT: Final = ":about"
"""Kept beside the fields of an answer, under a name that none of them can have."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Asking:
    """A request with an idempotency key: whose, which one, and a digest of all that it asks."""

    tenant: TenantId
    asker: str
    key: str
    fingerprint: bytes = field(repr=False)


@dataclass(frozen=True, slots=True, kw_only=True)
class AnsweredBefore:
    """The answer that a request was given the first time. `about` are ids of what it tells of without naming it."""

    status: int
    fields: Mapping[str, str]
    body: bytes = field(repr=False)
    about: tuple[str, ...] = ()


class IdempotencyKeys:
    """The idempotency keys of all tenants, each reached only by its own."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def claim(self, asking: Asking, *, now: datetime) -> str | AnsweredBefore:
        """Claim a request, to be answered now: the claim's name; or the answer it was given before.

        Raises IdempotencyKeyReused for another request under the same key, IdempotencyKeyInUse while it is answered.
        """
        claim = new_id()
        async with self._sessions.writing(tenant=asking.tenant) as session:
            await session.execute(delete(_TABLE).where(_TABLE.tenant_id == asking.tenant, _TABLE.gone_at <= now))
            row = {
                "tenant_id": asking.tenant,
                "asker": asking.asker,
                "key": asking.key,
                "claim": claim,
                "fingerprint": asking.fingerprint,
                "gone_at": now + timedelta(seconds=CLAIM_SECONDS),
            }
            try:
                async with session.begin_nested():
                    await session.execute(insert(_TABLE), row)
            except IntegrityError:
                return _answer(await session.scalar(select(_TABLE).where(_of(asking))), asking)
        return claim

    async def renew(self, asking: Asking, *, claim: str, now: datetime) -> None:
        """Hold a claim for longer, as its request is still being answered."""
        held = update(_TABLE).where(_of(asking), _TABLE.claim == claim, _TABLE.status.is_(None))
        async with self._sessions.writing(tenant=asking.tenant) as session:
            await session.execute(held.values(gone_at=now + timedelta(seconds=CLAIM_SECONDS)))

    async def keep(self, asking: Asking, *, claim: str, answer: AnsweredBefore, now: datetime) -> None:
        """Keep the answer to a claimed request. A claim that has lapsed meanwhile keeps nothing."""
        values = {
            "status": answer.status,
            "fields": msgspec.json.encode({**answer.fields, _ABOUT: " ".join(answer.about)}),
            "body": compress(answer.body),
            "gone_at": now + KEPT_FOR,
        }
        async with self._sessions.writing(tenant=asking.tenant) as session:
            await session.execute(update(_TABLE).where(_of(asking), _TABLE.claim == claim).values(values))

    async def let_go(self, asking: Asking, *, claim: str) -> None:
        """Give a claim back: nothing was made, and the same key may ask again."""
        async with self._sessions.writing(tenant=asking.tenant) as session:
            await session.execute(delete(_TABLE).where(_of(asking), _TABLE.claim == claim))


async def forget_answers(session: AsyncSession, *, tenant: TenantId, about: str) -> None:
    """Give no answer of the tenant's again that tells of an id: what it is about was erased. Asked again, it is new."""
    kept = await session.execute(
        select(_TABLE.asker, _TABLE.key, _TABLE.fields, _TABLE.body).where(
            _TABLE.tenant_id == tenant, _TABLE.body.is_not(None)
        )
    )
    named = about.encode()
    for asker, key, fields, body in kept.all():
        if body is not None and (named in (fields or b"") or named in decompress(body)):
            one = and_(_TABLE.tenant_id == tenant, _TABLE.asker == asker, _TABLE.key == key)
            await session.execute(delete(_TABLE).where(one))


def _of(asking: Asking) -> ColumnElement[bool]:
    return and_(
        _TABLE.tenant_id == asking.tenant,
        _TABLE.asker == asking.asker,
        _TABLE.key == asking.key,
    )


def _answer(known: tables.IdempotencyKey | None, asking: Asking) -> AnsweredBefore:
    if known is None or (known.fingerprint == asking.fingerprint and known.status is None):
        raise IdempotencyKeyInUse(key=asking.key)
    if known.fingerprint != asking.fingerprint:
        raise IdempotencyKeyReused(key=asking.key)
    if known.status is None or known.fields is None or known.body is None:
        raise IdempotencyKeyInUse(key=asking.key)
    fields = msgspec.json.decode(known.fields, type=dict[str, str])
    about = tuple(fields.pop(_ABOUT, "").split())
    return AnsweredBefore(status=known.status, fields=fields, body=decompress(known.body), about=about)
