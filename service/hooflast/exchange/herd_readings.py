"""Herd readings: a herd as a person hands it over in a file: JSON or YAML in the form of a herd, or CSV, a hoof a row.

In CSV the columns are the fields of a hoof, and `horse` and `animal_type` beside them: rows with the same horse are one
horse's hooves, a row without one is a horse of its own.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Final, TypeVar

from hooflast.exchange.csv_text import read_csv
from hooflast.exchange.plain import Members, read_json
from hooflast.exchange.readings import ReadingsFormat
from hooflast.exchange.yaml_text import read_yaml

QuestionT = TypeVar("QuestionT")

_OF_THE_HORSE: Final = ("horse", "animal_type")


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdReadings:
    """A herd as a document in the form of a herd."""

    document: object

    def read(self, reader: Callable[[object], QuestionT], *, beside: Mapping[str, object]) -> QuestionT:
        """What a reader makes of it. What stands `beside` it goes before it. Raises what the reader raises."""
        document = self.document
        if isinstance(document, Members):
            own = [(name, value) for name, value in document if name not in beside]
            return reader(Members([*own, *beside.items()]))
        if isinstance(document, Mapping):
            return reader({**document, **beside})
        return reader(document)


def read_herd(raw: bytes, *, written_as: ReadingsFormat) -> HerdReadings:
    """Read a file of a herd. Raises InputRefused."""
    if written_as is ReadingsFormat.CSV:
        return HerdReadings(
            document={"horses": _horses([row for row in read_csv(raw).hooves if isinstance(row, Members)])}
        )
    return HerdReadings(document=read_json(raw) if written_as is ReadingsFormat.JSON else read_yaml(raw))


def _horses(rows: list[Members]) -> list[Members]:
    horses: dict[object, list[Members]] = {}
    for number, row in enumerate(rows):
        fields = dict(row)
        horses.setdefault(fields.get("horse", number), []).append(row)
    return [_horse(hooves) for hooves in horses.values()]


def _horse(rows: list[Members]) -> Members:
    own = [(name, value) for name, value in rows[0] if name == "animal_type"]
    hooves = [Members((name, value) for name, value in row if name not in _OF_THE_HORSE) for row in rows]
    return Members([*own, ("hooves", hooves)])
