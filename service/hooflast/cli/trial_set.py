"""Trial set: the sizes to carry for a herd, worked out on this machine."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console
from rich.table import Table
from rich.text import Text

from hooflast.cli.decimals import DECIMAL
from hooflast.cli.herd import beside_herd, herd_told, told_of_a_herd
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_caution, print_footing
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.trial_set_document import trial_set_document
from hooflast.exchange.trial_set_form import read_trial_set_question
from hooflast.fit.demand import Counting
from hooflast.matching.herd_pictures import curve_picture
from hooflast.matching.trial_set_answer import ServedBy, TrialSetAnswer
from hooflast.matching.trial_sets import choose_trial_set
from hooflast.texts import Texts


@click.command("trial-set", help="cli.trial-set.help")
@told_of_a_herd
@click.option("--share", type=DECIMAL, help="cli.trial-set.share")
@click.option("--counting", type=click.Choice([one.value for one in Counting]), help="cli.trial-set.counting")
@click.option("--served-by", type=click.Choice([one.value for one in ServedBy]), help="cli.trial-set.served-by")
@click.option("--threshold", type=DECIMAL, help="cli.trial-set.threshold")
@click.option("--most", type=int, help="cli.trial-set.most")
@click.option("--picture", type=click.Path(dir_okay=False, path_type=Path), help="cli.trial-set.picture")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def trial_set(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    written_as: str | None,
    picture: Path | None,
    as_json: bool,
    **told: object,
) -> None:
    """Choose the sizes to carry for the herd of a file, or for kinds of animal."""
    today = datetime.now(UTC).date()
    readings = herd_told(file, written_as=written_as)
    question = readings.read(lambda document: read_trial_set_question(document, today=today), beside=beside_herd(told))
    shelf = shelf_of(speak, question.herd.catalog_release)
    answer = choose_trial_set(question, shelf, today=today, language=speak.texts.language)
    if picture is not None:
        picture.write_text(curve_picture(answer, texts=speak.texts), encoding="utf-8")
    if as_json:
        sys.stdout.buffer.write(encode(trial_set_document(answer, texts=speak.texts)) + b"\n")
    else:
        _print(answer, speak.texts.in_unit(question.herd.unit), console=Console())


def _print(answer: TrialSetAnswer, texts: Texts, *, console: Console) -> None:
    """The cautions, the set, the curve, and what the answer rests on."""
    for caution in answer.cautions:
        print_caution(caution, texts, console=console)
    facts = {"count": len(answer.carried), "set_chance": answer.share}
    table = Table(title=Text(texts.say("cli.trial-set.title", facts)), title_justify="left", title_style="bold")
    for column in ("boot", "size", "best-for", "cost"):
        table.add_column(texts.say(f"cli.column.{column}"), overflow="fold")
    for one in answer.carried:
        name, cost = f"{one.maker.name} {one.boot.name}", texts.number(one.cost)
        table.add_row(Text(name), Text(one.size.code, style="bold"), Text(texts.chance(one.best_for)), Text(cost))
    console.print(table)
    for point in answer.curve:
        if not point.count:
            continue
        said = "cli.trial-set.curve-exact" if point.is_exact else "cli.trial-set.curve"
        told = {"count": point.count, "set_chance": point.share, "bound_chance": point.bound}
        console.print(Text(texts.say(said, told)))
    print_footing(answer.assumptions, answer.versions, texts=texts, console=console)
