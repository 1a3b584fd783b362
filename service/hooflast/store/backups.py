"""Backups: the whole database in one file, taken while it is served from, and put back whole or not at all.

SQLite copies itself page by page (its online backup), PostgreSQL through its own `pg_dump` and `pg_restore`, which see
one moment of it. Row-level security hides rows from a plain role, and from the tables' owner: on PostgreSQL both take
an administrator. A file is written beside its place and moved there once it is whole.
"""

import os
import shutil
import sqlite3
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import closing, contextmanager
from pathlib import Path
from typing import Final

from sqlalchemy import URL

from hooflast.store.engine import SQLITE, read_database_url
from hooflast.store.errors import BackupDamaged, BackupFailed, BackupFileThere

_MAGIC: Final = {SQLITE: b"SQLite format 3\x00"}
_OF_POSTGRESQL: Final = b"PGDMP"
_BUSY_SECONDS: Final = 60.0


def back_up(url: str, *, to: Path) -> int:
    """Write a backup of the database at `url`; its size in bytes. What happens meanwhile is in it whole or not at all.

    Raises BackupFileThere rather than to write over a file, BackupFailed, DatabaseUrlRefused.
    """
    read = read_database_url(url)
    if to.exists():
        raise BackupFileThere(file=str(to))
    with _beside(to) as unfinished:
        if read.drivername == SQLITE:
            _copy(Path(read.database or ""), to=unfinished)
        else:
            _run("pg_dump", ["--format=custom", "--no-owner", "--no-privileges", f"--file={unfinished}"], url=read)
        size = unfinished.stat().st_size
        unfinished.replace(to)
    return size


def restore(url: str, *, backup: Path) -> None:
    """Put a backup in the place of everything in the database at `url`, in one transaction.

    Rights of the serving role are to be granted again on PostgreSQL. Raises BackupDamaged for a file that is no whole
    backup of such a database, BackupFailed; the database is then as it was.
    """
    read = read_database_url(url)
    _require_whole(read, backup)
    if read.drivername == SQLITE:
        _copy(backup, to=Path(read.database or ""))
    else:
        options = ["--single-transaction", "--clean", "--if-exists", "--no-owner", "--no-privileges"]
        _run("pg_restore", [*options, f"--dbname={read.database}", str(backup)], url=read)


def _require_whole(read: URL, backup: Path) -> None:
    expected = _MAGIC.get(read.drivername, _OF_POSTGRESQL)
    try:
        with backup.open("rb") as file:
            begins = file.read(len(expected))
    except OSError as error:
        raise BackupDamaged(file=str(backup), reason=error.strerror or str(error)) from error
    if begins != expected:
        raise BackupDamaged(file=str(backup), reason="it does not begin like a backup of this kind of database")
    if read.drivername == SQLITE:
        try:
            with closing(sqlite3.connect(f"file:{backup}?mode=ro&immutable=1", uri=True)) as connection:
                found = connection.execute("pragma integrity_check").fetchone()[0]
        except sqlite3.DatabaseError as error:
            raise BackupDamaged(file=str(backup), reason=str(error)) from error
        if found != "ok":
            raise BackupDamaged(file=str(backup), reason=str(found))
    else:
        try:
            _run("pg_restore", ["--list", str(backup)], url=read)
        except BackupFailed as failed:
            raise BackupDamaged(file=str(backup), reason=failed.reason) from failed


def _copy(source: Path, *, to: Path) -> None:
    """One SQLite database over another, in one transaction of the other."""
    if not source.is_file():
        raise BackupFailed(reason=f"there is no file {source}")
    try:
        with (
            closing(sqlite3.connect(source, timeout=_BUSY_SECONDS)) as old,
            closing(sqlite3.connect(to, timeout=_BUSY_SECONDS)) as new,
        ):
            old.backup(new)
            new.execute("pragma wal_checkpoint(truncate)")
    except sqlite3.DatabaseError as error:
        raise BackupFailed(reason=str(error)) from error


@contextmanager
def _beside(place: Path) -> Iterator[Path]:
    """A file in the same folder that is gone afterwards, unless it was moved."""
    try:
        with tempfile.TemporaryDirectory(prefix=f".{place.name}-", dir=place.parent) as folder:
            yield Path(folder) / place.name
    except OSError as error:
        raise BackupFailed(reason=f"{place}: {error.strerror or error}") from error


def _run(program: str, options: Sequence[str], *, url: URL) -> None:
    found = shutil.which(program)
    if found is None:
        raise BackupFailed(reason=f"{program} is not installed; it comes with PostgreSQL's client programs")
    done = subprocess.run(  # noqa: S603 (found on the path, options of our own)
        [found, *options], env={**os.environ, **_reached(url)}, capture_output=True, text=True, check=False
    )
    if done.returncode:
        raise BackupFailed(reason=" ".join(done.stderr.split()) or f"{program} ended with {done.returncode}")


def _reached(url: URL) -> dict[str, str]:
    """How PostgreSQL's programs reach a database; the password stands in no list of processes."""
    host = url.host or str(url.query.get("host", ""))
    told = {
        "PGHOST": host,
        "PGPORT": str(url.port or url.query.get("port", "")),
        "PGUSER": url.username,
        "PGPASSWORD": url.password,
        "PGDATABASE": url.database,
        "PGSSLMODE": url.query.get("sslmode") or url.query.get("ssl"),
    }
    return {name: str(value) for name, value in told.items() if value}
