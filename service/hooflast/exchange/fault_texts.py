"""Fault texts: faults told to a person: where, what is wrong, and what is accepted."""

from dataclasses import dataclass

from hooflast.catalog.validation import fault_point
from hooflast.errors import Fault
from hooflast.texts import Texts


@dataclass(frozen=True, slots=True, kw_only=True)
class FaultText:
    """One fault in sentences."""

    place: str
    wrong: str
    accepted: str


def tell_fault(fault: Fault, *, texts: Texts) -> FaultText:
    """A fault in sentences; its place as row and column if it stands in a table, else as a JSON Pointer."""
    return FaultText(
        place=_place(fault, texts=texts),
        wrong=texts.say(f"fault.{fault.code}", fault.facts),
        accepted=texts.say(f"fault.{fault.code}.accepted", fault.facts),
    )


def tell_at_source(fault: Fault, *, texts: Texts) -> str:
    """A fault of a catalog file in one line: its source, its place in it, and what is wrong there."""
    point = fault_point(fault, plugin="")
    said = (point.source, point.place, texts.say(f"fault.{fault.code}", fault.facts))
    return " ".join(part for part in said if part)


def _place(fault: Fault, *, texts: Texts) -> str:
    if "column" in fault.facts and "row" in fault.facts:
        return texts.say("place.cell", fault.facts)
    if "row" in fault.facts:
        return texts.say("place.row", fault.facts)
    return fault.pointer or texts.say("place.whole")
