"""Command line: begin a plugin from the template, and check one that is installed."""

import os
import re
import sys
from importlib.resources import files
from pathlib import Path
from typing import Final

import click
import pytest

from hooflast_author_kit.telling import Telling

TEMPLATES: Final = {
    "json": {
        "pyproject.toml": "pyproject.toml.txt",
        "README.md": "README.md.txt",
        "{package}/__init__.py": "package.py.txt",
        "{package}/boots.json": "boots.json.txt",
    },
    "text": {
        "pyproject.toml": "pyproject.toml.txt",
        "README.md": "README_text.md.txt",
        "plugins.yaml": "plugins.yaml.txt",
        "list.txt": "list.txt",
        "{package}/__init__.py": "package_text.py.txt",
    },
}
"""What each kind of template writes, and from which file."""


@click.group()
def main() -> None:
    """For authors of Hooflast catalog plugins."""


@main.command()
@click.argument("name")
@click.argument("folder", type=click.Path(path_type=Path))
@click.option(
    "--reads",
    type=click.Choice(list(TEMPLATES)),
    default="json",
    show_default=True,
    help="What the plugin reads: catalog files in JSON that come with it, or a text file in a format of its own.",
)
def new(*, name: str, folder: Path, reads: str) -> None:
    """Write a plugin called NAME into FOLDER, to be changed into yours."""
    if not re.fullmatch(r"[a-z][a-z0-9-]{1,40}", name):
        raise click.BadParameter("A name is lower-case letters, digits and hyphens, beginning with a letter.")
    if folder.exists() and any(folder.iterdir()):
        raise click.BadParameter(f"{folder} is there already, and not empty.")
    package = name.replace("-", "_")
    for place, template in TEMPLATES[reads].items():
        text = (files("hooflast_author_kit") / "template" / template).read_text(encoding="utf-8")
        file = folder / place.format(package=package)
        file.parent.mkdir(parents=True, exist_ok=True)
        told = text.replace("NAME", name).replace("PACKAGE", package).replace("FOLDER", folder.resolve().as_posix())
        file.write_text(told, encoding="utf-8")
    settings = f" --settings {folder / 'plugins.yaml'}" if "plugins.yaml" in TEMPLATES[reads] else ""
    click.echo(f"{folder} is a plugin that works. Install it: pip install -e {folder}")
    click.echo(f"Then see whether it does what Hooflast asks of one: hooflast-author-kit check {name}{settings}")


@main.command()
@click.argument("name")
@click.option(
    "--settings",
    type=click.Path(exists=True, dir_okay=False),
    help="The plugin's settings, or a plugins file that has them, in YAML.",
)
@click.option("--seconds", type=float, help="How long it may take each time it is asked; left out: as in the service.")
def check(*, name: str, settings: str | None, seconds: float | None) -> None:
    """Run the conformance suite on the installed plugin NAME."""
    options = ["--pyargs", "hooflast_author_kit.suite", "--hooflast-plugin", name]
    options += ["--disable-plugin-autoload", "-p", "hooflast_author_kit.pytest_plugin"]
    options += [
        "-p",
        "no:cacheprovider",
        "-p",
        "no:terminal",
        "--noconftest",
        "-c",
        os.devnull,
        "--rootdir",
        str(Path.cwd()),
    ]
    if settings:
        options += ["--hooflast-settings", settings]
    if seconds:
        options += ["--hooflast-seconds", str(seconds)]
    sys.exit(int(pytest.main(options, plugins=[Telling()])))
