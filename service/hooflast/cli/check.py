"""Check: a catalog release, what the plugins offer, or a file, validated and told: as text, JSON or a page."""

import hashlib
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from enum import StrEnum
from itertools import groupby
from pathlib import Path
from typing import Final

import click
from rich.console import Console
from rich.text import Text

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.naming import find_named
from hooflast.catalog.placing import files_of
from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.reading import read_files
from hooflast.catalog.release import compose_release
from hooflast.catalog.validation import Grade, Validation, validate
from hooflast.cli.change_tables import print_counts
from hooflast.cli.offered import ask_and_keep
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.stored import active_content, named, signature, signed, with_store, with_store_if_ready
from hooflast.cli.telling import tell_kept
from hooflast.errors import InputRefused
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.validation_document import PointDocument, ValidationDocument, validation_document
from hooflast.store import Store
from hooflast.texts import Texts


class ReportFormat(StrEnum):
    """How a report is written."""

    TEXT = "text"
    JSON = "json"
    HTML = "html"


MARK_OF: Final = {Grade.ERROR: "✗", Grade.WARNING: "!", Grade.NOTE: "?"}
STYLE_OF: Final = {Grade.ERROR: "bold red", Grade.WARNING: "yellow", Grade.NOTE: ""}
FROM_FILES: Final = "file"


@click.command("check", help="cli.releases.check.help")
@click.argument("release", required=False)
@click.option("--offered", is_flag=True, help="cli.check.offered")
@click.option("--edition", metavar="cli.metavar.date", help="cli.check.edition")
@click.option(
    "--file",
    "files",
    multiple=True,
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="cli.check.file",
)
@click.option("--format", "written_as", type=click.Choice([one.value for one in ReportFormat]), help="cli.check.format")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@click.option("-o", "--output", type=click.Path(dir_okay=False, writable=True, path_type=Path), help="cli.check.output")
@signed
@speaking
def check(
    speak: Speaking,
    /,
    *,
    release: str | None,
    offered: bool,
    edition: str | None,
    files: tuple[Path, ...],
    written_as: str | None,
    as_json: bool,
    output: Path | None,
    by: str | None,
    note: str,
) -> None:
    """Validate, tell what was found, and, of a catalog release in the store, note that this was done."""
    if (release is not None) + offered + bool(files) != 1:
        raise click.UsageError(speak.texts.say("cli.check.which"))
    kept = None
    if release is not None:
        validation, kept = _of_stored(release, speak=speak, by=by, note=note)
    elif offered:
        validation = _of_offered(edition, speak=speak)
    else:
        validation = _of_files(files, speak=speak)
    form = ReportFormat.JSON if as_json else ReportFormat(written_as or ReportFormat.TEXT)
    WRITERS[form](validation, output, speak=speak)
    if output is not None:
        _console().print(Text(speak.texts.say("cli.check.written", {"file": str(output)})))
    if kept is not None and (form is ReportFormat.TEXT or output is not None):
        tell_kept(kept, speak=speak)
    if validation.count(Grade.ERROR):
        click.get_current_context().exit(1)


def _of_stored(release: str, *, speak: Speaking, by: str | None, note: str) -> tuple[Validation, KeptRelease]:
    """A catalog release in the store, read again and seen beside the active one."""

    async def look(store: Store) -> tuple[Validation, KeptRelease]:
        content = await store.releases.read((await named(store, release)).id)
        found = validate(content, active=await active_content(store))
        report = encode(validation_document(found, texts=speak.texts))
        return found, await store.releases.mark_checked(content.id, report=report, signature=signature(by, note=note))

    return with_store(speak, look)


def _of_offered(edition: str | None, *, speak: Speaking) -> Validation:
    """What the plugins offer: all their faults, and the doubts about one edition."""
    loaded = ask_and_keep(speak)
    releases = loaded.library.releases
    release = find_named(edition, among=releases) if edition else (releases[-1] if releases else None)
    active = with_store_if_ready(speak, active_content)
    return validate(release, active=active, plugins=loaded.reports, files=loaded.files)


def _of_files(files: Sequence[Path], *, speak: Speaking) -> Validation:
    """Catalog files of one edition, as they are."""
    today = datetime.now(UTC).date()
    read = [_file(path, retrieved_on=today) for path in files]
    active = with_store_if_ready(speak, active_content)
    try:
        records = read_files(read, plugin=FROM_FILES)
    except InputRefused as refused:
        report = PluginReport(plugin=FROM_FILES, version="", refused=(today,), faults=refused.faults)
        return validate(None, plugins=[report])
    return validate(compose_release(records, released_on=today, note=""), active=active, files=files_of(read))


def _file(path: Path, *, retrieved_on: date) -> CatalogFile:
    content = path.read_bytes()
    return CatalogFile(
        source=str(path),
        retrieved_on=retrieved_on,
        content=content,
        sha256=hashlib.sha256(content).hexdigest(),
    )


def _write_json(validation: Validation, output: Path | None, *, speak: Speaking) -> None:
    written = encode(validation_document(validation, texts=speak.texts))
    if output is None:
        click.echo(written)
    else:
        output.write_bytes(written + b"\n")


def _write_html(validation: Validation, output: Path | None, *, speak: Speaking) -> None:
    from hooflast.api.pages.validation import validation_page  # the other forms do without the web

    written = validation_page(validation, texts=speak.texts)
    if output is None:
        click.echo(written)
    else:
        output.write_text(written, encoding="utf-8")


def _write_text(validation: Validation, output: Path | None, *, speak: Speaking) -> None:
    document = validation_document(validation, texts=speak.texts)
    if output is None:
        _print(document, validation, texts=speak.texts, console=_console())
        return
    with output.open("w", encoding="utf-8") as file:
        console = Console(file=file, highlight=False, soft_wrap=True, width=200)
        _print(document, validation, texts=speak.texts, console=console)


WRITERS: Final[dict[ReportFormat, Callable[..., None]]] = {
    ReportFormat.TEXT: _write_text,
    ReportFormat.JSON: _write_json,
    ReportFormat.HTML: _write_html,
}


def _print(document: ValidationDocument, validation: Validation, *, texts: Texts, console: Console) -> None:
    """By severity, then by source: every point on a line of its own."""
    if validation.changes is not None:
        print_counts(validation.changes, texts, console=console)
    for severity, points in groupby(document.points, key=lambda point: point.severity):
        in_order = sorted(points, key=lambda point: (point.plugin, point.source))
        for source, together in groupby(in_order, key=_source):
            console.print(Text(f"{source or texts.say('page.validation.whole')}", style="bold"))
            for point in together:
                console.print(Text(f"{MARK_OF[severity]} {_line(point)}", style=STYLE_OF[severity]))
    if not document.points:
        console.print(Text(texts.say("cli.check.clean")))
        return
    facts = {"errors": document.errors, "warnings": document.warnings, "notes": document.notes}
    console.print(Text(texts.say("cli.check.about", facts)))


def _source(point: PointDocument) -> str:
    return ": ".join(part for part in (point.plugin, point.source) if part)


def _line(point: PointDocument) -> str:
    return " ".join(part for part in (point.record, point.place, point.text, point.accepted) if part)


def _console() -> Console:
    return Console(highlight=False, soft_wrap=True)
