"""Turning: which reading matters most, said as how little it would have to differ for another size to be best."""

from hooflast.fit.hoof import Axis, HoofReading
from hooflast.fit.match import HoofMatch
from hooflast.fit.pad import RoomLost
from hooflast.fit.remark import Fact, Remark
from hooflast.fit.sensitivity import nearest_turns
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf


def turns(
    reading: HoofReading, *, match: HoofMatch, room: RoomLost | None, question: MatchQuestion, shelf: Shelf
) -> tuple[Remark, ...]:
    """The turning points of the first boot model, the nearest first; none for a foot on which no series is tried."""
    if not match.boots or is_painful(question.needs):
        return ()
    first = match.boots[0]
    found = nearest_turns(
        reading, shelf.table, animal_type=question.animal_type, boot=first.boot, best=first.best, room=room
    )
    return tuple(_said(turn.axis, change_mm=turn.change_mm, size=shelf.sizes[turn.size].code) for turn in found)


def _said(axis: Axis, *, change_mm: float, size: str) -> Remark:
    facts: dict[str, Fact] = {"change_mm": abs(change_mm), "size": size}
    if axis is Axis.WIDTH:
        return Remark(code="more-width" if change_mm > 0.0 else "less-width", facts=facts)
    return Remark(code="more-length" if change_mm > 0.0 else "less-length", facts=facts)
