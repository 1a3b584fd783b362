"""Trim cycle: a horse's hooves over the weeks between two trims, in one boot model; which size holds, and how long.

A foal gets no sizes: its hooves grow otherwise. On an acutely painful foot one size is told, no neighbour, and no
advice but to ask the veterinarian.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from math import floor

import numpy as np
from numpy.typing import NDArray

from hooflast.errors import Fault, InputRefused
from hooflast.fit.chances import preference
from hooflast.fit.cycle import Cycle, Moment, chances_at, held_chances, hoof_after, hoof_at
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.growth import usual_changes
from hooflast.fit.history import Learned, learn
from hooflast.fit.hoof import HoofReading, Limb, Method
from hooflast.fit.match import match_hoof
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import SizeTable
from hooflast.matching.answer import Estimated
from hooflast.matching.cautions import COMMON_PRACTICE, CONVENTION, hoof_cautions, horse_cautions
from hooflast.matching.choosing import STANDING_USES, choose_boots
from hooflast.matching.comparisons import comparison_cautions
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.size_in_cycle import sizes_in_cycle, told_by, turns_of
from hooflast.matching.trim_cycle_advice import advice
from hooflast.matching.trim_cycle_answer import CycleAnswer, CycleQuestion, HoofInCycle, WeekInCycle
from hooflast.matching.versions import versions_of


def answer_trim_cycle(question: CycleQuestion, shelf: Shelf, *, today: date, language: str) -> CycleAnswer:
    """Work out every hoof of one horse. Raises InputRefused for a boot model or size the catalog release has not."""
    horse = question.horse
    named = None if question.boot is None else _named(question, shelf)
    shelf = shelf.on(today) if named is None else shelf
    served = _served(horse, shelf, named=named, today=today)
    hooves = [
        _in_cycle(reading, boots=served[reading.limb], named=named, question=question, shelf=shelf)
        for reading in horse.hooves
    ]
    return CycleAnswer(
        question=question,
        hooves=tuple(hooves),
        cautions=(*horse_cautions(horse), *comparison_cautions(horse)),
        assumptions=tuple(_assumptions(question, hooves=hooves)),
        versions=versions_of(shelf, language=language),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Named:
    """The boot model that was asked about, as its place on the shelf, and its size, as a place in the table."""

    boot: int
    size: int | None


def _named(question: CycleQuestion, shelf: Shelf) -> _Named:
    at = next((index for index, boot in enumerate(shelf.boots) if boot.id == question.boot), None)
    if at is None:
        raise InputRefused(faults=(Fault(path=("boot",), code="boot-unknown", received=question.boot),))
    if question.size is None:
        return _Named(boot=at, size=None)
    codes = [size.code for size in shelf.boots[at].sizes]
    if question.size not in codes:
        facts = {"boot": shelf.boots[at].name, "accepted_list": ", ".join(codes)}
        raise InputRefused(faults=(Fault(path=("size",), code="size-unknown", received=question.size, facts=facts),))
    return _Named(boot=at, size=shelf.table.sizes_of(at)[codes.index(question.size)])


def _served(
    horse: MatchQuestion, shelf: Shelf, *, named: _Named | None, today: date
) -> Mapping[Limb, NDArray[np.intp]]:
    """Per limb the boot models in question. A named one may be no longer made, and be made for standing only."""
    if named is None:
        return choose_boots(horse, shelf, today=today).boots
    boot = replace(shelf.boots[named.boot], discontinued_on=None)
    at_rest = replace(horse, uses=boot.intended_uses & STANDING_USES)
    alone = choose_boots(at_rest, replace(shelf, boots=(boot,)), today=today).boots
    return {limb: served + named.boot for limb, served in alone.items()}


def _in_cycle(
    reading: HoofReading,
    *,
    boots: NDArray[np.intp],
    named: _Named | None,
    question: CycleQuestion,
    shelf: Shelf,
) -> HoofInCycle:
    """One hoof in the named boot model, or in the one of these that follows it best."""
    horse = question.horse
    learned = _learned(reading, question=question)
    cycle = Cycle(
        estimate=estimate_hoof(reading, animal_type=horse.animal_type),
        weeks=question.cycle_weeks,
        since_trim=reading.weeks_since_trim,
        changes=learned.changes,
    )
    nothing = HoofInCycle(
        reading=reading,
        learned=None if horse.is_foal else learned,
        cycle=cycle,
        boot=None,
        maker=None,
        sizes=(),
        weeks=(),
        turns={},
        advice=(),
        cautions=_cautions(reading, question=question),
    )
    if horse.is_foal:
        return nothing
    at = _first(cycle, boots=boots, shelf=shelf) if named is None else next(iter(boots), None)
    if at is None:
        code = "no-boot-near" if named is None else "boot-not-for-this-hoof"
        caution = Caution(code=code, severity=Severity.LOOK_AGAIN, source=CONVENTION)
        return replace(nothing, cautions=(*nothing.cautions, caution))
    size = named.size if named else None
    return _in_boot(nothing, boot=int(at), size=size, painful=is_painful(horse.needs), shelf=shelf)


def _in_boot(hoof: HoofInCycle, *, boot: int, size: int | None, painful: bool, shelf: Shelf) -> HoofInCycle:
    """The same hoof with what is said about one boot model; on a painful foot about one size of it."""
    cycle, table = hoof.cycle, shelf.table
    if size is None:
        size = best_size(hoof_at(cycle, Moment.AFTER_TRIM), table, boot=boot)
    neighbours = [each for each in (size - 1, size + 1) if each in table.sizes_of(boot)]
    sizes = sizes_in_cycle(cycle, shelf=shelf, sizes=[size] if painful else [size, *neighbours])
    weeks = _weeks(cycle, table, size=size)
    turns = turns_of(cycle, table, size=size)
    model = shelf.boots[boot]
    told: tuple[Remark, ...] = (Remark(code="ask-first"),)
    if not painful:
        told = advice(
            sizes, boot=model, cycle_weeks=cycle.weeks, weeks=weeks, turns=turns, own_readings=hoof.own_readings
        )
    return replace(
        hoof,
        boot=model,
        maker=shelf.release.makers[model.maker],
        sizes=sizes,
        weeks=weeks,
        turns=turns,
        advice=told,
    )


def _learned(reading: HoofReading, *, question: CycleQuestion) -> Learned:
    circumstances = question.circumstances | told_by(question.horse.needs)
    usual = usual_changes(reading.limb, cycle_weeks=question.cycle_weeks, circumstances=circumstances)
    return learn(
        question.histories.get(reading.limb, ()),
        usual=usual,
        cycle_weeks=question.cycle_weeks,
        animal_type=question.horse.animal_type,
    )


def _first(cycle: Cycle, *, boots: NDArray[np.intp], shelf: Shelf) -> int | None:
    """The boot model that follows the freshly trimmed hoof best, if any is near."""
    trimmed = hoof_at(cycle, Moment.AFTER_TRIM)
    match = match_hoof(trimmed, shelf.layout, boots=boots, wish_rank=[0] * len(shelf.boots), at_most=1)
    return match.boots[0].boot if match.boots else None


def best_size(hoof: Estimate, table: SizeTable, *, boot: int) -> int:
    """The size of a boot model with the largest expected worth on a hoof, as in a match."""
    sizes = table.sizes_of(boot)
    rows = slice(sizes.start, sizes.stop)
    steps = np.broadcast_to(preference(table.closures[boot]), (1, len(sizes), 4))
    (worth,) = expected_worths(hoof, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows], steps=steps)
    return sizes[int(np.argmax(worth))]


def _weeks(cycle: Cycle, table: SizeTable, *, size: int) -> tuple[WeekInCycle, ...]:
    """Every whole week of the cycle, and its end."""
    weeks = sorted({*(float(week) for week in range(floor(cycle.weeks) + 1)), cycle.weeks})
    hooves = [hoof_after(cycle, weeks=week) for week in weeks]
    fits = [float(chances_at(hoof, table, sizes=[size])[0]) for hoof in hooves]
    held = np.minimum(held_chances(cycle, table, size=size, weeks=weeks), np.minimum.accumulate(fits))
    return tuple(
        WeekInCycle(
            week=week,
            width=estimated(hoof, axis=0),
            length=estimated(hoof, axis=1),
            fit_chance=fit,
            still_fits_chance=float(still),
        )
        for week, hoof, fit, still in zip(weeks, hooves, fits, held, strict=True)
    )


def estimated(hoof: Estimate, *, axis: int) -> Estimated:
    """One dimension of a hoof: its mean and standard uncertainty."""
    deviation = float(np.sqrt(hoof.covariance[axis, axis]))
    return Estimated(mean_mm=float(hoof.mean[axis]), standard_uncertainty_mm=deviation)


def _cautions(reading: HoofReading, *, question: CycleQuestion) -> tuple[Caution, ...]:
    """What a reading gives reason to say; one late in the cycle is as good as any, one past it is not."""
    found = hoof_cautions(reading, animal_type=question.horse.animal_type)
    kept = tuple(caution for caution in found if caution.code != "trim-long-ago")
    since_trim = reading.weeks_since_trim
    if since_trim is None or since_trim <= question.cycle_weeks:
        return kept
    facts = {"since_trim_weeks": since_trim, "cycle_weeks": question.cycle_weeks}
    return (*kept, Caution(code="trim-overdue", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE, facts=facts))


def _assumptions(question: CycleQuestion, *, hooves: Sequence[HoofInCycle]) -> Iterator[Remark]:
    """What was taken for granted because it was not told, and what the computation rests on; nothing for a foal."""
    if question.horse.is_foal:
        return
    if any(hoof.reading.weeks_since_trim is None for hoof in hooves):
        yield Remark(code="any-week-of-the-cycle")
    if any(hoof.reading.method is Method.UNKNOWN for hoof in hooves):
        yield Remark(code="method-unknown")
    if any(not hoof.own_readings for hoof in hooves):
        yield Remark(code="usual-growth")
    circumstances = question.circumstances | told_by(question.horse.needs)
    if circumstances:
        yield Remark(code="under-circumstances", facts={"circumstance_list": ",".join(sorted(circumstances))})
    yield Remark(code="steady-cycle")
    yield Remark(code="one-boot-throughout")
