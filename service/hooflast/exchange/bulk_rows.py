"""Bulk rows: lists of hooves as CSV or NDJSON, read row by row, and the boots found for them, written row by row.

A row is read as the form of a match reads a hoof, so that the same values are refused with the same words. What is
wrong with one row is told with its number and stops no other. Rows that read the same are read once.
"""

import csv
import json
from collections.abc import Callable, Hashable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from functools import lru_cache
from itertools import chain
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.answer_parts import rounded_chance
from hooflast.exchange.cells import field_name
from hooflast.exchange.csv_text import DELIMITERS
from hooflast.exchange.faults import FaultCode, closest, fault
from hooflast.exchange.match_form import read_match_question
from hooflast.matching.bulk import BulkAnswer, BulkHoof

NAME: Final = "hoof"
OF_THE_HORSE: Final = "animal_type"
OF_THE_HOOF: Final = ("limb", "width", "length", "method", "observer")
FIELDS: Final = (NAME, OF_THE_HORSE, *OF_THE_HOOF)
REQUIRED: Final = ("limb", "width", "length")
HEADINGS: Final = ("row", "hoof", "limb", "place", "boot", "size", "fit_chance")
ALIKE: Final = 65_536
"""Rows that are remembered."""


class BulkFormat(StrEnum):
    """How a list of hooves, or of the boots for them, is written."""

    CSV = "csv"
    NDJSON = "ndjson"


@dataclass(frozen=True, slots=True, kw_only=True)
class BadRow:
    """A row that cannot be read, and everything that is wrong with it."""

    faults: tuple[Fault, ...]


Row = BulkHoof | BadRow


def read_bulk(lines: Iterable[str], *, written_as: BulkFormat, today: date) -> Iterator[Row]:
    """Read a list of hooves row by row, the first line being row 1. Raises InputRefused for a heading of no use."""
    read = _reader(today)
    return _read_csv(lines, read=read) if written_as is BulkFormat.CSV else _read_ndjson(lines, read=read)


def write_csv(answers: Iterable[BulkAnswer]) -> Iterator[tuple[object, ...]]:
    """One row for each boot of each hoof, with HEADINGS first; a hoof that hardly any boot fits has one without."""
    yield HEADINGS
    for answer in answers:
        hoof = answer.hoof
        start = (hoof.row, hoof.name, hoof.reading.limb.value)
        for place, fit in enumerate(answer.fits, start=1):
            yield (*start, place, fit.boot.id, fit.size.code, rounded_chance(fit.fit_chance))
        if not answer.fits:
            yield (*start, "", "", "", "")


def plain_answer(answer: BulkAnswer) -> dict[str, object]:
    """One hoof's boots as a line of NDJSON has them."""
    hoof = answer.hoof
    fits = [
        {"boot": fit.boot.id, "size": fit.size.code, "fit_chance": rounded_chance(fit.fit_chance)}
        for fit in answer.fits
    ]
    return {"row": hoof.row, "hoof": hoof.name, "limb": hoof.reading.limb.value, "fits": fits}


_Read = Callable[[int, Mapping[str, Hashable]], Row]


def _reader(today: date) -> _Read:
    @lru_cache(maxsize=ALIKE)
    def read_alike(told: tuple[tuple[str, Hashable], ...]) -> BulkHoof | tuple[Fault, ...]:
        fields = dict(told)
        horse = {name: value for name, value in fields.items() if name == OF_THE_HORSE}
        hoof = {name: value for name, value in fields.items() if name != OF_THE_HORSE}
        try:
            document: dict[str, object] = {"horse": horse | {"name": "-"}, "hooves": [hoof]}
            question = read_match_question(document, today=today)
        except InputRefused as refused:
            return refused.faults
        return BulkHoof(row=0, name="", animal_type=question.animal_type, reading=question.hooves[0])

    def read(row: int, fields: Mapping[str, Hashable]) -> Row:
        found = read_alike(tuple((name, value) for name, value in fields.items() if name != NAME))
        if isinstance(found, BulkHoof):
            name = str(fields.get(NAME, ""))
            return BulkHoof(row=row, name=name, animal_type=found.animal_type, reading=found.reading)
        return BadRow(faults=tuple(_in_row(each, row=row) for each in found))

    return read


def _in_row(found: Fault, *, row: int) -> Fault:
    column = next((str(step) for step in reversed(found.path) if isinstance(step, str)), "")
    place: dict[str, Fact] = {"row": row, "column": column} if column else {"row": row}
    return Fault(
        path=("rows", row, *([column] if column else [])),
        code=found.code,
        received=found.received,
        facts={**found.facts, **place},
    )


def _read_csv(lines: Iterable[str], *, read: _Read) -> Iterator[Row]:
    records = _records(iter(lines))
    names = [field_name(cell) for cell in next(records, None) or []]
    _require_headings(names)
    for row, cells in enumerate(records, start=2):
        if cells is None:
            found = fault(FaultCode.NOT_CSV, path=("rows", row), received=None, facts={"row": row, "line": row})
            yield BadRow(faults=(found,))
        elif len(cells) > len(names):
            facts = {"row": row, "limit": len(names)}
            found = fault(FaultCode.ROW_TOO_LONG, path=("rows", row), received=len(cells), facts=facts)
            yield BadRow(faults=(found,))
        elif any(cell.strip() for cell in cells):
            yield read(row, {name: cell for name, cell in zip(names, cells, strict=False) if cell.strip()})


def _records(lines: Iterator[str]) -> Iterator[list[str] | None]:
    """The rows of a CSV text, parted by what the first one has; None for one that is no CSV."""
    first = next(lines, "")
    delimiter = next((mark for mark in DELIMITERS if mark in first), ",")
    reader = csv.reader(chain([first], lines), delimiter=delimiter, skipinitialspace=True)
    while True:
        try:
            yield next(reader)
        except StopIteration:
            return
        except csv.Error:
            yield None


def _require_headings(names: list[str]) -> None:
    missing = [
        fault(FaultCode.MISSING, path=("rows", 1, name), received=None, facts={"row": 1, "field": name})
        for name in REQUIRED
        if name not in names
    ]
    unknown = _unknown(names, row=1)
    if missing or unknown:
        raise InputRefused(faults=(*missing, *unknown))


def _unknown(names: Iterable[str], *, row: int) -> tuple[Fault, ...]:
    known: dict[str, Fact] = {"row": row, "accepted_list": ", ".join(FIELDS)}
    return tuple(
        fault(
            FaultCode.UNKNOWN_FIELD,
            path=("rows", row, name),
            received=name,
            facts={**known, "field": name, **closest(name, FIELDS)},
        )
        for name in names
        if name not in FIELDS
    )


def _read_ndjson(lines: Iterable[str], *, read: _Read) -> Iterator[Row]:
    for row, line in enumerate(lines, start=1):
        if not line.strip():
            continue
        told = _object(line)
        if told is None:
            facts = {"row": row, "line": row, "column": 1}
            found = fault(FaultCode.NOT_JSON, path=("rows", row), received=line.rstrip("\n"), facts=facts)
            yield BadRow(faults=(found,))
        elif unknown := _unknown(told, row=row):
            yield BadRow(faults=unknown)
        else:
            yield read(row, told)


def _object(line: str) -> dict[str, Hashable] | None:
    """The members of an object, lists and objects among them as they were written; None if it is no object."""
    try:
        told = json.loads(line)
    except (ValueError, RecursionError):
        return None
    if not isinstance(told, dict):
        return None
    return {
        name: json.dumps(value) if isinstance(value, list | dict) else value
        for name, value in told.items()
        if value is not None
    }
