"""Horse file: many horses in one file, each in the form of a match: a list in JSON or YAML, or one a line (NDJSON)."""

from collections.abc import Iterator, Mapping
from datetime import date
from enum import StrEnum
from typing import Final

from hooflast.errors import Fact, Fault, InputRefused
from hooflast.exchange.faults import FaultCode, ValueType, fault
from hooflast.exchange.match_form import read_match_question
from hooflast.exchange.plain import Members, read_json, read_text
from hooflast.exchange.yaml_text import read_yaml
from hooflast.matching.question import MatchQuestion

MOST_HORSES: Final = 100_000
MOST_FAULTS: Final = 100


class HorsesFormat(StrEnum):
    """How a file of horses is written."""

    JSON = "json"
    YAML = "yaml"
    NDJSON = "ndjson"


def read_horses(raw: bytes, *, written_as: HorsesFormat, today: date) -> tuple[MatchQuestion, ...]:
    """Every horse of a file. Raises InputRefused with the faults of all of them, up to a hundred."""
    horses, faults = [], list[Fault]()
    for place, written in _written(raw, written_as=written_as):
        try:
            horses.append(read_match_question(written() if callable(written) else written, today=today))
        except InputRefused as refused:
            faults += [_at(found, place=place) for found in refused.faults]
        if len(faults) >= MOST_FAULTS:
            break
        if len(horses) > MOST_HORSES:
            faults.append(fault(FaultCode.TOO_MANY, received=len(horses), facts={"limit": MOST_HORSES}))
            break
    if faults:
        raise InputRefused(faults=tuple(faults[:MOST_FAULTS]))
    return tuple(horses)


def _written(raw: bytes, *, written_as: HorsesFormat) -> Iterator[tuple[tuple[str, int], object]]:
    """Each horse with its place: a line of the file, or the how-manieth of the list."""
    if written_as is HorsesFormat.NDJSON:
        for number, line in enumerate(read_text(raw).split("\n"), start=1):
            if line.strip():
                yield ("rows", number), lambda line=line: read_json(line.encode())
        return
    document = read_json(raw) if written_as is HorsesFormat.JSON else read_yaml(raw)
    members = dict(document) if isinstance(document, Members | Mapping) else {}
    listed = members.get("horses", document)
    if not isinstance(listed, list) or isinstance(listed, Members):
        facts: dict[str, Fact] = {"expected_type": ValueType.LIST.value}
        raise InputRefused(faults=(fault(FaultCode.WRONG_TYPE, received=document, facts=facts),))
    for place, horse in enumerate(listed):
        yield ("horses", place), horse


def _at(found: Fault, *, place: tuple[str, int]) -> Fault:
    kind, number = place
    facts = {**found.facts, "row": number} if kind == "rows" else found.facts
    return Fault(path=(kind, number, *found.path), code=found.code, received=found.received, facts=facts)
