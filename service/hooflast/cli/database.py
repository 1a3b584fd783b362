"""Database: its tables brought up to this version, taken back, or looked at."""

import asyncio

import click
from rich.console import Console

from hooflast.cli.speaking import Speaking, speaking


@click.group("database", help="cli.database.help")
def database() -> None:
    """Tables up and down."""


@database.command("upgrade", help="cli.database.upgrade")
@speaking
def upgrade(speak: Speaking, /) -> None:
    """Bring the tables up to this version."""
    from hooflast.store import migrations

    asyncio.run(migrations.upgrade(speak.settings.database_url))
    _tell(speak, migrations.head())


@database.command("downgrade", help="cli.database.downgrade")
@click.argument("revision")
@speaking
def downgrade(speak: Speaking, /, *, revision: str) -> None:
    """Take the tables back to a revision, or to `base`: none."""
    from hooflast.store import migrations

    asyncio.run(migrations.downgrade(speak.settings.database_url, revision))
    _tell(speak, asyncio.run(migrations.current(speak.settings.database_url)))


@database.command("current", help="cli.database.current")
@speaking
def current(speak: Speaking, /) -> None:
    """Say the tables' revision."""
    from hooflast.store import migrations

    _tell(speak, asyncio.run(migrations.current(speak.settings.database_url)))


@database.command("grant", help="cli.database.grant")
@click.argument("role")
@speaking
def grant(speak: Speaking, /, *, role: str) -> None:
    """Give a plain role what serving needs."""
    from hooflast.store.serving_role import grant_serving_rights

    asyncio.run(grant_serving_rights(speak.settings.database_url, role=role))
    Console(highlight=False, markup=False).print(speak.texts.say("cli.database.granted", {"role": role}))


def _tell(speak: Speaking, revision: str | None) -> None:
    said = "cli.database.no-tables" if revision is None else "cli.database.at"
    Console(highlight=False).print(speak.texts.say(said, {"revision": revision or ""}))
