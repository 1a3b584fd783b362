"""Trim cycle advice: what to make of a size over the cycle, what to do about it, and when best to measure."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from hooflast.catalog.values import BootModel
from hooflast.fit.cycle import Moment, Turn, TurnSide
from hooflast.fit.hoof import Axis
from hooflast.fit.remark import Fact, Remark
from hooflast.fit.sizes import GIVE
from hooflast.matching.reasons import DOUBTFUL
from hooflast.matching.size_in_cycle import SizeInCycle
from hooflast.matching.trim_cycle_answer import WeekInCycle

BETTER_BY: Final = 0.05
"""A neighbour is named for the whole cycle if it holds more surely by this [C]."""

DECIDES_BY: Final = 0.02
"""A moment decides if the size fits less surely then by this [C]."""

NO_EARLIER_WEEKS: Final = 0.5
"""A turn that may come earlier than this after a trim may come at any time [C]."""

MUCH_GIVE_MM: Final = 4.0
"""What a closure that takes up much looseness gives, mm."""


def advice(
    sizes: Sequence[SizeInCycle],
    *,
    boot: BootModel,
    cycle_weeks: float,
    weeks: Sequence[WeekInCycle],
    turns: Mapping[Axis, Turn | None],
    own_readings: int,
) -> tuple[Remark, ...]:
    """What to say of the size looked at, `sizes[0]`, and of its neighbours: first what holds, then what to do.

    A size that is more likely than not to fit at every moment holds. Where none does, the week it turns is told, the
    longest cycle in which it would hold, and another closure. A turn that hardly comes within the cycle is not told.
    """
    chosen = sizes[0]
    found = [_verdict(sizes)]
    found += [_turn(axis, turned) for axis, turned in turns.items() if turned and turned.early_week <= cycle_weeks]
    if max(size.holds_chance for size in sizes) < DOUBTFUL:
        found += _ways_out(boot, weeks=weeks)
    found.append(_best_moment(chosen))
    if not own_readings:
        found.append(Remark(code="measure-at-both"))
    return tuple(found)


def _verdict(sizes: Sequence[SizeInCycle]) -> Remark:
    chosen, surest = sizes[0], max(sizes, key=lambda size: size.holds_chance)
    facts: dict[str, Fact] = {"size": chosen.size.code, "holds_chance": chosen.holds_chance}
    if surest.holds_chance < DOUBTFUL:
        nearest: dict[str, Fact] = {} if surest is chosen else {"other_size": surest.size.code}
        return Remark(code="none-holds", facts={**facts, **nearest})
    if surest.holds_chance > chosen.holds_chance + BETTER_BY:
        better: dict[str, Fact] = {"other_size": surest.size.code, "other_chance": surest.holds_chance}
        return Remark(code="neighbour-holds-better", facts={**facts, **better})
    return Remark(code="holds", facts=facts)


def _turn(axis: Axis, turned: Turn) -> Remark:
    """The week of a turn, or that it has turned with the trim already, or that it only may turn."""
    facts: dict[str, Fact] = {"axis": axis.value}
    is_tight = turned.side is TurnSide.TIGHT
    if turned.late_week is not None:
        facts["late_weeks"] = round(turned.late_week, 1)
    if turned.early_week >= NO_EARLIER_WEEKS:
        facts["early_weeks"] = round(turned.early_week, 1)
    if turned.week is None:
        return Remark(code="may-turn-tight" if is_tight else "may-turn-loose", facts=facts)
    if turned.week == 0.0:
        return Remark(code="tight-from-the-trim" if is_tight else "loose-from-the-trim", facts=facts)
    facts["turn_weeks"] = round(turned.week, 1)
    return Remark(code="turns-tight" if is_tight else "turns-loose", facts=facts)


def _ways_out(boot: BootModel, *, weeks: Sequence[WeekInCycle]) -> Iterator[Remark]:
    """The longest shorter cycle in which the size would hold from trim to trim, and closures that give more."""
    holding = [each.week for each in weeks[1:-1] if each.still_fits_chance >= DOUBTFUL]
    if holding:
        yield Remark(code="shorten-the-cycle", facts={"cycle_weeks": holding[-1]})
    if GIVE[boot.closure].loose_mm < MUCH_GIVE_MM:
        yield Remark(code="closure-that-takes-up", facts={"closure": boot.closure.value})


def _best_moment(chosen: SizeInCycle) -> Remark:
    """The moment at which the size is least likely to fit decides, and what is read then needs no growth added to it.

    Where neither end of the cycle decides, just after the trim: charts presume a freshly trimmed hoof [CP].
    """
    trimmed, at_the_end = chosen.chances[Moment.AFTER_TRIM], chosen.chances[Moment.END_OF_CYCLE]
    if at_the_end < trimmed - DECIDES_BY:
        return Remark(code="measure-before-the-trim", facts={"fit_chance": at_the_end})
    if trimmed < at_the_end - DECIDES_BY:
        return Remark(code="measure-after-the-trim", facts={"fit_chance": trimmed})
    return Remark(code="measure-freshly-trimmed")
