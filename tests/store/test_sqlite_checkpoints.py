"""Checkpoints beside the writer: what was committed comes into the database file, and the log begins anew."""

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from hooflast.store.engine import sqlite_connection
from hooflast.store.sqlite_checkpoints import SqliteCheckpoints

PAGE = 4_000
"""A row of that many bytes fills about a page."""


@pytest.fixture
def file(tmp_path: Path) -> Path:
    file = tmp_path / "stable.sqlite3"
    with closing(sqlite_connection(str(file))) as connection:
        connection.execute("CREATE TABLE hay (weight BLOB)")
    return file


@contextmanager
def writing(file: Path) -> Iterator[sqlite3.Connection]:
    """A writer that never takes anything back itself."""
    with closing(sqlite_connection(str(file))) as connection:
        connection.execute("PRAGMA wal_autocheckpoint=0")
        yield connection


def made(file: Path, *, largest_log_bytes: int = 1 << 30, asked: list[str] | None = None) -> SqliteCheckpoints:
    """Checkpoints after each row; what they ask of SQLite is told in `asked`."""

    def connect() -> sqlite3.Connection:
        connection = sqlite_connection(str(file))
        connection.set_trace_callback(None if asked is None else asked.append)
        return connection

    return SqliteCheckpoints(connect, look_after_bytes=PAGE, largest_log_bytes=largest_log_bytes)


def write(connection: sqlite3.Connection, rows: int, *, checkpoints: SqliteCheckpoints) -> None:
    for _ in range(rows):
        connection.execute("INSERT INTO hay VALUES (?)", (bytes(PAGE),))
        checkpoints.committed(PAGE)


def in_the_file_alone(file: Path) -> int:
    """How many rows a copy of the database without its log has."""
    copy = file.with_name("copy.sqlite3")
    shutil.copy(file, copy)
    with closing(sqlite3.connect(copy)) as connection:
        rows: int = connection.execute("SELECT count(*) FROM hay").fetchone()[0]
    return rows


def frames_in_log(file: Path) -> int:
    with closing(sqlite_connection(str(file))) as connection:
        frames: int = connection.execute("PRAGMA wal_checkpoint(PASSIVE)").fetchone()[1]
    return frames


def test_what_is_committed_comes_into_the_database_file(file: Path) -> None:
    checkpoints = made(file)
    with writing(file) as connection:
        write(connection, 1, checkpoints=checkpoints)
        checkpoints.close()
        assert in_the_file_alone(file) == 1


def test_nothing_is_taken_back_before_it_is_time(file: Path) -> None:
    checkpoints = made(file)
    with writing(file) as connection:
        connection.execute("INSERT INTO hay VALUES (?)", (bytes(PAGE),))
        checkpoints.committed(PAGE - 1)
        checkpoints.close()
        assert in_the_file_alone(file) == 0


@pytest.mark.parametrize(("largest", "begins_anew"), [(20 * PAGE, True), (1 << 30, False)])
def test_only_a_log_that_has_grown_large_is_made_to_begin_anew(file: Path, *, largest: int, begins_anew: bool) -> None:
    asked: list[str] = []
    checkpoints = made(file, largest_log_bytes=largest, asked=asked)
    with writing(file) as connection:
        with closing(sqlite_connection(str(file))) as reader:
            reader.execute("BEGIN")
            reader.execute("SELECT count(*) FROM hay").fetchone()
            write(connection, 40, checkpoints=checkpoints)
            checkpoints.close()
        write(connection, 1, checkpoints=checkpoints)
        checkpoints.close()
        assert ("PRAGMA wal_checkpoint(RESTART)" in asked) is begins_anew
        connection.execute("INSERT INTO hay VALUES (?)", (b"the last",))
        assert frames_in_log(file) < 40
        assert connection.execute("SELECT count(*) FROM hay").fetchone() == (42,)


def test_a_reader_that_stays_keeps_nobody_from_writing_and_sees_what_it_saw(file: Path) -> None:
    checkpoints = made(file, largest_log_bytes=PAGE)
    with writing(file) as connection, closing(sqlite_connection(str(file))) as reader:
        write(connection, 1, checkpoints=checkpoints)
        reader.execute("BEGIN")
        assert reader.execute("SELECT count(*) FROM hay").fetchone() == (1,)
        write(connection, 30, checkpoints=checkpoints)
        checkpoints.close()
        assert reader.execute("SELECT count(*) FROM hay").fetchone() == (1,)
        assert connection.execute("SELECT count(*) FROM hay").fetchone() == (31,)


def test_a_file_that_is_gone_disturbs_no_writer(file: Path, tmp_path: Path) -> None:
    checkpoints = SqliteCheckpoints(lambda: sqlite_connection(str(tmp_path / "no folder" / "file")), look_after_bytes=1)
    checkpoints.committed(1)
    checkpoints.close()
    with writing(file) as connection:
        assert connection.execute("SELECT count(*) FROM hay").fetchone() == (0,)
