"""Catalog: the boot models and accessories that the installed plugins offer, and the plugins themselves."""

import json

import click
from rich.console import Console

from hooflast.catalog.values import Accessory, BootModel, CatalogRelease, Range
from hooflast.cli.accessory_tables import (
    going_with,
    plain_accessory,
    print_accessories,
    print_accessory,
    print_what_goes_with,
)
from hooflast.cli.diff import diff
from hooflast.cli.offered import ask_and_keep, library_of
from hooflast.cli.plugin_tables import plain_report, print_plugins, print_rows
from hooflast.cli.present import present
from hooflast.cli.releases import COMMANDS
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_boot, print_boots
from hooflast.errors import NotFound
from hooflast.units import Unit


@click.group("catalog", help="cli.catalog.help")
def catalog() -> None:
    """Look at the catalog."""


for command in (*COMMANDS, diff, present):
    catalog.add_command(command)


@catalog.command("show", help="cli.catalog.show.help")
@click.argument("product", required=False)
@click.option("--release", "release_id", help="cli.catalog.show.release")
@click.option(
    "--unit", type=click.Choice([one.value for one in Unit]), default=Unit.MM.value, help="cli.catalog.show.unit"
)
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def show(speak: Speaking, /, *, product: str | None, release_id: str | None, unit: str, as_json: bool) -> None:
    """Show all boot models and accessories of a catalog release, or one with its sizes."""
    texts = speak.texts.in_unit(Unit(unit))
    library = library_of(speak)
    release = library.active if release_id is None else library.release(release_id)
    console = Console()
    found = None if product is None else _find(release, product)
    if as_json:
        click.echo(json.dumps(_plain_release(release, shown=found), indent=2))
    elif found is None:
        print_boots(release, texts, console=console)
        print_accessories(release, texts, console=console)
    elif isinstance(found, Accessory):
        print_accessory(found, release=release, texts=texts, console=console)
    else:
        print_boot(found, release=release, texts=texts, console=console)
        print_what_goes_with(found, release=release, texts=texts, console=console)


@click.command("plugins", help="cli.plugins.help")
@click.option("--rows", is_flag=True, help="cli.plugins.rows")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def plugins(speak: Speaking, /, *, rows: bool, as_json: bool) -> None:
    """List the catalog plugins: name, version, editions offered, what went wrong."""
    loaded = ask_and_keep(speak)
    if as_json:
        plain = [plain_report(report, texts=speak.texts) for report in loaded.reports]
        click.echo(json.dumps(plain, indent=2))
    else:
        print_plugins(loaded.reports, speak.texts, console=Console())
    if rows and not as_json:
        print_rows(loaded.reports, speak.texts, console=Console())


def _find(release: CatalogRelease, name: str) -> BootModel | Accessory:
    """The boot model or accessory of that id or name. Raises NotFound."""
    products: list[BootModel | Accessory] = [*release.boots.values(), *release.accessories.values()]
    for product in products:
        if name in (product.id, product.name):
            return product
    raise NotFound(resource="boot model or accessory", name=name)


def _plain_release(release: CatalogRelease, *, shown: BootModel | Accessory | None) -> dict[str, object]:
    """What is shown of a catalog release: all of it, an accessory, or a boot model with what goes with it."""
    boots, accessories = list(release.boots.values()), list(release.accessories.values())
    if isinstance(shown, Accessory):
        boots, accessories = [], [shown]
    elif shown is not None:
        boots, accessories = [shown], going_with(shown, release=release)
    return {
        "catalog_release": release.id,
        "boots": [_plain(model) for model in boots],
        "accessories": [plain_accessory(one, boots=release.boots) for one in accessories],
    }


def _plain(model: BootModel) -> dict[str, object]:
    return {
        "id": model.id,
        "maker": model.maker,
        "name": model.name,
        "closure": model.closure,
        "shape": model.shape,
        "limbs": model.limbs,
        "animal_types": sorted(model.animal_types),
        "intended_uses": sorted(model.intended_uses),
        "sizes": [
            {"code": size.code, "width_mm": _pair(size.width), "length_mm": _pair(size.length)} for size in model.sizes
        ],
    }


def _pair(printed: Range | None) -> list[float] | None:
    return None if printed is None else [printed.low_mm, printed.high_mm]
