"""Bulk: the likeliest boots for a long list of hooves, row by row, worked out on this machine."""

import csv
import json
import sys
from collections.abc import Iterable, Iterator
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

import click
from rich.console import Console

from hooflast.cli.offered import shelf_of
from hooflast.cli.speaking import Speaking, speaking
from hooflast.exchange.bulk_rows import BadRow, BulkFormat, Row, plain_answer, read_bulk, write_csv
from hooflast.exchange.fault_texts import tell_fault
from hooflast.fit import ENGINE
from hooflast.fit.boot import IntendedUse
from hooflast.matching.bulk import BulkAnswer, BulkHoof, answer_in_bulk
from hooflast.texts import Texts

MOST_BOOTS: Final = 20
_FORMATS: Final = click.Choice([one.value for one in BulkFormat])


@click.command("bulk", help="cli.bulk.help")
@click.argument("file", type=click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path))
@click.option("--written-as", type=_FORMATS, help="cli.match.written-as")
@click.option("--write-as", type=_FORMATS, default=BulkFormat.CSV.value, help="cli.bulk.write-as")
@click.option(
    "--use", "uses", multiple=True, type=click.Choice([one.value for one in IntendedUse]), help="cli.match.use"
)
@click.option("--boots", type=click.IntRange(1, MOST_BOOTS), default=3, help="cli.bulk.boots")
@click.option("--release", "release_id", help="cli.catalog.show.release")
@speaking
def bulk(
    speak: Speaking,
    /,
    *,
    file: Path,
    written_as: str | None,
    write_as: str,
    uses: tuple[str, ...],
    boots: int,
    release_id: str | None,
) -> None:
    """Find the likeliest boots for the hooves of a file."""
    today = datetime.now(UTC).date()
    shelf = shelf_of(speak, release_id)
    known = BulkFormat.CSV if file.suffix.lower() == ".csv" else BulkFormat.NDJSON
    errors = Console(stderr=True, soft_wrap=True, highlight=False, markup=False)
    with click.open_file(str(file), encoding="utf-8-sig", errors="replace") as lines:
        rows = _Rows(read_bulk(lines, written_as=BulkFormat(written_as or known), today=today))
        answers = answer_in_bulk(
            rows.good(speak.texts, console=errors),
            shelf,
            uses=frozenset(map(IntendedUse, uses)),
            at_most=boots,
            today=today,
        )
        _write(answers, write_as=BulkFormat(write_as))
    facts = {"edition": shelf.release.edition, "engine": ENGINE}
    errors.print(speak.texts.say("cli.bulk.done", {"count": rows.good_count}))
    if rows.bad_count:
        errors.print(speak.texts.say("cli.bulk.bad-rows", {"count": rows.bad_count}))
    errors.print(speak.texts.say("cli.bulk.meant-for"))
    errors.print(speak.texts.say("caution.chances-not-calibrated"))
    errors.print(speak.texts.say("cli.match.rests-on", facts))
    sys.exit(1 if rows.bad_count else 0)


class _Rows:
    """Rows on their way: bad ones are told as they come, the others go on."""

    def __init__(self, rows: Iterable[Row]) -> None:
        self._rows = rows
        self.good_count = 0
        self.bad_count = 0

    def good(self, texts: Texts, *, console: Console) -> Iterator[BulkHoof]:
        for row in self._rows:
            if isinstance(row, BadRow):
                self.bad_count += 1
                for fault in row.faults:
                    told = tell_fault(fault, texts=texts)
                    console.print(f"{told.place}: {told.wrong} {told.accepted}")
            else:
                self.good_count += 1
                yield row


def _write(answers: Iterable[BulkAnswer], *, write_as: BulkFormat) -> None:
    if write_as is BulkFormat.CSV:
        csv.writer(sys.stdout, lineterminator="\n").writerows(write_csv(answers))
    else:
        sys.stdout.writelines(json.dumps(plain_answer(answer), ensure_ascii=False) + "\n" for answer in answers)
