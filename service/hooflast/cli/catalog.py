"""Catalog: the catalog releases, boot models and sizes that the installed plugins offer, and the plugins themselves."""

import json

import click
from rich.console import Console

from hooflast.catalog.loading import LoadedCatalog
from hooflast.catalog.values import BootModel, Range
from hooflast.cli.diff import diff
from hooflast.cli.offered import ask_and_keep, library_of
from hooflast.cli.present import find_boot, present
from hooflast.cli.releases import COMMANDS
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_boot, print_boots, print_plugins, print_rows


@click.group("catalog", help="cli.catalog.help")
def catalog() -> None:
    """Look at the catalog."""


for command in (*COMMANDS, diff, present):
    catalog.add_command(command)


@catalog.command("show", help="cli.catalog.show.help")
@click.argument("boot", required=False)
@click.option("--release", "release_id", help="cli.catalog.show.release")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def show(speak: Speaking, /, *, boot: str | None, release_id: str | None, as_json: bool) -> None:
    """Show all boot models of a catalog release, or one with its sizes."""
    library = library_of(speak)
    release = library.active if release_id is None else library.release(release_id)
    shown = list(release.boots.values()) if boot is None else [find_boot(release, boot)]
    if as_json:
        click.echo(json.dumps({"catalog_release": release.id, "boots": [_plain(model) for model in shown]}, indent=2))
    elif boot is None:
        print_boots(release, speak.texts, console=Console())
    else:
        print_boot(shown[0], release=release, texts=speak.texts, console=Console())


@click.command("plugins", help="cli.plugins.help")
@click.option("--rows", is_flag=True, help="cli.plugins.rows")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def plugins(speak: Speaking, /, *, rows: bool, as_json: bool) -> None:
    """List the catalog plugins: name, version, editions offered, what went wrong."""
    loaded = ask_and_keep(speak)
    if as_json:
        click.echo(json.dumps(_plain_reports(loaded), indent=2))
    else:
        print_plugins(loaded.reports, speak.texts, console=Console())
    if rows and not as_json:
        print_rows(loaded.reports, speak.texts, console=Console())


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


def _plain_reports(loaded: LoadedCatalog) -> list[dict[str, object]]:
    return [
        {
            "plugin": report.plugin,
            "version": report.version,
            "editions": [day.isoformat() for day in report.editions],
            "refused": [day.isoformat() for day in report.refused],
            "faults": [f"{fault.pointer}: {fault.code}" for fault in report.faults],
            "waits_for": list(report.waits_for),
            "rows": [{"place": row.place, "fate": row.fate, "why": row.why} for row in report.rows],
            "failure": report.failure.reason if report.failure else None,
        }
        for report in loaded.reports
    ]
