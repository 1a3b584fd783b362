"""Match: one horse matched on this machine, without a service; nothing is kept and no receipt is signed."""

import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click
from rich.console import Console

from hooflast.catalog.loading import load_catalog
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_match
from hooflast.exchange import ReadingsFormat, read_flags, read_readings, write_match_answer
from hooflast.exchange.readings import Readings
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.girth import Build
from hooflast.fit.hoof import AnimalType, Method, Observer
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import TryFrom
from hooflast.matching.shelf import lay_out

FORMAT_OF_SUFFIX: Final = {
    ".json": ReadingsFormat.JSON,
    ".yaml": ReadingsFormat.YAML,
    ".yml": ReadingsFormat.YAML,
    ".csv": ReadingsFormat.CSV,
}

OF_THE_HORSE: Final = ("name", "animal_type", "girth", "build")


@click.command("match", help="cli.match.help")
@click.argument("file", required=False, type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--hoof", "hooves", multiple=True, metavar="LIMB:width=…,length=…", help="cli.match.hoof")
@click.option("--written-as", type=click.Choice([one.value for one in ReadingsFormat]), help="cli.match.written-as")
@click.option("--name", help="cli.match.name")
@click.option("--animal-type", type=click.Choice([one.value for one in AnimalType]), help="cli.match.animal-type")
@click.option("--unit", type=click.Choice(["mm", "cm", "in"]), help="cli.match.unit")
@click.option("--method", type=click.Choice([one.value for one in Method]), help="cli.match.method")
@click.option("--observer", type=click.Choice([one.value for one in Observer]), help="cli.match.observer")
@click.option("--measured-on", metavar="YYYY-MM-DD", help="cli.match.measured-on")
@click.option("--weeks-since-trim", type=float, help="cli.match.weeks-since-trim")
@click.option(
    "--use", "uses", multiple=True, type=click.Choice([one.value for one in IntendedUse]), help="cli.match.use"
)
@click.option(
    "--closure", "closures", multiple=True, type=click.Choice([one.value for one in Closure]), help="cli.match.closure"
)
@click.option("--need", "needs", multiple=True, metavar="NEED[:COURSE]", help="cli.match.need")
@click.option("--girth", help="cli.match.girth")
@click.option("--build", type=click.Choice([one.value for one in Build]), help="cli.match.build")
@click.option("--try-from", type=click.Choice([one.value for one in TryFrom]), help="cli.match.try-from")
@click.option("--pad", help="cli.match.pad")
@click.option("--boots", "boots_per_hoof", type=int, help="cli.match.boots")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def match(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    hooves: tuple[str, ...],
    written_as: str | None,
    as_json: bool,
    **told: object,
) -> None:
    """Match the hooves of a file, or those given as flags."""
    readings = _readings(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    today = datetime.now(UTC).date()
    question = readings.question(today=today, beside=_beside(told))
    library = load_catalog().library
    pinned = question.catalog_release
    shelf = lay_out(library.active if pinned is None else library.release(pinned))
    answer = match_horse(question, shelf, today=today, language=speak.texts.language)
    if as_json:
        sys.stdout.buffer.write(write_match_answer(answer, receipt=None, texts=speak.texts) + b"\n")
    else:
        print_match(answer, speak.texts.in_unit(question.unit), console=Console())


def _readings(file: Path | None, hooves: tuple[str, ...], *, written_as: ReadingsFormat | None) -> Readings:
    if file is None:
        return read_flags(hooves)
    if hooves:
        raise click.UsageError("FILE --hoof")
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    known = FORMAT_OF_SUFFIX.get(file.suffix.lower(), ReadingsFormat.JSON)
    return read_readings(raw, written_as=written_as or known)


def _beside(told: dict[str, object]) -> dict[str, object]:
    """What was told on the command line, in the form of a match; it goes before what a file says."""
    beside = {name: list(value) if isinstance(value, tuple) else value for name, value in told.items() if value}
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
