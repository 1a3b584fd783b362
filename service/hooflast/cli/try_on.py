"""Try: which size of a boot model to try next on one hoof, told from flags or asked for one finding after the other."""

import sys
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime
from enum import StrEnum
from pathlib import Path
from typing import Final, TypeVar

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.measured import beside_readings, readings_told, told_of_hooves
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_caution, print_footing
from hooflast.errors import Fact
from hooflast.exchange import ReadingsFormat
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.fitting_document import advice_text, fitting_document
from hooflast.exchange.fitting_form import read_fitting_question
from hooflast.fit.boot import Closure
from hooflast.fit.findings import FIRST_LOOK, LAST_LOOK, BulbMarks, Finding, HeelGap, Rotation, Seen, Standing
from hooflast.fit.lookahead import Order
from hooflast.fit.remark import Severity
from hooflast.matching.fitting_answer import Advice, FittingAnswer, FittingQuestion, TriedSize
from hooflast.matching.fitting_trial import answer_fitting
from hooflast.matching.shelf import Shelf
from hooflast.texts import Texts

WordT = TypeVar("WordT", bound=StrEnum)

LOOKS: Final = {Advice.TRY: FIRST_LOOK, Advice.TRY_AGAIN: LAST_LOOK, Advice.SEAT_AGAIN: LAST_LOOK}
"""What may be seen after an advice to look at a boot."""

