"""Coverage: what sizes cover of a herd and the gaps, worked out on this machine."""

import sys
from datetime import UTC, datetime
from pathlib import Path

import click
from rich.console import Console
from rich.text import Text

from hooflast.cli.decimals import DECIMAL
from hooflast.cli.herd import beside_herd, herd_told, told_of_a_herd
from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.cli.tables import print_caution, print_footing
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.coverage_document import coverage_document
from hooflast.exchange.coverage_form import read_coverage_question
from hooflast.matching.coverage import find_coverage
from hooflast.matching.coverage_answer import CoverageAnswer
from hooflast.matching.gap_telling import gap_text, plane_facts
from hooflast.matching.herd_pictures import coverage_picture
from hooflast.texts import Texts


@click.command("coverage", help="cli.coverage.help")
@told_of_a_herd
@click.option("--threshold", type=DECIMAL, help="cli.coverage.threshold")
@click.option("--picture", type=click.Path(dir_okay=False, path_type=Path), help="cli.coverage.picture")
@click.option("--json", "as_json", is_flag=True, help="cli.option.json")
@speaking
def coverage(
    speak: Speaking,
    /,
    *,
    file: Path | None,
    written_as: str | None,
    picture: Path | None,
    as_json: bool,
    **told: object,
) -> None:
    """Find what is covered of the herd of a file, or of kinds of animal."""
    today = datetime.now(UTC).date()
    readings = herd_told(file, written_as=written_as)
    question = readings.read(lambda document: read_coverage_question(document, today=today), beside=beside_herd(told))
    shelf = shelf_of(speak, question.herd.catalog_release)
    answer = find_coverage(question, shelf, today=today, language=speak.texts.language)
    if picture is not None:
        picture.write_text(coverage_picture(answer, texts=speak.texts), encoding="utf-8")
    if as_json:
        sys.stdout.buffer.write(encode(coverage_document(answer, texts=speak.texts)) + b"\n")
    else:
        _print(answer, speak.texts.in_unit(question.herd.unit), console=Console())


def _print(answer: CoverageAnswer, texts: Texts, *, console: Console) -> None:
    """The cautions, each plane with its gaps, and what the answer rests on."""
    for caution in answer.cautions:
        print_caution(caution, texts, console=console)
    for plane in answer.planes:
        console.print(Text(texts.say("coverage.plane", plane_facts(plane, texts=texts)), style="bold"))
        for gap in plane.gaps:
            console.print(Text("  " + gap_text(gap, texts=texts)))
    print_footing(answer.assumptions, answer.versions, texts=texts, console=console)
