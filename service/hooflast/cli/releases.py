"""Releases: the life of a catalog release in the store: stage, check, publish, roll back, withdraw, purge, list."""

from collections.abc import Sequence
from typing import Final

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.catalog.lifecycle import Eyes, KeptRelease, WhenActive
from hooflast.catalog.naming import find_named, short_id
from hooflast.catalog.release import write_release
from hooflast.cli.check import check
from hooflast.cli.offered import ask_and_keep
from hooflast.cli.provenance import provenance
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import every_release, named, signature, signed, with_store
from hooflast.cli.telling import status_of, tell, tell_kept
from hooflast.cli.watch import watch
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.kept_release_document import kept_release_document
from hooflast.matching.publishing import publish_sealed
from hooflast.store import Store
from hooflast.texts import Texts

_RELEASE: Final = click.argument("release")
_JSON: Final = click.option("--json", "as_json", is_flag=True, help="cli.option.json")


@click.command("stage", help="cli.releases.stage.help")
@click.option("--edition", metavar="cli.metavar.date", help="cli.releases.stage.edition")
@signed
@speaking
def stage(speak: Speaking, /, *, edition: str | None, by: str | None, note: str) -> None:
    """Keep what the plugins offer, to be looked at before it is served."""
    loaded = ask_and_keep(speak)
    library = loaded.library
    release = library.active if edition is None else find_named(edition, among=library.releases)
    for report in loaded.reports:
        if wrong := len(report.faults) + (report.failure is not None):
            tell("cli.releases.plugin-left-out", {"plugin": report.plugin, "count": wrong}, speak=speak)
    written, signed_now = write_release(release), signature(by, note=note)
    tell_kept(with_store(speak, lambda store: store.releases.stage(written, signature=signed_now)), speak=speak)


@click.command("publish", help="cli.releases.publish.help")
@_RELEASE
@click.option("--four-eyes", is_flag=True, help="cli.releases.publish.four-eyes")
@signed
@speaking
def publish(speak: Speaking, /, *, release: str, four_eyes: bool, by: str | None, note: str) -> None:
    """Make a checked catalog release the active one."""

    async def take(store: Store) -> KeptRelease:
        kept = await named(store, release)
        eyes = Eyes.FOUR if four_eyes else speak.settings.publish_eyes
        return await publish_sealed(kept.id, store=store, signature=signature(by, note=note), eyes=eyes)

    tell_kept(with_store(speak, take), speak=speak)


@click.command("rollback", help="cli.releases.rollback.help")
@click.option("--to", metavar="cli.metavar.release", help="cli.releases.rollback.to")
@signed
@speaking
def rollback(speak: Speaking, /, *, to: str | None, by: str | None, note: str) -> None:
    """Make a catalog release that was published before the active one again."""

    async def take(store: Store) -> KeptRelease:
        earlier = None if to is None else (await named(store, to)).id
        return await store.releases.roll_back(to=earlier, signature=signature(by, note=note))

    tell_kept(with_store(speak, take), speak=speak)


@click.command("withdraw", help="cli.releases.withdraw.help")
@_RELEASE
@click.option("--instead", metavar="cli.metavar.release", help="cli.releases.withdraw.instead")
@click.option("--serve-none", is_flag=True, help="cli.releases.withdraw.serve-none")
@signed
@speaking
def withdraw(
    speak: Speaking, /, *, release: str, instead: str | None, serve_none: bool, by: str | None, note: str
) -> None:
    """Let a catalog release be served and pinned no more."""

    async def take(store: Store) -> KeptRelease:
        kept = await named(store, release)
        return await store.releases.withdraw(
            kept.id,
            signature=signature(by, note=note),
            instead=None if instead is None else (await named(store, instead)).id,
            when_active=WhenActive.SERVE_NONE if serve_none else WhenActive.REFUSE,
        )

    tell_kept(with_store(speak, take), speak=speak)


@click.command("purge", help="cli.releases.purge.help")
@_RELEASE
@signed
@speaking
def purge(speak: Speaking, /, *, release: str, by: str | None, note: str) -> None:
    """Erase the content of a withdrawn catalog release for good."""

    async def take(store: Store) -> KeptRelease:
        kept = await named(store, release)
        return await store.releases.purge(kept.id, signature=signature(by, note=note))

    tell_kept(with_store(speak, take), speak=speak)


@click.command("list", help="cli.releases.list.help")
@_JSON
@speaking
def list_releases(speak: Speaking, /, *, as_json: bool) -> None:
    """Every catalog release that is kept, newest day first."""
    found = with_store(speak, every_release)
    if as_json:
        click.echo(b"[" + b",".join(encode(kept_release_document(one)) for one in found) + b"]")
    else:
        _print_releases(found, speak.texts)


COMMANDS: Final = (stage, check, publish, rollback, withdraw, purge, list_releases, watch, provenance)


def _print_releases(found: Sequence[KeptRelease], texts: Texts) -> None:
    table = Table()
    for column in ("edition", "release", "status", "author", "last-step"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold", no_wrap=column in ("edition", "release"))
    for kept in found:
        last = kept.steps[-1]
        step = f"{texts.say(f'step.{last.step}')} {last.signature.at:%Y-%m-%d %H:%M} {last.signature.by}"
        table.add_row(
            Text(kept.edition),
            Text(short_id(kept.id)),
            Text(status_of(kept, texts=texts), style="bold" if kept.is_active else ""),
            Text(kept.author),
            Text(step),
        )
    _console().print(table)


def _console() -> Console:
    return Console(highlight=False, soft_wrap=True)