WORTH_A_ROW: Final = 0.01
"""Sizes that are tried, or right at least so often, are shown."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Fitter:
    """What a trial is told with: the sentences, the terminal, the shelf and the day."""

    texts: Texts
    console: Console
    shelf: Shelf
    today: date

    def answer(self, question: FittingQuestion) -> FittingAnswer:
        """What to do next."""
        return answer_fitting(question, self.shelf, today=self.today, language=self.texts.language)


@click.command("try", help="cli.try.help")
@told_of_hooves
@click.option("--boot", help="cli.try.boot")
@click.option("--tried", "tried", multiple=True, metavar="cli.metavar.tried", help="cli.try.tried")
@click.option("--order", type=click.Choice([one.value for one in Order]), help="cli.try.order")
@click.option("--at-home", help="cli.try.at-home")
@click.option(
    "--closure", "closures", multiple=True, type=click.Choice([one.value for one in Closure]), help="cli.match.closure"
)
@click.option("--ask", is_flag=True, help="cli.try.ask")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def try_on(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    hooves: tuple[str, ...],
    written_as: str | None,
    tried: tuple[str, ...],
    ask: bool,
    as_json: bool,
    **told: object,
) -> None:
    """See which size to try next on the hoof of a file, or the one given as a flag."""
    readings = readings_told(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    today = datetime.now(UTC).date()
    beside = beside_readings(told) | ({"try_ons": [_tried(one) for one in tried]} if tried else {})
    question = readings.read(lambda document: read_fitting_question(document, today=today), beside=beside)
    fitter = Fitter(
        texts=speak.texts.in_unit(question.horse.unit),
        console=Console(),
        shelf=shelf_of(speak, question.horse.catalog_release),
        today=today,
    )
    answer = fitter.answer(question)
    if as_json:
        sys.stdout.buffer.write(encode(fitting_document(answer, texts=speak.texts)) + b"\n")
    elif ask or (not tried and sys.stdin.isatty() and sys.stdout.isatty()):
        _go_on(answer, fitter)
    else:
        _print(answer, fitter)


def _tried(written: str) -> dict[str, str]:
    """`tansy:turns`, `tansy:stays_put,rotation=none` or `boot/tansy:turns` as the form has it."""
    size, _, seen = written.rpartition(":")
    boot, _, code = size.rpartition("/")
    finding, *moved = seen.split(",")
    beside = dict(one.partition("=")[::2] for one in moved)
    return {"size": code, "finding": finding} | ({"boot": boot} if boot else {}) | beside


def _go_on(answer: FittingAnswer, fitter: Fitter) -> None:
    """Tell what to do and ask what was seen, until there is nothing more to try on."""
    _print(answer, fitter)
    while (question := _asked_on(answer, fitter)) is not None:
        answer = fitter.answer(question)
        _print_step(answer, fitter)


def _asked_on(answer: FittingAnswer, fitter: Fitter) -> FittingQuestion | None:
    """The question with one more finding, or with the next boot model; None at the end."""
    question, size, say = answer.question, answer.size, fitter.texts.say
    if answer.next_boot is not None and click.confirm(say("cli.try.ask-next-boot")):
        return replace(question, boot=answer.next_boot.boot.id, at_home=None)
    if answer.boot is None or size is None or answer.advice not in {*LOOKS, Advice.MOVE}:
        return None
    if answer.advice is Advice.MOVE:
        seen = Seen(
            finding=Finding.STAYS_PUT,
            rotation=_ask(say("cli.try.ask-rotation"), tuple(Rotation)),
            heel_gap=_ask(say("cli.try.ask-heel-gap"), tuple(HeelGap)),
            bulb_marks=_ask(say("cli.try.ask-bulb-marks"), tuple(BulbMarks)),
        )
    else:
        for finding in LOOKS[answer.advice]:
            fitter.console.print(Text(f"  {finding.value}: {say(f'finding.{finding.value}')}"))
        seen = Seen(finding=_ask(say("cli.try.ask-finding"), LOOKS[answer.advice]))
    tried = TriedSize(boot=answer.boot.id, size=size, seen=seen)
    return replace(question, boot=answer.boot.id, tried=(*question.tried, tried))


def _ask(asked: str, words: tuple[WordT, ...]) -> WordT:
    written = click.prompt(asked, type=click.Choice([one.value for one in words]))
    return next(one for one in words if one.value == written)


def _print(answer: FittingAnswer, fitter: Fitter) -> None:
    """What to do and how, what to be careful about, and what the answer rests on."""
    _print_step(answer, fitter)
    for caution in answer.cautions:
        if caution.severity is not Severity.STOP:
            print_caution(caution, fitter.texts, console=fitter.console)
    print_footing(answer.assumptions, answer.versions, texts=fitter.texts, console=fitter.console)


def _print_step(answer: FittingAnswer, fitter: Fitter) -> None:
    """What must stop it first, the sizes, what to do and how, and what lies ahead."""
    say, console = fitter.texts.say, fitter.console
    (reading,) = answer.question.horse.hooves
    title: dict[str, Fact] = {"limb": reading.limb.value}
    if answer.boot is not None and answer.maker is not None:
        title["name"] = f"{answer.maker.name} {answer.boot.name}"
    console.print(Text(say("cli.try.title", title), style="bold"))
    for caution in answer.cautions:
        if caution.severity is Severity.STOP:
            print_caution(caution, fitter.texts, console=console)
    if answer.sizes:
        console.print(_sizes(answer, fitter.texts))
    console.print(Text(advice_text(answer.advice, size=answer.size, texts=fitter.texts), style="bold"))
    for step in answer.steps:
        console.print(Text("  " + say(f"trying.{step.code}", step.facts)))
    for line in _ahead(answer, fitter.texts):
        console.print(Text(line))


def _sizes(answer: FittingAnswer, texts: Texts) -> Table:
    table = Table()
    for column in ("size", "tried", "right", "too-large", "too-narrow", "too-short"):
        table.add_column(texts.say(f"cli.column.{column}"))
    for one in answer.sizes:
        if one.was_tried or one.chances[Standing.RIGHT] >= WORTH_A_ROW:
            chances = [Text(texts.chance(one.chances[standing])) for standing in Standing]
            style = "bold" if one.size.code == answer.size else ""
            table.add_row(Text(one.size.code, style=style), Text("×" if one.was_tried else ""), *chances)
    return table


def _ahead(answer: FittingAnswer, texts: Texts) -> list[str]:
    """What is still to expect, what to exchange the boot at home for, and the next boot model."""
    lines = []
    if answer.chosen is not None and answer.shortest is not None and answer.chosen.size is not None:
        facts: dict[str, Fact] = {
            "try_ons": round(answer.chosen.try_ons, 1),
            "ends_chance": answer.chosen.ends_fitting,
        }
        if answer.question.order is not Order.SHORTEST:
            shortest, chance = round(answer.shortest.try_ons, 1), answer.shortest.ends_fitting
            facts |= {"shortest_try_ons": shortest, "shortest_chance": chance}
        lines.append(texts.say("cli.try.expected", facts))
    for one in answer.exchanges:
        told = advice_text(one.advice, size=one.size, texts=texts)
        seen = texts.say(f"finding.{one.finding}")
        lines.append(texts.say("cli.try.exchange", {"seen": seen, "finding_chance": one.chance, "told": told}))
    found = answer.next_boot
    if found is not None and found.expected.size is not None:
        name = f"{found.maker.name} {found.boot.name}"
        facts = {"name": name, "size": found.expected.size, "ends_chance": found.expected.ends_fitting}
        lines.append(texts.say("cli.try.next-boot", facts))
    elif answer.advice is Advice.CHANGE_BOOT:
        lines.append(texts.say("cli.try.no-next-boot"))
    return lines
