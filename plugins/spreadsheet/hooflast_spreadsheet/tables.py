"""Tables: a spreadsheet's bytes as rows of texts, each with the place it stands at."""

import csv
import zipfile
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from io import BytesIO, StringIO
from typing import Any, Final

from openpyxl import load_workbook
from openpyxl.utils import get_column_letter

MOST_ROWS: Final = 20_000
MOST_COLUMNS: Final = 200
MOST_UNPACKED: Final = 100_000_000
"""Bytes that a workbook may unpack to: a small file can stand for an enormous one."""

_DELIMITERS: Final = ";\t,|"
_LOOKED_AT: Final = 5_000
"""Characters at the top of a CSV file in which the most frequent of these signs parts the cells."""


class TableRefused(ValueError):
    """Why a spreadsheet cannot be read."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cell:
    """What stands in a cell, as text; `doubt` says why it may not be what was written there."""

    text: str
    column: int
    doubt: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Row:
    """One row: its number, from 1, and its cells from the first column on."""

    number: int
    cells: tuple[Cell, ...]

    def is_empty(self) -> bool:
        """Whether nothing stands in it."""
        return not any(cell.text for cell in self.cells)


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A sheet. A CSV file is one sheet without a name."""

    sheet: str
    rows: tuple[Row, ...]

    def place(self, row: Row, column: int | None = None) -> str:
        """A row, or a cell of it, as people call it: `Sizes, row 7`, `Sizes!C7`."""
        if column is None:
            return f"{self.sheet}, row {row.number}" if self.sheet else f"row {row.number}"
        cell = f"{get_column_letter(column)}{row.number}"
        return f"{self.sheet}!{cell}" if self.sheet else cell


def read_tables(content: bytes, *, name: str) -> list[Table]:
    """The sheets of a spreadsheet. Raises TableRefused."""
    if name.lower().endswith(".csv"):
        return [_csv(content)]
    if name.lower().endswith(".xlsx"):
        return list(_workbook(content))
    raise TableRefused(f"{name} is neither .xlsx nor .csv")


def _csv(content: bytes) -> Table:
    text = _text(content)
    top = text[:_LOOKED_AT]
    delimiter = max(_DELIMITERS, key=top.count)
    rows = []
    try:
        for number, cells in enumerate(
            csv.reader(StringIO(text, newline=""), delimiter=delimiter, strict=True), start=1
        ):
            _bound(rows=number, columns=len(cells))
            told = (Cell(text=_tidy(cell), column=place) for place, cell in enumerate(cells, start=1))
            rows.append(Row(number=number, cells=tuple(told)))
    except csv.Error as error:
        raise TableRefused(f"row {len(rows) + 1} is no CSV: {error}") from None
    return Table(sheet="", rows=tuple(rows))


def _text(content: bytes) -> str:
    """UTF-8 or, as older spreadsheets save it, UTF-16 or Windows-1252."""
    encodings = ("utf-16",) if content[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    for encoding in encodings:
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise TableRefused("its text is neither UTF-8, UTF-16 nor Windows-1252")


def _workbook(content: bytes) -> Iterator[Table]:
    try:
        with zipfile.ZipFile(BytesIO(content)) as packed:
            unpacked = sum(member.file_size for member in packed.infolist())
        if unpacked > MOST_UNPACKED:
            raise TableRefused(f"it unpacks to {unpacked} bytes, more than {MOST_UNPACKED}")
        book = load_workbook(BytesIO(content), data_only=True, keep_links=False)
    except TableRefused:
        raise
    except Exception as error:
        raise TableRefused(f"it is no workbook: {type(error).__name__}: {error}") from None
    for sheet in book.worksheets:
        _bound(rows=sheet.max_row or 0, columns=sheet.max_column or 0)
        merged = {
            (row, column): sheet.cell(area.min_row, area.min_col).value
            for area in sheet.merged_cells.ranges
            for row in range(area.min_row, area.max_row + 1)
            for column in range(area.min_col, area.max_col + 1)
        }
        rows = tuple(
            Row(
                number=number,
                cells=tuple(
                    _cell(merged.get((number, column), value), column=column)
                    for column, value in enumerate(values, start=1)
                ),
            )
            for number, values in enumerate(sheet.iter_rows(values_only=True), start=1)
        )
        yield Table(sheet=sheet.title, rows=rows)


def _cell(value: Any, *, column: int) -> Cell:
    if isinstance(value, datetime | date | time):
        return Cell(text=str(value), column=column, doubt="the spreadsheet has made a date of it")
    if isinstance(value, bool):
        return Cell(text=str(value), column=column, doubt="it is a truth value")
    if isinstance(value, float) and value.is_integer():
        value = int(value)
    text = "" if value is None else _tidy(str(value))
    return Cell(text=text, column=column, doubt="it is an error of the spreadsheet" if text.startswith("#") else "")


def _tidy(text: str) -> str:
    return " ".join(text.split())


def _bound(*, rows: int, columns: int) -> None:
    if rows > MOST_ROWS or columns > MOST_COLUMNS:
        raise TableRefused(f"it has more than {MOST_ROWS} rows or {MOST_COLUMNS} columns")
