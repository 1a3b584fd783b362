"""Publisher lock: one publisher at a time takes up what the plugins offer, across all processes on one database.

It outlives single transactions. On PostgreSQL it is an advisory lock of a session of its own; on SQLite it is held on a
file beside the database. Both are free again when the process that holds them ends, however it ends.
"""

import asyncio
import sys
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from pathlib import Path
from typing import IO, Final

from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine

from hooflast.store.locks import Lock
from hooflast.store.sessions import database_errors

LOOK_SECONDS: Final = 0.25
SUFFIX: Final = ".publisher"
_TRY: Final = text("select pg_try_advisory_lock(:number)")
_NUMBER: Final = {"number": int(Lock.PUBLISHER)}
_FREE: Final = text("select pg_advisory_unlock(:number)")


class PublisherLock:
    """Held while somebody takes up what is offered."""

    def __init__(self, engine: AsyncEngine) -> None:
        self._engine = engine

    @asynccontextmanager
    async def held(self, *, on_wait: Callable[[], None] = lambda: None) -> AsyncIterator[None]:
        """Hold it, after whoever holds it now; while somebody does, `on_wait` is called at each look, and may raise.

        Raises StoreUnavailable.
        """
        holding = self._on_server if self._engine.dialect.name == "postgresql" else self._on_file
        async with holding(on_wait):
            yield

    @asynccontextmanager
    async def _on_server(self, on_wait: Callable[[], None]) -> AsyncIterator[None]:
        with database_errors():
            connection = await self._engine.connect()
        try:
            await connection.execution_options(isolation_level="AUTOCOMMIT")
            while not await _taken_on_server(connection):
                await _wait(on_wait)
            try:
                yield
            finally:
                with suppress(DBAPIError, OSError):
                    await connection.execute(_FREE, _NUMBER)
        finally:
            with suppress(DBAPIError, OSError):
                await connection.invalidate()
            await connection.close()

    @asynccontextmanager
    async def _on_file(self, on_wait: Callable[[], None]) -> AsyncIterator[None]:
        path = Path(str(self._engine.url.database) + SUFFIX)
        with database_errors():
            file = await asyncio.to_thread(path.open, "ab")
        with file:
            while not _taken(file):
                await _wait(on_wait)
            yield


async def _wait(on_wait: Callable[[], None]) -> None:
    on_wait()
    await asyncio.sleep(LOOK_SECONDS)


async def _taken_on_server(connection: AsyncConnection) -> bool:
    with database_errors():
        return bool(await connection.scalar(_TRY, _NUMBER))


def _taken(file: IO[bytes]) -> bool:
    """Whether the file is locked by us now; closing it lets go."""
    try:
        if sys.platform == "win32":
            import msvcrt

            file.seek(0)
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError:
        return False
    return True
