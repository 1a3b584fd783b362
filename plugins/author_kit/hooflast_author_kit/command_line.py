"""Command line: begin a plugin from the template, and check one that is installed."""

import re
import sys
from importlib.resources import files
from pathlib import Path
from typing import Final

import click
import pytest

TEMPLATE: Final = {
    "pyproject.toml": "pyproject.toml.txt",
    "README.md": "README.md.txt",
    "{package}/__init__.py": "package.py.txt",
    "{package}/boots.json": "boots.json.txt",
}


@click.group()
def main() -> None:
    """For authors of Hooflast catalog plugins."""


@main.command()
@click.argument("name")
@click.argument("folder", type=click.Path(path_type=Path))
def new(name: str, folder: Path) -> None:
    """Write a plugin called NAME into FOLDER, to be changed into yours."""
    if not re.fullmatch(r"[a-z][a-z0-9-]{1,40}", name):
        raise click.BadParameter("A name is lower-case letters, digits and hyphens, beginning with a letter.")
    if folder.exists() and any(folder.iterdir()):
        raise click.BadParameter(f"{folder} is there already, and not empty.")
    package = name.replace("-", "_")
    for place, template in TEMPLATE.items():
        text = (files("hooflast_author_kit") / "template" / template).read_text(encoding="utf-8")
        file = folder / place.format(package=package)
        file.parent.mkdir(parents=True, exist_ok=True)
        file.write_text(text.replace("NAME", name).replace("PACKAGE", package), encoding="utf-8")
    click.echo(f"{folder} is a plugin that works. Install it: pip install -e {folder}")
    click.echo(f"Then see whether it does what Hooflast asks of one: hooflast-author-kit check {name}")


@main.command()
@click.argument("name")
@click.option("--settings", type=click.Path(exists=True, dir_okay=False), help="The plugin's settings, in YAML.")
def check(name: str, settings: str | None) -> None:
    """Run the conformance suite on the installed plugin NAME."""
    options = ["--pyargs", "hooflast_author_kit.suite", "--hooflast-plugin", name, "-p", "no:cacheprovider", "-q"]
    options += ["--tb=short", "--no-header", "-c", "/dev/null", "--rootdir", str(Path.cwd())]
    if settings:
        options += ["--hooflast-settings", settings]
    sys.exit(int(pytest.main(options)))
