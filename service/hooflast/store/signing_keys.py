"""Signing keys: make the first one exactly once, find the newest, or any by its kid; renew it."""

import secrets
from datetime import datetime
from typing import Final

from sqlalchemy import Select, insert, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.store import tables
from hooflast.store.errors import SigningKeyUnknown
from hooflast.store.ids import new_id
from hooflast.store.locks import Lock, wait_for
from hooflast.store.sessions import Sessions
from hooflast.store.values import SigningKey

SECRET_BYTES: Final = 32
"""As long as the hash of HS256, the least that RFC 7518, section 3.2, allows."""


class SigningKeys:
    """The keys that all processes of the service share. Receipts of a retired key still verify."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def ensure_first(self, *, now: datetime) -> SigningKey:
        """The newest key; if there is none, one is made, and all processes that ask at once get the same."""
        key = await self.newest()
        if key is not None:
            return key
        async with self._sessions.writing() as session:
            await _alone(session)
            return await _newest(session) or await _make(session, now=now)

    async def newest(self) -> SigningKey | None:
        """The key to sign with, if there is one."""
        async with self._sessions.reading() as session:
            return await _newest(session)

    async def by_kid(self, kid: str) -> SigningKey:
        """The key of that name, retired or not. Raises SigningKeyUnknown."""
        async with self._sessions.reading() as session:
            key = await _first(session, _keys().where(tables.SigningKey.kid == kid))
        if key is None:
            raise SigningKeyUnknown(kid=kid)
        return key

    async def renew(self, *, now: datetime) -> SigningKey:
        """Make a new key to sign with, and retire those before it."""
        retirement = update(tables.SigningKey).where(tables.SigningKey.retired_at.is_(None))
        async with self._sessions.writing() as session:
            await _alone(session)
            await session.execute(retirement.values(retired_at=now))
            return await _make(session, now=now)


async def _alone(session: AsyncSession) -> None:
    await session.run_sync(lambda sync: wait_for(Lock.SIGNING_KEYS, connection=sync.connection()))


async def _newest(session: AsyncSession) -> SigningKey | None:
    in_use = _keys().where(tables.SigningKey.retired_at.is_(None))
    return await _first(session, in_use.order_by(tables.SigningKey.kid.desc()).limit(1))


async def _make(session: AsyncSession, *, now: datetime) -> SigningKey:
    made = SigningKey(kid=new_id(), secret=secrets.token_bytes(SECRET_BYTES), created_at=now)
    row = {"kid": made.kid, "secret": made.secret, "created_at": made.created_at, "retired_at": None}
    await session.execute(insert(tables.SigningKey), row)
    return made


def _keys() -> Select[str, bytes, datetime, datetime | None]:
    table = tables.SigningKey
    return select(table.kid, table.secret, table.created_at, table.retired_at)


async def _first(session: AsyncSession, query: Select[str, bytes, datetime, datetime | None]) -> SigningKey | None:
    row = (await session.execute(query)).one_or_none()
    if row is None:
        return None
    kid, secret, created_at, retired_at = row
    return SigningKey(kid=kid, secret=secret, created_at=created_at, retired_at=retired_at)
