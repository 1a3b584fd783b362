"""CSV text: one hoof per row, the fields of a hoof as columns (RFC 4180, and what spreadsheets make of it).

The first row names the columns. Cells are parted by commas, semicolons or tabs, whichever the first row has; with
semicolons a decimal comma needs no quotes. Repeated readings and several states are parted by `|` inside a cell.
An empty cell leaves its field out; an empty row is passed over.
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused, Path
from hooflast.exchange.cells import field_name, field_value
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.plain import Members, read_text

WITHIN_A_CELL: Final = "|"
DELIMITERS: Final = ("\t", ";", ",")


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """The hooves of a CSV text, or its outcomes, and for each the number of its row, the first row being 1.

    `names` are the fields that its columns hold.
    """

    hooves: tuple[object, ...]
    rows: tuple[int, ...]
    names: tuple[str, ...] = ()

    def in_table(self, found: Fault) -> Fault:
        """A fault found in a hoof, with its row and its column instead of its place among the others."""
        match found.path:
            case ("hooves" | "outcomes", int(index), *steps) if index < len(self.rows):
                return _at(found, row=self.rows[index], steps=steps)
        return found


def read_csv(raw: bytes) -> Table:
    """Read CSV. Raises InputRefused, naming row and column."""
    text = read_text(raw)
    first_line = text.lstrip("\r\n").partition("\n")[0]
    delimiter = next((mark for mark in DELIMITERS if mark in first_line), ",")
    reader = csv.reader(text.splitlines(keepends=True), delimiter=delimiter, skipinitialspace=True, strict=True)
    try:
        written = [(number, cells) for number, cells in enumerate(reader, start=1) if any(map(str.strip, cells))]
    except csv.Error:
        facts = {"line": reader.line_num}
        raise InputRefused(faults=(fault(FaultCode.NOT_CSV, received=None, facts=facts),)) from None
    if not written:
        raise InputRefused(faults=(fault(FaultCode.NOT_CSV, received=text, facts={"line": 1}),))
    names = [field_name(cell) for cell in written[0][1]]
    too_long = [
        fault(FaultCode.ROW_TOO_LONG, path=("rows", row), received=len(cells), facts={"row": row, "limit": len(names)})
        for row, cells in written[1:]
        if any(cell.strip() for cell in cells[len(names) :])
    ]
    if too_long:
        raise InputRefused(faults=tuple(too_long))
    return Table(
        hooves=tuple(_hoof(names, cells) for _, cells in written[1:]),
        rows=tuple(row for row, _ in written[1:]),
        names=tuple(names),
    )


def _hoof(names: Sequence[str], cells: Sequence[str]) -> Members:
    filled = [(name, cell) for name, cell in zip(names, cells, strict=False) if cell.strip()]
    return Members((name, field_value(name, cell.split(WITHIN_A_CELL))) for name, cell in filled)


def _at(found: Fault, *, row: int, steps: Sequence[str | int]) -> Fault:
    path: Path = ("rows", row, *steps[:1])
    place: dict[str, Fact] = {"row": row}
    if steps:
        place["column"] = str(steps[0])
    return Fault(path=path, code=found.code, received=found.received, facts={**found.facts, **place})
