"""Cycle: a boot over the weeks between two trims, worked out on this machine."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.decimals import DECIMAL
from hooflast.cli.measured import beside_readings, readings_told, told_of_hooves
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_caution, print_footing
from hooflast.exchange import ReadingsFormat, read_flags
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.cycle_document import cycle_document
from hooflast.exchange.cycle_form import read_cycle_question
from hooflast.fit.cycle import Moment
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import Learned
from hooflast.matching.cycle_picture import cycle_picture
from hooflast.matching.trim_cycle import answer_trim_cycle
from hooflast.matching.trim_cycle_answer import CycleAnswer, HoofInCycle
from hooflast.texts import Texts


@click.command("cycle", help="cli.cycle.help")
@told_of_hooves
@click.option("--cycle-weeks", type=DECIMAL, help="cli.cycle.cycle-weeks")
@click.option("--boot", help="cli.cycle.boot")
@click.option("--size", help="cli.cycle.size")
@click.option(
    "--circumstance",
    "circumstances",
    multiple=True,
    type=click.Choice([one.value for one in Circumstance]),
    help="cli.cycle.circumstance",
)
@click.option("--past", multiple=True, metavar="LIMB:measured_on=…,beside=…,width=…,length=…", help="cli.cycle.past")
@click.option("--chart", type=click.Path(dir_okay=False, writable=True, path_type=Path), help="cli.cycle.chart")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def cycle(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    hooves: tuple[str, ...],
    written_as: str | None,
    past: tuple[str, ...],
    chart: Path | None,
    as_json: bool,
    **told: object,
) -> None:
    """Look at a boot over the trim cycle for the hooves of a file, or those given as flags."""
    readings = readings_told(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    today = datetime.now(UTC).date()
    beside = beside_readings(told) | _history(past)
    question = readings.read(lambda document: read_cycle_question(document, today=today), beside=beside)
    shelf = shelf_of(speak, question.horse.catalog_release)
    answer = answer_trim_cycle(question, shelf, today=today, language=speak.texts.language)
    if chart is not None:
        chart.write_text(cycle_picture(answer, texts=speak.texts), encoding="utf-8")
    if as_json:
        sys.stdout.buffer.write(encode(cycle_document(answer, texts=speak.texts)) + b"\n")
    else:
        _print(answer, speak.texts.in_unit(question.horse.unit), console=Console())


def _history(past: tuple[str, ...]) -> dict[str, object]:
    """Earlier readings as flags, in the form's words."""
    document = read_flags(past).document
    return {"history": document["hooves"]} if past and isinstance(document, dict) else {}


def _print(answer: CycleAnswer, texts: Texts, *, console: Console) -> None:
    """The horse's cautions first, then each hoof, and what the answer rests on."""
    for caution in answer.cautions:
        print_caution(caution, texts, console=console)
    for hoof in answer.hooves:
        _print_hoof(hoof, texts, console=console)
    print_footing(answer.assumptions, answer.versions, texts=texts, console=console)


def _print_hoof(hoof: HoofInCycle, texts: Texts, *, console: Console) -> None:
    limb = texts.say(f"limb.{hoof.reading.limb}")
    if hoof.boot is not None and hoof.maker is not None:
        table = Table(title=Text(f"{limb}: {hoof.maker.name} {hoof.boot.name}"), title_justify="left")
        moments = [texts.say(f"moment.{moment}") for moment in Moment]
        for column in (texts.say("cli.column.size"), *moments, texts.say("cli.column.throughout")):
            table.add_column(column, overflow="fold")
        for size in hoof.sizes:
            chances = [texts.chance(size.chances[moment]) for moment in Moment]
            table.add_row(Text(size.size.code), *map(Text, chances), Text(texts.chance(size.holds_chance)))
        console.print(table)
    for remark in hoof.advice:
        console.print(Text(texts.say(f"cycle.{remark.code}", remark.facts)))
    if hoof.learned is not None:
        _print_learned(hoof.learned, texts, console=console)
    for caution in hoof.cautions:
        print_caution(caution, texts, console=console)
    console.print()


def _print_learned(learned: Learned, texts: Texts, *, console: Console) -> None:
    """What the hoof gains a week and loses at a trim, with the interval that holds each nine times in ten."""
    facts: dict[str, str | int | float] = {"count": learned.readings}
    names = ("width", "length", "trim_width", "trim_length")
    for name, mean, (low, high) in zip(names, learned.changes.mean, learned.interval, strict=True):
        shown = {f"{name}_mm": mean, f"{name}_low_mm": low, f"{name}_high_mm": high}
        facts |= {fact: round(float(value), 1) + 0.0 for fact, value in shown.items()}
    console.print(Text(texts.say("cli.cycle.learned" if learned.readings else "cli.cycle.usual", facts), style="dim"))
