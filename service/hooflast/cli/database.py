"""Database: its tables brought up to this version, taken back, or looked at; and the whole of it backed up."""

import asyncio
from pathlib import Path

import click
from rich.console import Console

from hooflast.cli.speaking import Speaking, speaking
from hooflast.errors import Fact


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


@database.command("backup", help="cli.database.backup")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False))
@speaking
def backup(speak: Speaking, /, *, file: Path) -> None:
    """Write the whole database to a file, while it is served from."""
    from hooflast.store.backups import back_up

    size = back_up(speak.settings.database_url, to=file)
    _say("cli.database.backed-up", {"file": str(file), "bytes": size}, speak=speak)


@database.command("restore", help="cli.database.restore")
@click.argument("file", type=click.Path(path_type=Path, dir_okay=False, exists=True))
@click.option("--yes", is_flag=True, help="cli.database.restore.yes")
@speaking
def restore(speak: Speaking, /, *, file: Path, yes: bool) -> None:
    """Put a backup in the place of everything in the database."""
    from hooflast.store.backups import restore as put_back

    if not yes:
        click.confirm(speak.texts.say("cli.database.restore.sure", {"file": str(file)}), abort=True)
    put_back(speak.settings.database_url, backup=file)
    _say("cli.database.restored", {"file": str(file)}, speak=speak)


def _say(key: str, facts: dict[str, Fact], *, speak: Speaking) -> None:
    Console(highlight=False, markup=False, soft_wrap=True).print(speak.texts.say(key, facts))


def _tell(speak: Speaking, revision: str | None) -> None:
    said = "cli.database.no-tables" if revision is None else "cli.database.at"
    Console(highlight=False).print(speak.texts.say(said, {"revision": revision or ""}))
