"""Present: where an old size, or an old boot model, leads today."""

from datetime import UTC, datetime

import click
from rich.console import Console
from rich.text import Text

from hooflast.catalog.availability import Step, find_present, size_called
from hooflast.catalog.values import BootModel, CatalogRelease
from hooflast.cli.offered import library_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.errors import NotFound
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.present_document import present_document


@click.command("present", help="cli.catalog.present.help")
@click.argument("boot")
@click.argument("size", required=False)
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def present(speak: Speaking, /, *, boot: str, size: str | None, as_json: bool) -> None:
    """Lead an old size to its present one."""
    release, today = library_of(speak).active, datetime.now(UTC).date()
    model = find_boot(release, boot)
    known = None if size is None else size_called(model, size)
    if size is not None and known is None:
        raise NotFound(resource="size", name=f"{model.name} {size}")
    found = find_present(release, boot=model, size=known, day=today)
    if as_json:
        click.echo(encode(present_document(found, release=release, day=today, texts=speak.texts)))
        return
    console = Console(highlight=False, soft_wrap=True)
    console.print(Text(" → ".join(_step(step, release=release) for step in found.steps)))
    console.print(Text(speak.texts.say(f"present.{found.status}")))


def find_boot(release: CatalogRelease, name: str) -> BootModel:
    """The boot model of that id or name. Raises NotFound."""
    for boot_id, model in release.boots.items():
        if name in (boot_id, model.name):
            return model
    raise NotFound(resource="boot model", name=name)


def _step(step: Step, *, release: CatalogRelease) -> str:
    named = f"{release.makers[step.boot.maker].name} {step.boot.name}"
    return named if step.size is None else f"{named} {step.size.code}"
