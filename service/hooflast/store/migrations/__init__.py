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
from alembic.util import CommandError
from sqlalchemy import Connection, text
from sqlalchemy.ext.asyncio import AsyncConnection

from hooflast.errors import NotFound
from hooflast.store.engine import BEGIN_NOW, make_migration_engine
from hooflast.store.errors import SchemaNotCurrent, StoreUnavailable
from hooflast.store.locks import Lock, wait_for
from hooflast.store.sessions import database_errors

HEAD: Final = "head"
"""The newest revision."""
BASE: Final = "base"
"""The revision before the first: no tables."""


async def upgrade(url: str, revision: str = HEAD) -> None:
    """Bring the tables at `url` up to `revision`; nothing happens if they are there.

    Raises StoreUnavailable, SchemaNotCurrent if a later version of Hooflast made the tables, NotFound.
    """
    if revision == HEAD and await current(url) == head():
        return
    await _alone(url, step=command.upgrade, revision=revision)


async def downgrade(url: str, revision: str) -> None:
    """Take the tables at `url` back to `revision`, or to BASE. Rows that only later tables hold are lost.

    Raises StoreUnavailable, SchemaNotCurrent if a later version of Hooflast made the tables, NotFound.
    """
    await _alone(url, step=command.downgrade, revision=revision)


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
    return _revisions()[0]


async def revision_of(connection: AsyncConnection) -> str | None:
    """The revision of the tables that `connection` reaches."""
    return await connection.run_sync(lambda sync: MigrationContext.configure(sync).get_current_revision())


async def _alone(url: str, *, step: Callable[[Config, str], None], revision: str) -> None:
    engine = make_migration_engine(url)
    try:
        with database_errors():
            async with engine.execution_options(**{BEGIN_NOW: True}).begin() as connection:
                await connection.run_sync(_take, step=step, revision=revision)
    finally:
        await engine.dispose()


def _take(connection: Connection, *, step: Callable[[Config, str], None], revision: str) -> None:
    wait_for(Lock.MIGRATION, connection=connection)
    found = MigrationContext.configure(connection).get_current_revision()
    if found is not None and found not in _revisions():
        raise SchemaNotCurrent(found=found, expected=head())
    config = _config()
    config.attributes["connection"] = connection
    try:
        step(config, revision)
    except CommandError as error:
        raise NotFound(resource="revision of the tables", name=revision) from error
    if connection.dialect.name == "sqlite" and (lost := connection.execute(text("PRAGMA foreign_key_check")).all()):
        raise StoreUnavailable(reason=f"the migration would leave {len(lost)} rows pointing to nothing")


@cache
def _revisions() -> tuple[str, ...]:
    """Every revision that this version knows, newest first."""
    return tuple(script.revision for script in ScriptDirectory.from_config(_config()).walk_revisions())


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", str(Path(__file__).parent).replace("%", "%%"))
    return config
