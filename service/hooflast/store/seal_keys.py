"""Seal keys: make the first one exactly once, list them all, renew the one in use."""

from collections.abc import Callable
from datetime import datetime

from sqlalchemy import insert, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.store import tables
from hooflast.store.locks import Lock, wait_for
from hooflast.store.seal_values import SealKey
from hooflast.store.sessions import Sessions

Make = Callable[[], SealKey]
_TABLE = tables.SealKey


class SealKeys:
    """The keys that all processes of the service seal with."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def ensure_first(self, *, make: Make) -> SealKey:
        """The key in use; if there is none, one is made, and all processes that ask at once get the same."""
        for key in await self.all():
            if key.retired_at is None:
                return key
        async with self._sessions.writing() as session:
            await _alone(session)
            in_use = [key for key in await _all(session) if key.retired_at is None]
            return in_use[0] if in_use else await _add(session, make())

    async def all(self) -> tuple[SealKey, ...]:
        """Every key, the newest first, retired ones with them."""
        async with self._sessions.reading() as session:
            return await _all(session)

    async def renew(self, *, make: Make, now: datetime) -> SealKey:
        """Make a new key to seal with, and retire those before it."""
        async with self._sessions.writing() as session:
            await _alone(session)
            await session.execute(update(_TABLE).where(_TABLE.retired_at.is_(None)).values(retired_at=now))
            return await _add(session, make())


async def _alone(session: AsyncSession) -> None:
    await session.run_sync(lambda sync: wait_for(Lock.SIGNING_KEYS, connection=sync.connection()))


async def _all(session: AsyncSession) -> tuple[SealKey, ...]:
    query = select(_TABLE.kid, _TABLE.private, _TABLE.created_at, _TABLE.retired_at)
    rows = await session.execute(query.order_by(_TABLE.created_at.desc(), _TABLE.kid))
    return tuple(
        SealKey(kid=row.kid, private=row.private, created_at=row.created_at, retired_at=row.retired_at) for row in rows
    )


async def _add(session: AsyncSession, key: SealKey) -> SealKey:
    row = {"kid": key.kid, "private": key.private, "created_at": key.created_at, "retired_at": key.retired_at}
    await session.execute(insert(_TABLE), row)
    return key
