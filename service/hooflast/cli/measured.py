"""Measured: the options by which a command is told of a horse and its hooves, and what they say in the form's words."""

import sys
from collections.abc import Callable
from functools import reduce
from pathlib import Path
from typing import Any, Final

import click

from hooflast.cli.decimals import DECIMAL
from hooflast.errors import Fault, InputRefused
from hooflast.exchange import ReadingsFormat, read_flags, read_readings
from hooflast.exchange.readings import Readings
from hooflast.fit.boot import IntendedUse
from hooflast.fit.hoof import AnimalType, Method, Observer

Command = Callable[..., Any]

FORMAT_OF_SUFFIX: Final = {
    ".json": ReadingsFormat.JSON,
    ".yaml": ReadingsFormat.YAML,
    ".yml": ReadingsFormat.YAML,
    ".csv": ReadingsFormat.CSV,
}

OF_THE_HORSE: Final = ("name", "animal_type", "girth", "build")

_TOLD: Final = (
    click.argument(
        "file", required=False, type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)
    ),
    click.option("--hoof", "hooves", multiple=True, metavar="LIMB:width=…,length=…", help="cli.match.hoof"),
    click.option("--written-as", type=click.Choice([one.value for one in ReadingsFormat]), help="cli.match.written-as"),
    click.option("--name", help="cli.match.name"),
    click.option("--animal-type", type=click.Choice([one.value for one in AnimalType]), help="cli.match.animal-type"),
    click.option("--unit", type=click.Choice(["mm", "cm", "in"]), help="cli.match.unit"),
    click.option("--method", type=click.Choice([one.value for one in Method]), help="cli.match.method"),
    click.option("--observer", type=click.Choice([one.value for one in Observer]), help="cli.match.observer"),
    click.option("--measured-on", metavar="cli.metavar.date", help="cli.match.measured-on"),
    click.option("--weeks-since-trim", type=DECIMAL, help="cli.match.weeks-since-trim"),
    click.option(
        "--use", "uses", multiple=True, type=click.Choice([one.value for one in IntendedUse]), help="cli.match.use"
    ),
    click.option("--need", "needs", multiple=True, metavar="NEED[:COURSE]", help="cli.match.need"),
)


def told_of_hooves(command: Command) -> Command:
    """Gives a command the options that tell of a horse and its hooves."""
    return reduce(lambda made, option: option(made), reversed(_TOLD), command)


def readings_told(file: Path | None, hooves: tuple[str, ...], *, written_as: ReadingsFormat | None) -> Readings:
    """The readings of a file, or those given as flags."""
    if file is None:
        return read_flags(hooves)
    if hooves:
        raise InputRefused(faults=(Fault(path=(), code="file-or-hoof", received=None),))
    raw, known = told_in(file)
    return read_readings(raw, written_as=written_as or known)


def told_in(file: Path) -> tuple[bytes, ReadingsFormat]:
    """What a file holds, or standard input for `-`, and how its name says that it is written."""
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    return raw, FORMAT_OF_SUFFIX.get(file.suffix.lower(), ReadingsFormat.JSON)


def beside_readings(told: dict[str, object]) -> dict[str, object]:
    """What was told on the command line, in the form of a match; it goes before what a file says."""
    beside = {
        name: list(value) if isinstance(value, tuple) else value
        for name, value in told.items()
        if value not in (None, ())
    }
    horse = {member: beside.pop(member) for member in OF_THE_HORSE if member in beside}
    if horse:
        beside["horse"] = horse
    if "needs" in beside:
        beside["needs"] = [_need(str(written)) for written in told["needs"]]  # type: ignore[attr-defined]
    return beside


def _need(written: str) -> dict[str, str]:
    """`heel_pain` or `heel_pain:chronic` as the form has it."""
    need, _, course = written.partition(":")
    return {"need": need, "course": course} if course else {"need": need}
