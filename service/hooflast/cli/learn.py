"""Learn: what a file of outcomes of sold boots teaches, worked out on this machine; nothing is switched on."""

import sys
from collections.abc import Mapping
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_assumptions
from hooflast.errors import Fact, InputRefused
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.outcome_rows import OutcomesFormat, read_outcome_rows
from hooflast.exchange.proposal_document import proposal_document
from hooflast.fit.hoof import Axis
from hooflast.fit.learned import HowFar, Learned
from hooflast.matching.calibrating import propose_calibration
from hooflast.matching.calibration import BootOffset, CalibrationProposal
from hooflast.texts import Texts

FORMAT_OF_SUFFIX: Final = {".csv": OutcomesFormat.CSV, ".tsv": OutcomesFormat.CSV}

FOUR_DECIMALS: Final = "0.0000"
SIGNED: Final = "+0.0000;-0.0000"


@click.command("learn", help="cli.learn.help")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--written-as", type=click.Choice([one.value for one in OutcomesFormat]), help="cli.learn.written-as")
@click.option("--unit", type=click.Choice(["mm", "cm", "in"]), help="cli.match.unit")
@click.option("--catalog-release", help="cli.learn.catalog-release")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def learn(speak: Speaking, /, *, file: Path, written_as: str | None, as_json: bool, **told: str | None) -> None:
    """Learn from the outcomes of a file."""
    raw = sys.stdin.buffer.read() if str(file) == "-" else file.read_bytes()
    known = FORMAT_OF_SUFFIX.get(file.suffix.lower(), OutcomesFormat.NDJSON)
    rows = read_outcome_rows(raw, written_as=OutcomesFormat(written_as) if written_as else known)
    beside = {name: value for name, value in told.items() if value}
    question = rows.question(today=datetime.now(UTC).date(), beside=beside)
    shelf = shelf_of(speak, question.catalog_release)
    try:
        proposal = propose_calibration(question, shelf, language=speak.texts.language)
    except InputRefused as refused:
        raise rows.in_file(refused) from None
    if as_json:
        sys.stdout.buffer.write(encode(proposal_document(proposal, texts=speak.texts)) + b"\n")
    else:
        _print(proposal, speak.texts, console=Console())


def _print(proposal: CalibrationProposal, texts: Texts, *, console: Console) -> None:
    """A table of boot models, what readings and keeping taught, and what to be careful about."""
    counts = {"count": sum(proposal.outcomes.values())}
    console.print(Text(texts.say("cli.learn.outcomes", counts)))
    table = Table(title=Text(texts.say("cli.learn.title")), title_justify="left", title_style="bold")
    for column in ("boot", "outcomes", "width", "length", "gain", "evidence"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for boot in proposal.boots:
        table.add_row(*_row(boot, texts))
    console.print(table)
    for boot in proposal.boots:
        for code in boot.unclear:
            console.print(Text(f"{boot.boot.name}: {texts.say(f'unclear.{code}')}"))
        if boot.is_proposed:
            console.print(_sizes(boot, texts))
    for group, biases in proposal.biases.items():
        facts = {
            "method": group.method.value,
            "channel": group.channel.value,
            "width": _offset(biases[Axis.WIDTH], texts),
            "length": _offset(biases[Axis.LENGTH], texts),
        }
        console.print(Text(texts.say("cli.learn.readings", facts)))
    for side, kept in proposal.keeping.items():
        chances: dict[str, Fact] = {
            "side": side.value,
            "kept_chance": kept.value,
            "low_chance": kept.low,
            "high_chance": kept.high,
        }
        console.print(Text(texts.say("cli.learn.keeping", chances)))
    for caution in proposal.cautions:
        said = texts.say(f"caution.{caution.code}", caution.facts)
        console.print(Text(f"{texts.say(f'severity.{caution.severity.value}')}: {said}"))
    print_assumptions(proposal.assumptions, texts=texts, console=console)
    console.print(Text(texts.say("cli.learn.id", {"id": proposal.id}), style="dim"))


def _row(boot: BootOffset, texts: Texts) -> list[Text]:
    evidence = boot.evidence
    return [
        Text(f"{boot.maker.name} {boot.boot.name}", style="bold" if boot.is_proposed else ""),
        Text(str(evidence.outcomes)),
        Text(_axis(boot.offsets, axis=Axis.WIDTH, texts=texts)),
        Text(_axis(boot.offsets, axis=Axis.LENGTH, texts=texts)),
        Text(f"{texts.number(evidence.gain, pattern=SIGNED)} ± {texts.number(evidence.error, pattern=FOUR_DECIMALS)}"),
        Text(texts.say(f"bar.{evidence.bar}")),
    ]


def _sizes(boot: BootOffset, texts: Texts) -> Table:
    table = Table(title=Text(texts.say("cli.learn.sizes-title", {"boot": boot.boot.name})), title_justify="left")
    for column in ("size", "width", "length"):
        table.add_column(texts.say(f"cli.column.{column}"))
    for one in boot.sizes:
        cells = [_axis(one.offsets, axis=axis, texts=texts) for axis in (Axis.WIDTH, Axis.LENGTH)]
        table.add_row(Text(one.size.code), *map(Text, cells))
    return table


def _axis(offsets: Mapping[Axis, Learned], *, axis: Axis, texts: Texts) -> str:
    return _offset(offsets[axis], texts) if axis in offsets else "–"


def _offset(learned: Learned, texts: Texts) -> str:
    """The value with its interval; and how far it was told, unless it was."""
    ends = {"value_mm": learned.value, "low_mm": learned.low, "high_mm": learned.high}
    said = texts.say("cli.learn.offset", ends)
    return said if learned.how_far is HowFar.TOLD else f"{said}, {texts.say(f'how_far.{learned.how_far}')}"
