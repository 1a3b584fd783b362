"""Herd: the options by which a command is told of a herd and of the boot models in question."""

from collections.abc import Callable, Mapping
from functools import reduce
from pathlib import Path
from typing import Any, Final

import click

from hooflast.catalog.values import LimbSet
from hooflast.cli.measured import told_in
from hooflast.exchange import ReadingsFormat
from hooflast.exchange.herd_readings import HerdReadings, read_herd
from hooflast.fit.boot import IntendedUse
from hooflast.fit.hoof import Method, Observer

Command = Callable[..., Any]

_TOLD: Final = (
    click.argument(
        "file", required=False, type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)
    ),
    click.option("--kind", "kinds", multiple=True, metavar="ANIMAL_TYPE[:WEIGHT]", help="cli.trial-set.kind"),
    click.option("--written-as", type=click.Choice([one.value for one in ReadingsFormat]), help="cli.match.written-as"),
    click.option("--unit", type=click.Choice(["mm", "cm", "in"]), help="cli.match.unit"),
    click.option("--method", type=click.Choice([one.value for one in Method]), help="cli.match.method"),
    click.option("--observer", type=click.Choice([one.value for one in Observer]), help="cli.match.observer"),
    click.option("--limbs", type=click.Choice([one.value for one in LimbSet]), help="cli.trial-set.limbs"),
    click.option("--maker", "makers", multiple=True, help="cli.trial-set.maker"),
    click.option("--boot", "boots", multiple=True, help="cli.trial-set.boot"),
    click.option(
        "--use", "uses", multiple=True, type=click.Choice([one.value for one in IntendedUse]), help="cli.match.use"
    ),
)


def told_of_a_herd(command: Command) -> Command:
    """Gives a command the options that tell of a herd."""
    return reduce(lambda made, option: option(made), reversed(_TOLD), command)


def herd_told(file: Path | None, *, written_as: str | None) -> HerdReadings:
    """The herd of a file; an empty form where there is none."""
    if file is None:
        return HerdReadings(document={})
    raw, known = told_in(file)
    return read_herd(raw, written_as=ReadingsFormat(written_as) if written_as else known)


def beside_herd(told: Mapping[str, object]) -> dict[str, object]:
    """What was told on the command line, in the form's words; it goes before what a file says."""
    beside = {name: list(value) if isinstance(value, tuple) else value for name, value in told.items() if value}
    if "kinds" in beside:
        beside["kinds"] = [_kind(str(written)) for written in told["kinds"]]  # type: ignore[attr-defined]
    return beside


def _kind(written: str) -> dict[str, object]:
    """`pony` or `pony:3` as the form has it."""
    kind, _, weight = written.partition(":")
    if not weight:
        return {"animal_type": kind}
    try:
        return {"animal_type": kind, "weight": float(weight)}
    except ValueError:
        return {"animal_type": kind, "weight": weight}
