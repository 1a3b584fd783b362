"""SQLite checkpoints: what stands in the write-ahead log taken back into the database, on a thread beside the writers.

By default the write that finds a thousand pages in the log takes them back itself, and who waits for it waits for the
disk: under load several times a second. A passive checkpoint of another connection holds up nobody. But the log begins
anew only where all of it is taken back, and while writes come without a pause that never is: so one that has grown
large is made to begin anew, when little is left to take back, and writes wait for that alone
(https://www.sqlite.org/wal.html, "Avoiding Excessively Large WAL Files").
"""

import sqlite3
from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from contextlib import suppress
from typing import Final

LOOK_AFTER_BYTES: Final = 4 << 20
"""How much is written between two checkpoints [C]: about what SQLite's own default comes to."""

LARGEST_LOG_BYTES: Final = 64 << 20
"""From which size on the log is made to begin anew [C]."""

READERS_HAVE_MS: Final = 50
"""How long writes wait for readers of what is in the log; if it does not begin anew then, it will the next time."""


class SqliteCheckpoints:
    """The checkpoints of one writer, which tells what it has committed. It connects at the first."""

    def __init__(
        self,
        connect: Callable[[], sqlite3.Connection],
        *,
        look_after_bytes: int = LOOK_AFTER_BYTES,
        largest_log_bytes: int = LARGEST_LOG_BYTES,
    ) -> None:
        self._connect = connect
        self._look_after_bytes = look_after_bytes
        self._largest_log_bytes = largest_log_bytes
        self._thread = ThreadPoolExecutor(max_workers=1, thread_name_prefix="hooflast-checkpoints")
        self._under_way: Future[None] | None = None
        self._connection: sqlite3.Connection | None = None
        self._page_bytes = 0
        self._committed = 0

    def committed(self, size: int) -> None:
        """So many bytes more are in the log. A checkpoint begins if it is time and none is under way; nobody waits."""
        self._committed += size
        if self._committed >= self._look_after_bytes and (self._under_way is None or self._under_way.done()):
            self._committed = 0
            self._under_way = self._thread.submit(self._take_back)

    def close(self) -> None:
        """Wait for what is under way and close the connection; what is committed later opens another."""
        self._thread.submit(self._close).result()

    def _take_back(self) -> None:
        """One that the database or the disk refuses loses nothing: the log stays, and the next takes it back."""
        with suppress(sqlite3.OperationalError):
            if self._connection is None:
                self._connection = self._connect()
                self._connection.execute(f"PRAGMA busy_timeout={READERS_HAVE_MS}")
                (self._page_bytes,) = self._connection.execute("PRAGMA page_size").fetchone()
            _busy, in_log, _taken_back = self._connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()
            if in_log * self._page_bytes > self._largest_log_bytes:
                self._connection.execute("PRAGMA wal_checkpoint(RESTART)").fetchone()

    def _close(self) -> None:
        if self._connection is not None:
            self._connection.close()
            self._connection = None
