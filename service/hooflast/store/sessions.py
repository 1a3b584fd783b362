"""Sessions: transactions that belong to one tenant, and database errors turned into errors of the store.

On PostgreSQL every transaction tells row-level security whose it is, for that transaction only, so that nothing leaks
through the pool. SQLite has no such wall: the tenant filter in every query is the first wall on both.
"""

import sqlite3
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager, contextmanager
from typing import Final

from sqlalchemy import Connection, event, text
from sqlalchemy.exc import DatabaseError, DBAPIError, OperationalError, ProgrammingError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError
from sqlalchemy.ext.asyncio import AsyncEngine, AsyncSession, async_sessionmaker
from sqlalchemy.orm import Session, SessionTransaction

from hooflast.store.engine import BEGIN_NOW
from hooflast.store.errors import StoreUnavailable
from hooflast.store.values import TenantId

_TENANT: Final = "tenant"
_NOBODY: Final = ""
_SET_TENANT: Final = text("select set_config('app.tenant', :tenant, true)")
_UNAVAILABLE: Final = ("08", "25006", "28", "3D", "40", "42", "53", "55", "57", "58", "XX")
"""SQLSTATEs, or how they begin, that are the database's fault or its operator's, and no row's."""


class TenantSession(Session):
    """A session that says whose it is whenever a transaction begins."""


@event.listens_for(TenantSession, "after_begin")
def _tell_tenant(session: Session, _transaction: SessionTransaction, connection: Connection) -> None:
    set_tenant(connection, session.info.get(_TENANT, _NOBODY))


def set_tenant(connection: Connection, tenant: str) -> None:
    """Let row-level security show `tenant`'s rows alone, until this transaction ends."""
    if connection.dialect.name == "postgresql":
        connection.execute(_SET_TENANT, {"tenant": tenant})


class Sessions:
    """Opens transactions on one engine; each commits at its end, or rolls back on an error."""

    def __init__(self, engine: AsyncEngine) -> None:
        writing = engine.execution_options(**{BEGIN_NOW: True})
        self._reading = async_sessionmaker(engine, sync_session_class=TenantSession, expire_on_commit=False)
        self._writing = async_sessionmaker(writing, sync_session_class=TenantSession, expire_on_commit=False)

    @asynccontextmanager
    async def reading(self, *, tenant: TenantId | None = None) -> AsyncIterator[AsyncSession]:
        """A transaction that only reads, for `tenant` or for nobody."""
        with database_errors():
            async with self._reading(info={_TENANT: tenant or _NOBODY}) as session, session.begin():
                yield session

    @asynccontextmanager
    async def writing(self, *, tenant: TenantId | None = None) -> AsyncIterator[AsyncSession]:
        """A transaction that writes, for `tenant` or for nobody."""
        with database_errors():
            async with self._writing(info={_TENANT: tenant or _NOBODY}) as session, session.begin():
                yield session


async def hold_still(session: AsyncSession) -> None:
    """Let a transaction that has begun nothing yet read all it reads as it was at one moment, as SQLite does anyway."""
    if session.get_bind().dialect.name == "postgresql":
        await session.connection(execution_options={"isolation_level": "REPEATABLE READ"})


@contextmanager
def database_errors() -> Iterator[None]:
    """Turn "the database does not answer, or refuses us" into StoreUnavailable; what a row caused passes through."""
    try:
        yield
    except DBAPIError as error:
        if not _is_unavailability(error):
            raise
        raise StoreUnavailable(reason=_in_one_line(error.orig or error)) from error
    except (OSError, PoolTimeoutError) as error:
        raise StoreUnavailable(reason=_in_one_line(error)) from error
    except Exception as error:
        # A refusal while connecting reaches us as the driver made it.
        refused = str(getattr(error, "sqlstate", None) or "none").startswith(_UNAVAILABLE)
        if not (refused or isinstance(error, sqlite3.DatabaseError)):
            raise
        raise StoreUnavailable(reason=_in_one_line(error)) from error


def _is_unavailability(error: DBAPIError) -> bool:
    sqlstate = getattr(error.orig, "sqlstate", None)
    if sqlstate is not None:
        return str(sqlstate).startswith(_UNAVAILABLE)
    return error.connection_invalidated or type(error) in (DatabaseError, OperationalError, ProgrammingError)


def _in_one_line(error: BaseException) -> str:
    return " ".join(f"{type(error).__name__}: {error}".split())
