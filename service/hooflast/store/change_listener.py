"""Change listener: on PostgreSQL, told at once that what can be served has changed.

It only hastens what is looked up every few seconds anyway: a connection of its own listens; when that is lost,
notifications are missed until another one stands, and everything goes on without them. SQLite tells nobody anything.
"""

import asyncio
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager, suppress
from dataclasses import dataclass
from typing import Any, Final

import asyncpg  # type: ignore[import-untyped]
from sqlalchemy.exc import SQLAlchemyError
from sqlalchemy.ext.asyncio import AsyncEngine

from hooflast.store.errors import StoreUnavailable
from hooflast.store.sessions import database_errors

CHANNEL: Final = "hooflast_catalog"
_LOST: Final = (asyncpg.PostgresError, asyncpg.InterfaceError, SQLAlchemyError, StoreUnavailable, OSError)


@dataclass(frozen=True, slots=True, kw_only=True)
class Patience:
    """How long to wait before a lost connection is made again, doubled each time up to the most, in seconds.

    After `alive_seconds` without a word it is seen whether the connection lives.
    """

    first_seconds: float = 0.5
    most_seconds: float = 60.0
    alive_seconds: float = 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Heard:
    """Whom the listener tells: that something changed, or may have while nobody listened; that it is deaf, and why."""

    changed: Callable[[], None]
    deaf: Callable[[str], None] = lambda _: None


class ChangeListener:
    """Listens for one process, on one connection more than it has otherwise."""

    def __init__(self, engine: AsyncEngine) -> None:
        self._engine = engine

    @asynccontextmanager
    async def listening(self, heard: Heard, *, patience: Patience | None = None) -> AsyncIterator[None]:
        """Listen in the background for as long as this is entered; on SQLite, do nothing."""
        if self._engine.dialect.name != "postgresql":
            yield
            return
        task = asyncio.create_task(self._listen(heard, patience=patience or Patience()))
        try:
            yield
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    async def _listen(self, heard: Heard, *, patience: Patience) -> None:
        wait = patience.first_seconds
        while True:
            try:
                async with self._connected(heard) as lost:
                    wait = patience.first_seconds
                    heard.changed()
                    await lost(patience.alive_seconds)
                    heard.deaf("the connection was closed")
            except _LOST as error:
                heard.deaf(f"{type(error).__name__}: {error}")
            await asyncio.sleep(wait)
            wait = min(2 * wait, patience.most_seconds)

    @asynccontextmanager
    async def _connected(self, heard: Heard) -> AsyncIterator[Callable[[float], Any]]:
        """A connection that listens, and what waits until it is lost."""
        with database_errors():
            connection = await self._engine.connect()
        closed = asyncio.Event()
        try:
            driver: Any = (await connection.get_raw_connection()).driver_connection
            driver.add_termination_listener(lambda _: closed.set())
            await driver.add_listener(CHANNEL, lambda *_: heard.changed())

            async def lost(alive_seconds: float) -> None:
                while not closed.is_set():
                    with suppress(TimeoutError):
                        async with asyncio.timeout(alive_seconds):
                            await closed.wait()
                            return
                    await driver.execute("select 1")

            yield lost
        finally:
            with suppress(*_LOST):
                await connection.invalidate()
            await connection.close()
