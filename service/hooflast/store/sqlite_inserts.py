"""SQLite inserts: many rows in one transaction, on a connection and a thread of their own.

What the driver of the other connections does in a dozen steps between threads is one step here: begin, insert, commit.
"""

import asyncio
import sqlite3
from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from functools import partial
from typing import Any, Final

from sqlalchemy import Dialect, Insert
from sqlalchemy.exc import IntegrityError

from hooflast.store.sessions import database_errors

CHECKPOINT_PAGES: Final = 100
"""After so many pages in the write-ahead log a commit takes them back into the database [C], and the next ones wait.

SQLite's own 1,000 take ten milliseconds and more, in which requests pile up; these take one or two, ten times as often.
"""

Row = Mapping[str, Any]


class SqliteInserts:
    """Rows of one table, inserted all of them or none. It connects when it first has something to insert."""

    def __init__(self, statement: Insert, *, connect: Callable[[], sqlite3.Connection], dialect: Dialect) -> None:
        compiled = statement.compile(dialect=dialect)
        self._sql = str(compiled)
        self._columns = [(name, _as_bound(statement, name, dialect=dialect)) for name in compiled.positiontup or ()]
        self._connect = connect
        self._connection: sqlite3.Connection | None = None
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="hooflast-inserts")

    async def insert(self, rows: Sequence[Row]) -> None:
        """Return once all rows are committed. Raises IntegrityError for what a row caused, and StoreUnavailable."""
        bound = [tuple(as_bound(row[name]) for name, as_bound in self._columns) for row in rows]
        with database_errors():
            await asyncio.get_running_loop().run_in_executor(self._thread, partial(self._insert, bound))

    async def close(self) -> None:
        """Close the connection; a later insert opens another."""
        await asyncio.get_running_loop().run_in_executor(self._thread, self._close)

    def _insert(self, rows: list[tuple[Any, ...]]) -> None:
        if self._connection is None:
            self._connection = self._connect()
            self._connection.execute(f"PRAGMA wal_autocheckpoint={CHECKPOINT_PAGES}")
        with self._connection as connection:
            connection.execute("BEGIN IMMEDIATE")
            try:
                connection.executemany(self._sql, rows)
            except sqlite3.IntegrityError as error:
                raise IntegrityError(self._sql, None, error, hide_parameters=True) from error

    def _close(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None


def _as_bound(statement: Insert, name: str, *, dialect: Dialect) -> Callable[[Any], Any]:
    """What a column's type makes of a value on its way into the database."""
    made = statement.table.columns[name].type.dialect_impl(dialect).bind_processor(dialect)
    return made or _as_it_is


def _as_it_is(value: object) -> object:
    return value
