"""Offer list: what is on sale, in a file of its own: JSON, YAML, or CSV with one offer a row."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import TypeVar

from hooflast.errors import Fault, InputRefused
from hooflast.exchange.csv_text import Table, read_csv
from hooflast.exchange.plain import Members, read_json
from hooflast.exchange.readings import ReadingsFormat
from hooflast.exchange.yaml_text import read_yaml

QuestionT = TypeVar("QuestionT")


@dataclass(frozen=True, slots=True, kw_only=True)
class OfferList:
    """Offers in the form of an order plan; `table` is the CSV they came from, if they did."""

    offers: object
    table: Table | None = None

    def read(self, reader: Callable[[], QuestionT]) -> QuestionT:
        """What `reader` gives. Raises InputRefused; a fault in an offer of a CSV names row and column."""
        try:
            return reader()
        except InputRefused as refused:
            raise InputRefused(faults=tuple(map(self._in_table, refused.faults))) from None

    def _in_table(self, found: Fault) -> Fault:
        match found.path:
            case ("offers", *steps) if self.table is not None:
                return self.table.in_table(replace(found, path=("hooves", *steps)))
        return found


def read_offer_list(raw: bytes, *, written_as: ReadingsFormat) -> OfferList:
    """Read a file of offers: a list, or an object that holds one as `offers`. Raises InputRefused."""
    if written_as is ReadingsFormat.CSV:
        table = read_csv(raw)
        return OfferList(offers=[_numbered(row) for row in table.hooves], table=table)
    document = read_json(raw) if written_as is ReadingsFormat.JSON else read_yaml(raw)
    if isinstance(document, Members):
        return OfferList(offers=dict(document).get("offers", document))
    return OfferList(offers=document)


def _numbered(row: object) -> object:
    """A row with its stock as a number, where it is one."""
    if not isinstance(row, Members):
        return row
    return Members(
        (name, int(value) if name == "stock" and isinstance(value, str) and value.isdecimal() else value)
        for name, value in row
    )
