"""Match: one horse matched on this machine, without a service; nothing is kept and no receipt is signed."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console

from hooflast.cli.decimals import DECIMAL
from hooflast.cli.measured import beside_readings, readings_told, told_of_hooves
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_match
from hooflast.exchange import ReadingsFormat, write_match_answer
from hooflast.fit.boot import Closure
from hooflast.fit.girth import Build
from hooflast.fit.pad import PadKind, Softness
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import TryFrom


@click.command("match", help="cli.match.help")
@told_of_hooves
@click.option(
    "--closure", "closures", multiple=True, type=click.Choice([one.value for one in Closure]), help="cli.match.closure"
)
@click.option("--girth", help="cli.match.girth")
@click.option("--build", type=click.Choice([one.value for one in Build]), help="cli.match.build")
@click.option("--try-from", type=click.Choice([one.value for one in TryFrom]), help="cli.match.try-from")
@click.option("--pad", help="cli.match.pad")
@click.option("--pad-kind", type=click.Choice([one.value for one in PadKind]), help="cli.pad.kind")
@click.option("--pad-softness", type=click.Choice([one.value for one in Softness]), help="cli.pad.softness")
@click.option("--cycle-weeks", type=DECIMAL, help="cli.match.cycle-weeks")
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
    readings = readings_told(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    today = datetime.now(UTC).date()
    question = readings.question(today=today, beside=beside_readings(told))
    shelf = shelf_of(speak, question.catalog_release)
    answer = match_horse(question, shelf, today=today, language=speak.texts.language)
    if as_json:
        sys.stdout.buffer.write(write_match_answer(answer, receipt=None, texts=speak.texts) + b"\n")
    else:
        print_match(answer, speak.texts.in_unit(question.unit), console=Console())
