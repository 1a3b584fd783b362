"""Job horse: one horse of a match job, as it was kept, read as the request of a match is."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.cells import field_value
from hooflast.exchange.csv_text import WITHIN_A_CELL
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.job_lines import HOOF, HORSE, OF_THE_FORM, OF_THE_HORSE, CsvRows
from hooflast.exchange.match_form import read_match_question
from hooflast.matching.question import MatchQuestion
from hooflast.store.match_job_values import JobFormat, JobLine

_OF_THE_NAME: Final = (HORSE, HOOF)


def read_job_horse(line: JobLine, *, written_as: JobFormat, heading: str, longest: int, today: date) -> MatchQuestion:
    """The question that one horse of a job asks; the catalog release that it pins plays no part.

    Raises InputRefused with every fault; those of a CSV name row and column.
    """
    if line.body is None:
        facts: dict[str, Fact] = {"limit": longest}
        raise InputRefused(faults=(fault(FaultCode.LINE_TOO_LONG, received=None, facts=facts),))
    if written_as is JobFormat.NDJSON:
        question = read_match_question(line.body, today=today)
    else:
        question = _read_rows(line.line, line.body, table=CsvRows(heading), today=today)
    return replace(question, catalog_release=None)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Row:
    number: int
    fields: Mapping[str, str]


def _read_rows(first: int, body: bytes, *, table: CsvRows, today: date) -> MatchQuestion:
    faults: list[Fault] = []
    rows: list[_Row] = []
    for number, text in enumerate(body.split(b"\n"), start=first):
        cells = table.cells(text)
        if cells is None:
            faults.append(_in_row(fault(FaultCode.NOT_CSV, received=None, facts={"line": number}), row=number))
        elif any(cell.strip() for cell in cells[len(table.names) :]):
            limit: dict[str, Fact] = {"limit": len(table.names)}
            faults.append(_in_row(fault(FaultCode.ROW_TOO_LONG, received=len(cells), facts=limit), row=number))
        elif any(cell.strip() for cell in cells):
            filled = {name: cell for name, cell in zip(table.names, cells, strict=False) if cell.strip()}
            rows.append(_Row(number=number, fields=filled))
    faults += _differing(rows)
    if faults:
        raise InputRefused(faults=tuple(faults))
    try:
        return read_match_question(_document(rows), today=today)
    except InputRefused as refused:
        raise InputRefused(faults=tuple(_placed(found, rows=rows) for found in refused.faults)) from None


def _document(rows: Sequence[_Row]) -> dict[str, object]:
    """The form of a match that the rows of one horse fill in."""
    told = {name: value for row in reversed(rows) for name, value in row.fields.items()}
    apart = (*_OF_THE_NAME, *OF_THE_HORSE, *OF_THE_FORM)
    horse: dict[str, object] = {name: told[name].strip() for name in OF_THE_HORSE if name in told}
    return {
        "horse": {"name": told.get(HORSE, told.get(HOOF, "")).strip(), **horse},
        **{name: [part.strip() for part in told[name].split(WITHIN_A_CELL)] for name in OF_THE_FORM if name in told},
        "hooves": [
            {
                name: field_value(name, cell.split(WITHIN_A_CELL))
                for name, cell in row.fields.items()
                if name not in apart
            }
            for row in rows
        ],
    }


def _differing(rows: Sequence[_Row]) -> Iterator[Fault]:
    """What one row of a horse says otherwise than one before it, though it is said of the horse."""
    said: dict[str, str] = {}
    for row in rows:
        for name in (*OF_THE_HORSE, *OF_THE_FORM):
            value = row.fields.get(name, "").strip()
            if value and said.setdefault(name, value) != value:
                found = fault(FaultCode.ROWS_DIFFER, received=value, facts={"field": name, "before": said[name]})
                yield _in_row(found, row=row.number, column=name)


def _placed(found: Fault, *, rows: Sequence[_Row]) -> Fault:
    match found.path:
        case ("hooves", int(index), str(name), *_) if index < len(rows):
            return _in_row(found, row=rows[index].number, column=name)
        case ("hooves", int(index), *_) if index < len(rows):
            return _in_row(found, row=rows[index].number)
        case ("horse", "name", *_):
            column = HORSE if HORSE in rows[0].fields else HOOF
            return _in_row(found, row=rows[0].number, column=column)
        case ("horse", str(name), *_) | (str(name), *_) if name in (*OF_THE_HORSE, *OF_THE_FORM):
            return _in_row(found, row=rows[0].number, column=name)
    return _in_row(found, row=rows[0].number)


def _in_row(found: Fault, *, row: int, column: str = "") -> Fault:
    place: dict[str, Fact] = {"row": row, "column": column} if column else {"row": row}
    path = ("rows", row, column) if column else ("rows", row)
    return Fault(path=path, code=found.code, received=found.received, facts={**found.facts, **place})
