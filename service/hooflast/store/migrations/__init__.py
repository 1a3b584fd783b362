"""Migrations: how the tables came to be, step by step, up and down.

`upgrade`, `downgrade`, `current` and `head` are all there is to call. Every call is one transaction that either
happens whole or not at all, and one process at a time: a second one that starts meanwhile waits, then finds nothing
left to do.

Each file in `versions` has one purpose, a dated name, and says in words what it does; `schema` steps and steps over
data (`move_rows_up`, `move_rows_down`) are functions apart. It imports nothing from Hooflast: what it does must not
change when the table classes do. Once published, a file is never edited.

A table that holds tenants' rows is put behind row-level security where it is made. FORCE holds for the owner too, so a
step over data in such a table sees no row on PostgreSQL unless it runs between
`ALTER TABLE ... NO FORCE ROW LEVEL SECURITY` and `ALTER TABLE ... FORCE ROW LEVEL SECURITY`. Tables of SQLite are
altered with `op.batch_alter_table`.
"""

from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Final

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import Connection, text
from sqlalchemy.ext.asyncio import AsyncConnection

from hooflast.store.engine import BEGIN_NOW, make_migration_engine
from hooflast.store.errors import StoreUnavailable
from hooflast.store.locks import Lock, wait_for
from hooflast.store.sessions import database_errors

BASE: Final = "base"
"""The revision before the first: no tables."""


async def upgrade(url: str, revision: str = "head") -> None:
    """Bring the tables at `url` up to `revision`; nothing happens if they are there. Raises StoreUnavailable."""
    if revision == "head" and await current(url) == head():
        return
    await _alone(url, step=lambda config: command.upgrade(config, revision))


async def downgrade(url: str, revision: str) -> None:
    """Take the tables at `url` back to `revision`, or to BASE. Rows that only later tables hold are lost."""
    await _alone(url, step=lambda config: command.downgrade(config, revision))


async def current(url: str) -> str | None:
    """The revision of the tables at `url`; None if there are none yet. Raises StoreUnavailable."""
    engine = make_migration_engine(url)
    try:
        with database_errors():
            async with engine.connect() as connection:
                return await revision_of(connection)
    finally:
        await engine.dispose()


@cache
def head() -> str:
    """The revision that this version of Hooflast needs."""
    revision = ScriptDirectory.from_config(_config()).get_current_head()
    if revision is None:
        raise RuntimeError("the package came without its migrations")
    return revision


async def revision_of(connection: AsyncConnection) -> str | None:
    """The revision of the tables that `connection` reaches."""
    return await connection.run_sync(lambda sync: MigrationContext.configure(sync).get_current_revision())


async def _alone(url: str, *, step: Callable[[Config], None]) -> None:
    engine = make_migration_engine(url)
    try:
        with database_errors():
            async with engine.execution_options(**{BEGIN_NOW: True}).begin() as connection:
                await connection.run_sync(_take, step)
    finally:
        await engine.dispose()


def _take(connection: Connection, step: Callable[[Config], None]) -> None:
    wait_for(Lock.MIGRATION, connection=connection)
    config = _config()
    config.attributes["connection"] = connection
    step(config)
    if connection.dialect.name == "sqlite" and (lost := connection.execute(text("PRAGMA foreign_key_check")).all()):
        raise StoreUnavailable(reason=f"the migration would leave {len(lost)} rows pointing to nothing")


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    return config
