"""Outcome rows: a file of outcomes, one a row, as CSV or as JSON on lines of their own (NDJSON)."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.csv_text import Table, read_csv
from hooflast.exchange.outcome_form import read_outcomes_of_a_file
from hooflast.exchange.plain import read_json, read_text
from hooflast.matching.outcomes import OutcomesQuestion


class OutcomesFormat(StrEnum):
    """How a file of outcomes is written."""

    NDJSON = "ndjson"
    CSV = "csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomeRows:
    """The rows of a file of outcomes."""

    table: Table

    def question(self, *, today: date, beside: Mapping[str, object]) -> OutcomesQuestion:
        """The outcomes, with what was told beside the file. Raises InputRefused; every fault names its row."""
        document = {**beside, "outcomes": list(self.table.hooves)}
        try:
            return read_outcomes_of_a_file(document, today=today)
        except InputRefused as refused:
            raise self.in_file(refused) from None

    def in_file(self, refused: InputRefused) -> InputRefused:
        """The same faults, with their rows instead of their places among the outcomes."""
        return InputRefused(faults=tuple(map(self.table.in_table, refused.faults)))


def read_outcome_rows(raw: bytes, *, written_as: OutcomesFormat) -> OutcomeRows:
    """Read a file of outcomes. Raises InputRefused with every row that cannot be read."""
    return OutcomeRows(table=read_csv(raw) if written_as is OutcomesFormat.CSV else _read_lines(raw))


def _read_lines(raw: bytes) -> Table:
    """One JSON object a line; empty lines are passed over."""
    read, rows, faults = [], [], []
    for number, line in enumerate(read_text(raw).split("\n"), start=1):
        if not line.strip():
            continue
        try:
            read.append(read_json(line.encode()))
            rows.append(number)
        except InputRefused as refused:
            faults += [_on_line(found, number=number) for found in refused.faults]
    if faults:
        raise InputRefused(faults=tuple(faults))
    return Table(hooves=tuple(read), rows=tuple(rows))


def _on_line(found: Fault, *, number: int) -> Fault:
    facts: dict[str, Fact] = {**found.facts, "line": number, "row": number}
    return Fault(path=("rows", number), code=found.code, received=found.received, facts=facts)
