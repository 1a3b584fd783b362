"""Pad: what a pad does to the size of a horse's boots, worked out on this machine."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.measured import beside_readings, readings_told, told_of_hooves
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_caution, print_footing, print_need
from hooflast.exchange import ReadingsFormat
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.pads_document import pads_document
from hooflast.exchange.pads_form import read_pads_question
from hooflast.fit.pad import PadKind, Softness
from hooflast.matching.answer import SizeFit
from hooflast.matching.pads import answer_pads
from hooflast.matching.pads_answer import BootWithPad, HoofWithPad, PadsAnswer
from hooflast.texts import Texts


@click.command("pad", help="cli.pad.help")
@told_of_hooves
@click.option("--pad", required=True, help="cli.pad.pad")
@click.option("--pad-kind", type=click.Choice([one.value for one in PadKind]), help="cli.pad.kind")
@click.option("--pad-softness", type=click.Choice([one.value for one in Softness]), help="cli.pad.softness")
@click.option("--boot", help="cli.pad.boot")
@click.option("--boots", "boots_per_hoof", type=int, help="cli.match.boots")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def pad(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    hooves: tuple[str, ...],
    written_as: str | None,
    as_json: bool,
    **told: object,
) -> None:
    """See what a pad does for the hooves of a file, or those given as flags."""
    readings = readings_told(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    today = datetime.now(UTC).date()
    question = readings.read(lambda document: read_pads_question(document, today=today), beside=beside_readings(told))
    shelf = shelf_of(speak, question.horse.catalog_release)
    answer = answer_pads(question, shelf, today=today, language=speak.texts.language)
    if as_json:
        sys.stdout.buffer.write(encode(pads_document(answer, texts=speak.texts)) + b"\n")
    else:
        _print(answer, speak.texts.in_unit(question.horse.unit), console=Console())


def _print(answer: PadsAnswer, texts: Texts, *, console: Console) -> None:
    """The horse's cautions first, then a table per hoof, and what the answer rests on."""
    for caution in answer.cautions:
        print_caution(caution, texts, console=console)
    for need in answer.needs:
        print_need(need, texts, console=console)
    for hoof in answer.hooves:
        _print_hoof(hoof, texts, console=console)
    print_footing(answer.assumptions, answer.versions, texts=texts, console=console)


def _print_hoof(hoof: HoofWithPad, texts: Texts, *, console: Console) -> None:
    width_mm, length_mm = (float(lost) for lost in hoof.room.mean_mm)
    title = "cli.pad.hoof-title" if length_mm >= 0.0 else "cli.pad.hoof-title-gain"
    facts = {"limb": hoof.reading.limb.value, "width_mm": width_mm, "length_mm": abs(length_mm)}
    table = Table(title=Text(texts.say(title, facts)), title_justify="left", title_style="bold")
    for column in ("boot", "without", "with-pad", "same-up-to", "serves-up-to", "pads"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for found in hoof.boots:
        table.add_row(*_row(found, texts))
    console.print(table)
    for found in hoof.boots:
        console.print(Text(f"{found.boot.name}: {texts.say(f'pad_effect.{found.effect.value}')}"))
        for caution in found.cautions:
            print_caution(caution, texts, console=console)
    for caution in hoof.cautions:
        print_caution(caution, texts, console=console)
    console.print()


def _row(found: BootWithPad, texts: Texts) -> list[Text]:
    limits = found.limits
    return [
        Text(f"{found.maker.name} {found.boot.name}"),
        _size(found.without, texts),
        _size(found.with_pad, texts),
        Text("–" if limits is None else texts.length(limits.same_size_mm)),
        Text("–" if limits is None else texts.length(limits.serves_mm)),
        Text("\n".join(f"{one.accessory.name} {one.size}: {one.boot_size.size.code}" for one in found.catalog_pads)),
    ]


def _size(fit: SizeFit | None, texts: Texts) -> Text:
    return Text("–" if fit is None else f"{fit.size.code} {texts.chance(fit.fit_chance)}")
