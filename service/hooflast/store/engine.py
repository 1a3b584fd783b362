"""Engine: from a database URL to connections that are set up alike, on SQLite and on PostgreSQL."""

import sqlite3
from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from sqlalchemy import URL, Connection, NullPool, event, make_url
from sqlalchemy.engine.interfaces import DBAPIConnection
from sqlalchemy.exc import ArgumentError
from sqlalchemy.ext.asyncio import AsyncEngine, create_async_engine

from hooflast.store.errors import DatabaseFolderMissing, DatabaseUrlRefused

SQLITE: Final = "sqlite+aiosqlite"
POSTGRESQL: Final = "postgresql+asyncpg"
BEGIN_NOW: Final = "hooflast_begin_now"
"""Execution option: on SQLite, take the write lock when a transaction begins, and wait for it there."""

_DRIVERS: Final = {
    "sqlite": SQLITE,
    SQLITE: SQLITE,
    "postgresql": POSTGRESQL,
    "postgres": POSTGRESQL,
    POSTGRESQL: POSTGRESQL,
}
_POSTGRESQL_OPTIONS: Final = ("host", "port", "ssl", "sslmode", "application_name", "connect_timeout")
_CONNECT_SECONDS: Final = 5.0
_COMMAND_SECONDS: Final = 30.0
_POOL_SECONDS: Final = 10.0

_PRAGMAS: Final = {
    "busy_timeout": "10000",
    "journal_mode": "WAL",
    "synchronous": "NORMAL",
    "foreign_keys": "ON",
    "secure_delete": "ON",  # what is erased is overwritten
}
_MIGRATION_PRAGMAS: Final = {
    "busy_timeout": "60000",
    "journal_mode": "WAL",
    "foreign_keys": "OFF",  # rebuilding a table would empty those that point to it
}


def read_database_url(written: str) -> URL:
    """The URL with its driver, `postgresql://` and `sqlite://` being short for it. Raises DatabaseUrlRefused."""
    try:
        url = make_url(written)
    except (ArgumentError, ValueError):
        raise DatabaseUrlRefused(part="form", received="unreadable", accepted="SCHEME://...") from None
    if url.drivername not in _DRIVERS:
        raise DatabaseUrlRefused(
            part="scheme", received=url.drivername, accepted=f"{SQLITE}:///FILE or {POSTGRESQL}://USER@HOST/NAME"
        )
    url = url.set(drivername=_DRIVERS[url.drivername])
    options = _POSTGRESQL_OPTIONS if url.drivername == POSTGRESQL else ()
    for name in url.query:
        if name not in options:
            raise DatabaseUrlRefused(part="option", received=name, accepted=", ".join(options) or "none")
    if url.drivername == SQLITE and (url.database or ":memory:").startswith((":memory:", "file:")):
        raise DatabaseUrlRefused(part="file", received=url.database or "", accepted="the path of a file")
    return url


def has_database(url: str) -> bool:
    """Whether there may be a database: a file of SQLite would be made by looking into it. Raises DatabaseUrlRefused."""
    read = read_database_url(url)
    return read.drivername != SQLITE or Path(read.database or "").is_file()


def make_engine(url: str, *, pool_size: int = 8, max_overflow: int = 8) -> AsyncEngine:
    """An engine for serving: at most `pool_size` + `max_overflow` connections in this process.

    On SQLite a commit outlives the end of this process; the last ones before a power cut may be lost, the file stays
    whole. Raises DatabaseUrlRefused, DatabaseFolderMissing.
    """
    pool = {"pool_size": pool_size, "max_overflow": max_overflow, "pool_timeout": _POOL_SECONDS}
    read = read_database_url(url)
    if read.drivername == SQLITE:
        return _sqlite_engine(read, pragmas=_PRAGMAS, options=pool)
    return _postgresql_engine(read, command_seconds=_COMMAND_SECONDS, options={**pool, "pool_pre_ping": True})


def make_migration_engine(url: str) -> AsyncEngine:
    """An engine for one migration, which may take its time. Raises DatabaseUrlRefused, DatabaseFolderMissing."""
    read = read_database_url(url)
    if read.drivername == SQLITE:
        return _sqlite_engine(read, pragmas=_MIGRATION_PRAGMAS, options={"poolclass": NullPool})
    return _postgresql_engine(read, command_seconds=None, options={"poolclass": NullPool})


def _sqlite_engine(url: URL, *, pragmas: Mapping[str, str], options: Mapping[str, Any]) -> AsyncEngine:
    file = Path(url.database or "").absolute()
    if not file.parent.is_dir():
        raise DatabaseFolderMissing(folder=str(file.parent), file=file.name)
    engine = create_async_engine(url, hide_parameters=True, **options)

    @event.listens_for(engine.sync_engine, "connect")
    def set_up(connection: DBAPIConnection, _record: object) -> None:
        _set_pragmas(connection, pragmas)

    # The driver by itself begins before a change of rows alone; reads and DDL belong into transactions too.
    @event.listens_for(engine.sync_engine, "begin")
    def begin(connection: Connection) -> None:
        now = connection.get_execution_options().get(BEGIN_NOW, False)
        connection.exec_driver_sql("BEGIN IMMEDIATE" if now else "BEGIN")

    return engine


def sqlite_connection(file: str) -> sqlite3.Connection:
    """A connection to an SQLite file beside the engine's, set up as they are, for one thread; it begins nothing."""
    connection = sqlite3.connect(file, isolation_level=None)
    _set_pragmas(connection, _PRAGMAS)
    return connection


def _set_pragmas(connection: DBAPIConnection | sqlite3.Connection, pragmas: Mapping[str, str]) -> None:
    cursor = connection.cursor()
    for name, value in pragmas.items():
        cursor.execute(f"PRAGMA {name}={value}")
    cursor.close()


def _postgresql_engine(url: URL, *, command_seconds: float | None, options: Mapping[str, Any]) -> AsyncEngine:
    asked = {name: value if isinstance(value, str) else value[-1] for name, value in url.query.items()}
    arguments: dict[str, Any] = {
        "timeout": _seconds(asked.get("connect_timeout")),
        "command_timeout": command_seconds,
        "server_settings": {"application_name": asked.get("application_name", "hooflast")},
    }
    if tls := asked.get("ssl", asked.get("sslmode")):
        arguments["ssl"] = tls
    address = url.difference_update_query([name for name in url.query if name not in ("host", "port")])
    return create_async_engine(address, hide_parameters=True, connect_args=arguments, **options)


def _seconds(written: str | None) -> float:
    if written is None:
        return _CONNECT_SECONDS
    if not written.isdecimal():
        raise DatabaseUrlRefused(part="connect_timeout", received=written, accepted="whole seconds")
    return float(written)
