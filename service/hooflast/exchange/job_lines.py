"""Job lines: the input of a match job taken apart into horses as it comes, piece by piece, holding one horse at a time.

NDJSON has one horse a line. CSV has one hoof a row below a heading; rows that follow each other and name the same
`horse` are one horse, any other row is a horse by itself. A row ends with its line, so that a quote nobody closed
spoils that row alone. Lines count from 1, blank ones too.
"""

import csv
from collections.abc import Iterator, Sequence
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.cells import field_name
from hooflast.exchange.csv_text import DELIMITERS
from hooflast.exchange.faults import FaultCode, closest, fault
from hooflast.store.match_job_values import JobFormat, JobLine

HORSE: Final = "horse"
HOOF: Final = "hoof"
OF_THE_HORSE: Final = ("animal_type", "girth", "build")
OF_THE_FORM: Final = ("uses", "closures")
OF_THE_HOOF: Final = (
    "limb",
    "unit",
    "width",
    "length",
    "resolution",
    "allowance",
    "states",
    "method",
    "observer",
    "measured_on",
    "weeks_since_trim",
)
COLUMNS: Final = (HORSE, HOOF, *OF_THE_HORSE, *OF_THE_FORM, *OF_THE_HOOF)
REQUIRED: Final = ("limb", "width", "length")
_BYTE_ORDER_MARK: Final = b"\xef\xbb\xbf"


class JobLines:
    """Takes pieces of an input and gives the horses that are whole.

    A horse longer than `longest` bytes is given without its text. Raises InputRefused for a heading of no use, and for
    more than `most` horses.
    """

    def __init__(self, *, written_as: JobFormat, longest: int, most: int) -> None:
        self.horses = 0
        self._most = most
        self._lines = _Lines(longest=longest)
        self._rows = _Rows(longest=longest) if written_as is JobFormat.CSV else None

    @property
    def heading(self) -> str:
        """The first row of a CSV as it was written; empty for NDJSON."""
        return "" if self._rows is None else self._rows.heading

    def take(self, piece: bytes) -> list[JobLine]:
        """The horses that a further piece makes whole."""
        return self._counted(self._horses(self._lines.take(piece)))

    def end(self) -> list[JobLine]:
        """The horses left when all pieces have come. Raises InputRefused where there was none at all."""
        found = self._counted(self._horses(self._lines.end()))
        if self._rows is not None:
            found += self._counted(self._rows.end())
        if not self.horses:
            raise InputRefused(faults=(fault(FaultCode.TOO_FEW, received=0, facts={"limit": 1}),))
        return found

    def _horses(self, lines: Sequence[JobLine]) -> Iterator[JobLine]:
        if self._rows is None:
            yield from (one for one in lines if one.body is None or one.body.strip())
            return
        for one in lines:
            yield from self._rows.take(one)

    def _counted(self, found: Iterator[JobLine]) -> list[JobLine]:
        horses = list(found)
        self.horses += len(horses)
        if self.horses > self._most:
            facts: dict[str, Fact] = {"limit": self._most}
            raise InputRefused(faults=(fault(FaultCode.TOO_MANY, received=self.horses, facts=facts),))
        return horses


class _Lines:
    """Bytes taken apart at line ends; of a line that is too long only its number stays."""

    def __init__(self, *, longest: int) -> None:
        self._longest = longest
        self._number = 0
        self._open = bytearray()
        self._is_too_long = False

    def take(self, piece: bytes) -> list[JobLine]:
        *whole, rest = piece.split(b"\n")
        found = []
        for part in whole:
            self._append(part)
            found.append(self._close())
        self._append(rest)
        return found

    def end(self) -> list[JobLine]:
        return [self._close()] if self._open or self._is_too_long else []

    def _append(self, part: bytes) -> None:
        self._open += part[: self._longest + 2]
        if len(self._open) > self._longest + 1:
            self._is_too_long = True
            self._open.clear()

    def _close(self) -> JobLine:
        self._number += 1
        body = bytes(self._open).removesuffix(b"\r")
        if self._number == 1:
            body = body.removeprefix(_BYTE_ORDER_MARK)
        is_too_long = self._is_too_long or len(body) > self._longest
        self._open.clear()
        self._is_too_long = False
        return JobLine(line=self._number, body=None if is_too_long else body)


