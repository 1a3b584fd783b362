"""Plan: what to buy for one horse, worked out on this machine from a list of what is on sale."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console

from hooflast.cli.decimals import DECIMAL
from hooflast.cli.measured import FORMAT_OF_SUFFIX, beside_readings, readings_told, told_of_hooves
from hooflast.cli.offered import shelf_of
from hooflast.cli.plan_tables import PlanPrinter
from hooflast.cli.speaking import Speaking, speaking
from hooflast.exchange import ReadingsFormat
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.offer_list import OfferList, read_offer_list
from hooflast.exchange.order_plan_document import order_plan_document
from hooflast.exchange.order_plan_form import read_plan_question
from hooflast.fit.boot import Closure
from hooflast.fit.pad import PadKind, Softness
from hooflast.fit.plan_order import Aim
from hooflast.matching.plan_answer import PlanAnswer
from hooflast.matching.whole_horse import plan_whole_horse


@click.command("plan", help="cli.plan.help")
@told_of_hooves
@click.option(
    "--offers",
    "offers_file",
    type=click.Path(exists=True, dir_okay=False, path_type=Path),
    help="cli.plan.offers",
)
@click.option("--currency", help="cli.plan.currency")
@click.option("--budget", help="cli.plan.budget")
@click.option("--aim", type=click.Choice([one.value for one in Aim]), help="cli.plan.aim")
@click.option("--least-fit-chance", type=DECIMAL, help="cli.plan.least-fit-chance")
@click.option(
    "--closure", "closures", multiple=True, type=click.Choice([one.value for one in Closure]), help="cli.match.closure"
)
@click.option("--pad", help="cli.match.pad")
@click.option("--pad-kind", type=click.Choice([one.value for one in PadKind]), help="cli.pad.kind")
@click.option("--pad-softness", type=click.Choice([one.value for one in Softness]), help="cli.pad.softness")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def plan(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    hooves: tuple[str, ...],
    written_as: str | None,
    offers_file: Path | None,
    as_json: bool,
    **told: object,
) -> None:
    """Plan what to buy for the hooves of a file, or those given as flags."""
    readings = readings_told(file, hooves, written_as=ReadingsFormat(written_as) if written_as else None)
    listed = OfferList(offers=None) if offers_file is None else _offers(offers_file)
    today = datetime.now(UTC).date()
    beside = beside_readings({**told, "offers": listed.offers})

    def answered() -> PlanAnswer:
        question = readings.read(lambda document: read_plan_question(document, today=today), beside=beside)
        shelf = shelf_of(speak, question.horse.catalog_release)
        return plan_whole_horse(question, shelf, today=today, language=speak.texts.language)

    answer = listed.read(answered)
    if as_json:
        sys.stdout.buffer.write(encode(order_plan_document(answer, texts=speak.texts)) + b"\n")
    else:
        texts = speak.texts.in_unit(answer.question.horse.unit)
        PlanPrinter(texts=texts, console=Console(), currency=answer.question.currency).print(answer)


def _offers(file: Path) -> OfferList:
    return read_offer_list(file.read_bytes(), written_as=FORMAT_OF_SUFFIX.get(file.suffix.lower(), ReadingsFormat.JSON))
