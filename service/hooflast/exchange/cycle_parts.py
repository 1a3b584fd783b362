"""Cycle parts: one size over the trim cycle as a document, for the answer to a match and for the trim cycle alike."""

from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import Chance, Document, rounded, rounded_chance
from hooflast.fit.cycle import Moment, Turn, TurnSide
from hooflast.fit.hoof import Axis
from hooflast.matching.size_in_cycle import BestInCycle, SizeInCycle


class MomentChancesDocument(Document, frozen=True):
    """Chance that a size fits at each moment."""

    as_measured: Chance
    after_trim: Annotated[float, Meta(ge=0, le=1, description="Just after the next trim.")]
    end_of_cycle: Annotated[float, Meta(ge=0, le=1, description="Just before the trim after that.")]


class SizeInCycleDocument(Document, frozen=True):
    """One size over the cycle."""

    size: Annotated[str, Meta(description="The maker's size code.")]
    chances: MomentChancesDocument
    holds_chance: Annotated[
        float,
        Meta(ge=0, le=1, description="Chance that it fits at all three moments and in the weeks between: one hoof."),
    ]


class TurnDocument(Document, frozen=True):
    """When the size turns tight or loose on one axis, in weeks after a trim. Null: later than two cycles."""

    side: TurnSide
    week: Annotated[float | None, Meta(description="By this week it is as likely as not to have turned.")]
    early_week: Annotated[float, Meta(description="By this week it has turned with a chance of 10 %.")]
    late_week: Annotated[float | None, Meta(description="By this week it has turned with a chance of 90 %.")]


class BestInCycleDocument(Document, frozen=True):
    """The best size of the first boot over the trim cycle. An axis on which it hardly ever turns is null."""

    best: SizeInCycleDocument
    width_turn: TurnDocument | None
    length_turn: TurnDocument | None


def size_in_cycle(size: SizeInCycle) -> SizeInCycleDocument:
    """One size over the cycle, as a document."""
    chances = {moment.value: rounded_chance(size.chances[moment]) for moment in Moment}
    return SizeInCycleDocument(
        size=size.size.code, chances=MomentChancesDocument(**chances), holds_chance=rounded_chance(size.holds_chance)
    )


def turn_document(turned: Turn | None) -> TurnDocument | None:
    """The turn of a size, as a document."""
    if turned is None:
        return None
    week, late_week = (None if week is None else rounded(week, decimals=1) for week in (turned.week, turned.late_week))
    early_week = rounded(turned.early_week, decimals=1)
    return TurnDocument(side=turned.side, week=week, early_week=early_week, late_week=late_week)


def best_in_cycle_document(found: BestInCycle | None) -> BestInCycleDocument | None:
    """The best size of the first boot over the cycle, as a document, if a cycle was told."""
    if found is None:
        return None
    return BestInCycleDocument(
        best=size_in_cycle(found.best),
        width_turn=turn_document(found.turns[Axis.WIDTH]),
        length_turn=turn_document(found.turns[Axis.LENGTH]),
    )