class _Rows:
    """Rows of a CSV put together to horses."""

    def __init__(self, *, longest: int) -> None:
        self.heading = ""
        self._longest = longest
        self._table: CsvRows | None = None
        self._horse: JobLine | None = None
        self._name = ""
        self._next_line = 0

    def take(self, row: JobLine) -> Iterator[JobLine]:
        if self._table is None:
            if row.body is None or row.body.strip():
                self.heading = _heading(row)
                self._table = CsvRows(self.heading)
            return
        cells = None if row.body is None else self._table.cells(row.body)
        if cells is not None and not any(cell.strip() for cell in cells):
            return
        name = "" if cells is None else self._table.cell(cells, HORSE)
        if self._horse is not None and name and name == self._name:
            self._horse = self._longer(self._horse, row)
        else:
            yield from self.end()
            self._horse, self._name = row, name
        self._next_line = row.line + 1

    def end(self) -> Iterator[JobLine]:
        if self._horse is not None:
            yield self._horse
            self._horse = None

    def _longer(self, horse: JobLine, row: JobLine) -> JobLine:
        """A horse with one more row; the blank lines between stay, so that its rows keep their numbers."""
        if horse.body is None or row.body is None:
            return JobLine(line=horse.line, body=None)
        body = horse.body + b"\n" * (row.line - self._next_line + 1) + row.body
        return JobLine(line=horse.line, body=body if len(body) <= self._longest else None)


class CsvRows:
    """The rows below a heading, parted by what the heading is parted by."""

    def __init__(self, heading: str) -> None:
        self._delimiter = next((mark for mark in DELIMITERS if mark in heading), ",")
        self.names = [field_name(cell) for cell in self._read(heading) or []]

    def cells(self, row: bytes) -> list[str] | None:
        """The cells of one row; None if it is no text in UTF-8 or no CSV."""
        try:
            return self._read(row.decode("utf-8"))
        except UnicodeDecodeError:
            return None

    def cell(self, cells: Sequence[str], name: str) -> str:
        """What a row has in the column `name`."""
        return next((cell.strip() for known, cell in zip(self.names, cells, strict=False) if known == name), "")

    def _read(self, text: str) -> list[str] | None:
        try:
            return next(csv.reader([text], delimiter=self._delimiter, skipinitialspace=True, strict=True), [])
        except csv.Error:
            return None


def _heading(row: JobLine) -> str:
    """The heading that a row is. Raises InputRefused with every fault in it."""
    line: dict[str, Fact] = {"line": row.line}
    if row.body is None:
        raise InputRefused(faults=(fault(FaultCode.NOT_CSV, path=("rows", row.line), received=None, facts=line),))
    try:
        heading = row.body.decode("utf-8")
    except UnicodeDecodeError as error:
        facts: dict[str, Fact] = {"position": error.start}
        raise InputRefused(faults=(fault(FaultCode.NOT_UTF_8, received=None, facts=facts),)) from None
    faults = tuple(_heading_faults(CsvRows(heading).names, row=row.line))
    if faults:
        raise InputRefused(faults=faults)
    return heading


def _heading_faults(names: Sequence[str], *, row: int) -> Iterator[Fault]:
    for name in REQUIRED:
        if name not in names:
            yield fault(FaultCode.MISSING, path=("rows", row, name), received=None, facts={"row": row, "field": name})
    for place, name in enumerate(names):
        path = ("rows", row, name)
        if name not in COLUMNS:
            facts = {"row": row, "field": name, "accepted_list": ", ".join(COLUMNS), **closest(name, COLUMNS)}
            yield fault(FaultCode.UNKNOWN_FIELD, path=path, received=name, facts=facts)
        elif name in names[:place]:
            yield fault(FaultCode.DUPLICATE_KEY, path=path, received=name, facts={"row": row, "key": name})
