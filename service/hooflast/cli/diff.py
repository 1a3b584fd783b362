"""Diff: what changed between two catalog releases, and for which horses of a file that makes a difference."""

from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

import click
from rich.console import Console

from hooflast.catalog.comparing import compare_releases
from hooflast.catalog.naming import find_named
from hooflast.catalog.values import CatalogRelease
from hooflast.cli.change_tables import print_changes, print_effects
from hooflast.cli.offered import library_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import named, with_store
from hooflast.exchange.answer_parts import Document, encode
from hooflast.exchange.changes_document import RecordChangeDocument, change_document
from hooflast.exchange.effects_document import ReleaseEffectsDocument, effects_document
from hooflast.exchange.horse_file import HorsesFormat, read_horses
from hooflast.matching.question import MatchQuestion
from hooflast.matching.release_effects import answer_effects, release_effects
from hooflast.matching.shelf import lay_out
from hooflast.store import Store

FORMAT_OF_SUFFIX: Final = {
    ".json": HorsesFormat.JSON,
    ".yaml": HorsesFormat.YAML,
    ".yml": HorsesFormat.YAML,
    ".ndjson": HorsesFormat.NDJSON,
    ".jsonl": HorsesFormat.NDJSON,
}


class DiffDocument(Document, frozen=True):
    """What changed, and for whom, where horses were handed in."""

    since: str
    catalog_release: str
    changes: list[RecordChangeDocument]
    effects: ReleaseEffectsDocument | None


@click.command("diff", help="cli.diff.help")
@click.argument("old")
@click.argument("new")
@click.option("--stored", is_flag=True, help="cli.diff.stored")
@click.option(
    "--horses",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    metavar="cli.metavar.file",
    help="cli.diff.horses",
)
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def diff(speak: Speaking, /, *, old: str, new: str, stored: bool, horses: Path | None, as_json: bool) -> None:
    """Compare two catalog releases."""
    today = datetime.now(UTC).date()
    asked = None if horses is None else _horses(horses, today=today)
    before, after = _stored(old, new, speak=speak) if stored else _offered(old, new, speak=speak)
    if as_json:
        click.echo(encode(_document(before, after, asked=asked, today=today, speak=speak)))
        return
    console = Console(highlight=False, soft_wrap=True)
    print_changes(compare_releases(before, after), speak.texts, console=console)
    if asked is not None:
        effects = release_effects(asked, old=lay_out(before), new=lay_out(after), today=today)
        print_effects(effects, speak.texts, console=console)


def _horses(file: Path, *, today: date) -> tuple[MatchQuestion, ...]:
    written_as = FORMAT_OF_SUFFIX.get(file.suffix.lower(), HorsesFormat.NDJSON)
    return read_horses(file.read_bytes(), written_as=written_as, today=today)


def _offered(old: str, new: str, *, speak: Speaking) -> tuple[CatalogRelease, CatalogRelease]:
    """Two of the catalog releases that the installed plugins make up."""
    releases = library_of(speak).releases
    return find_named(old, among=releases), find_named(new, among=releases)


def _stored(old: str, new: str, *, speak: Speaking) -> tuple[CatalogRelease, CatalogRelease]:
    """Two of the catalog releases in the store."""

    async def read(store: Store) -> tuple[CatalogRelease, CatalogRelease]:
        before, after = await named(store, old), await named(store, new)
        return await store.releases.read(before.id), await store.releases.read(after.id)

    return with_store(speak, read)


def _document(
    before: CatalogRelease,
    after: CatalogRelease,
    *,
    asked: tuple[MatchQuestion, ...] | None,
    today: date,
    speak: Speaking,
) -> DiffDocument:
    effects = None
    if asked is not None:
        found = answer_effects(
            asked, old=lay_out(before), new=lay_out(after), today=today, language=speak.texts.language
        )
        effects = effects_document(found, texts=speak.texts)
    return DiffDocument(
        since=before.id,
        catalog_release=after.id,
        changes=[change_document(one) for one in compare_releases(before, after).records],
        effects=effects,
    )
