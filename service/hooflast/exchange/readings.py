"""Readings: hooves as a person hands them over: as flags on a command line, or in a JSON, YAML or CSV file.

All of them become one document and are read as the request of a match is.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date
from enum import StrEnum
from typing import Final, TypeVar

from hooflast.errors import InputRefused
from hooflast.exchange.cells import field_name, field_value
from hooflast.exchange.csv_text import Table, read_csv
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.match_form import read_match_question
from hooflast.exchange.plain import Members, read_json
from hooflast.exchange.yaml_text import read_yaml
from hooflast.matching.question import MatchQuestion

QuestionT = TypeVar("QuestionT")

_FLAG: Final = re.compile(r"\s*(?P<limb>\w{1,20})\s*:(?P<rest>.+)", re.DOTALL)
_NEXT_FIELD: Final = re.compile(r",\s*(?=[A-Za-z_ -]+=)")


class ReadingsFormat(StrEnum):
    """How a file of readings is written."""

    JSON = "json"
    YAML = "yaml"
    CSV = "csv"


@dataclass(frozen=True, slots=True, kw_only=True)
class Readings:
    """Readings as a document in the form of a match; `table` is the CSV they came from, if they did."""

    document: object
    table: Table | None = None

    def question(self, *, today: date, beside: Mapping[str, object] | None = None) -> MatchQuestion:
        """The question of a match they ask, as `read` reads it."""
        return self.read(lambda document: read_match_question(document, today=today), beside=beside)

    def read(self, reader: Callable[[object], QuestionT], *, beside: Mapping[str, object] | None = None) -> QuestionT:
        """What `reader` makes of them. What stands `beside` them goes before what the document says.

        Raises InputRefused with every fault; those of a CSV name row and column.
        """
        document = self.document
        if beside and isinstance(document, Members | Mapping):
            document = _joined(document, beside)
        try:
            return reader(document)
        except InputRefused as refused:
            if self.table is None:
                raise
            raise InputRefused(faults=tuple(map(self.table.in_table, refused.faults))) from None


def read_readings(raw: bytes, *, written_as: ReadingsFormat) -> Readings:
    """Read a file of readings. Raises InputRefused."""
    if written_as is ReadingsFormat.CSV:
        table = read_csv(raw)
        return Readings(document={"hooves": list(table.hooves)}, table=table)
    return Readings(document=read_json(raw) if written_as is ReadingsFormat.JSON else read_yaml(raw))


def read_flags(flags: Sequence[str]) -> Readings:
    """Read reading flags such as `LF:width=124,length=128`, one per hoof; a field given twice is a repeated reading.

    Raises InputRefused with every flag that cannot be read.
    """
    unreadable = []
    hooves = []
    for number, flag in enumerate(flags):
        hoof = _hoof(flag)
        if hoof is None:
            unreadable.append(fault(FaultCode.FLAG_UNREADABLE, path=("hooves", number), received=flag))
        else:
            hooves.append(hoof)
    if unreadable:
        raise InputRefused(faults=tuple(unreadable))
    return Readings(document={"hooves": hooves})


def _joined(document: object, beside: object) -> object:
    """Both objects as one, member by member; where they meet in anything else, `beside` stands."""
    if isinstance(document, Members) and isinstance(beside, Mapping):
        own = [(name, _joined(value, beside[name]) if name in beside else value) for name, value in document]
        named = {name for name, _ in document}
        return Members([*own, *((name, value) for name, value in beside.items() if name not in named)])
    if isinstance(document, Mapping) and isinstance(beside, Mapping):
        return _joined(Members(document.items()), beside)
    return beside


def _hoof(flag: str) -> dict[str, object] | None:
    found = _FLAG.fullmatch(flag)
    if found is None:
        return None
    written: dict[str, list[str]] = {}
    for part in _NEXT_FIELD.split(found["rest"]):
        name, equals, text = part.partition("=")
        if not equals or not text.strip():
            return None
        written.setdefault(field_name(name), []).append(text)
    return {"limb": found["limb"], **{name: field_value(name, texts) for name, texts in written.items()}}
