"""Trim cycle: a horse's hooves over the weeks between two trims, in one boot model; which size holds, and how long.

A foal gets no sizes: its hooves grow otherwise. On an acutely painful foot one size is told, no neighbour, and no
advice but to ask the veterinarian.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from datetime import date
from math import floor

import numpy as np

from hooflast.catalog.values import BootModel
from hooflast.errors import Fault, InputRefused
from hooflast.fit import ENGINE
from hooflast.fit.chances import preference
from hooflast.fit.cycle import Cycle, Moment, chances_at, held_chances, hoof_after, hoof_at, joint_chances, turn
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.growth import usual_changes
from hooflast.fit.history import learn
from hooflast.fit.hoof import HoofReading, Method
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.series import expected_worths
from hooflast.fit.sizes import AXES, SizeTable
from hooflast.matching.answer import Estimated, Versions
from hooflast.matching.cautions import COMMON_PRACTICE, CONVENTION, hoof_cautions, horse_cautions
from hooflast.matching.choosing import STANDING_USES, choose_boots
from hooflast.matching.comparisons import comparison_cautions
from hooflast.matching.match_horse import UNCALIBRATED
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.trim_cycle_advice import advice
from hooflast.matching.trim_cycle_answer import CycleAnswer, CycleQuestion, HoofInCycle, SizeInCycle, WeekInCycle


def answer_trim_cycle(question: CycleQuestion, shelf: Shelf, *, today: date, language: str) -> CycleAnswer:
    """Work out every hoof of one horse. Raises InputRefused for a boot model or size the catalog release has not."""
    at, only = _chosen(question, shelf)
    boot, horse = shelf.boots[at], question.horse
    at_rest = replace(horse, uses=boot.intended_uses & STANDING_USES)
    served = choose_boots(at_rest, _alone(boot, shelf=shelf), today=today).boots
    hooves = [
        in_cycle(reading, at=at if len(served[reading.limb]) else None, only=only, question=question, shelf=shelf)
        for reading in horse.hooves
    ]
    return CycleAnswer(
        question=question,
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        hooves=tuple(hooves),
        cautions=(*horse_cautions(horse), *comparison_cautions(horse)),
        assumptions=tuple(_assumptions(horse, hooves=hooves)),
        versions=Versions(
            catalog_release=shelf.release.id,
            catalog_edition=shelf.release.edition,
            engine=ENGINE,
            calibration=UNCALIBRATED,
            assortment=None,
            language=language,
        ),
    )


def in_cycle(
    reading: HoofReading, *, at: int | None, only: int | None, question: CycleQuestion, shelf: Shelf
) -> HoofInCycle:
    """One hoof in the boot model at a place of the shelf (None: it is not for this hoof), in one size if told."""
    horse = question.horse
    usual = usual_changes(reading.limb, cycle_weeks=question.cycle_weeks, circumstances=question.circumstances)
    learned = learn(
        question.histories.get(reading.limb, ()),
        usual=usual,
        cycle_weeks=question.cycle_weeks,
        animal_type=horse.animal_type,
    )
    cycle = Cycle(
        estimate=estimate_hoof(reading, animal_type=horse.animal_type),
        weeks=question.cycle_weeks,
        since_trim=reading.weeks_since_trim,
        changes=learned.changes,
    )
    nothing = HoofInCycle(
        reading=reading,
        learned=learned,
        cycle=cycle,
        sizes=(),
        weeks=(),
        turns={},
        advice=(),
        cautions=_cautions(reading, question=question),
    )
    if horse.is_foal:
        return nothing
    if at is None:
        not_for_it = Caution(code="boot-not-for-this-hoof", severity=Severity.LOOK_AGAIN, source=CONVENTION)
        return replace(nothing, cautions=(*nothing.cautions, not_for_it))
    own = shelf.table.sizes_of(at)
    size = best_size(hoof_at(cycle, Moment.AFTER_TRIM), shelf.table, boot=at) if only is None else only
    near = [each for each in (size - 1, size + 1) if each in own and not is_painful(horse.needs)]
    sizes = _sizes(cycle, shelf=shelf, sizes=[size, *near])
    weeks = _weeks(cycle, shelf.table, size=size)
    turns = {axis: turn(cycle, shelf.table, size=size, axis=column) for column, axis in enumerate(AXES)}
    told: tuple[Remark, ...] = (Remark(code="ask-first"),)
    if not is_painful(horse.needs):
        told = advice(sizes, boot=shelf.boots[at], weeks=weeks, turns=turns, learned=learned)
    return replace(
        nothing,
        sizes=sizes,
        weeks=weeks,
        turns=turns,
        advice=told,
    )


def best_size(hoof: Estimate, table: SizeTable, *, boot: int) -> int:
    """The size of a boot model with the largest expected worth on a hoof, as in a match."""
    sizes = table.sizes_of(boot)
    rows = slice(sizes.start, sizes.stop)
    steps = np.broadcast_to(preference(table.closures[boot]), (1, len(sizes), 4))
    (worth,) = expected_worths(hoof, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows], steps=steps)
    return sizes[int(np.argmax(worth))]


def _chosen(question: CycleQuestion, shelf: Shelf) -> tuple[int, int | None]:
    """The boot model's place on the shelf and the size's place in its table, if one was named."""
    at = next((index for index, boot in enumerate(shelf.boots) if boot.id == question.boot), None)
    if at is None:
        raise InputRefused(faults=(Fault(path=("boot",), code="boot-unknown", received=question.boot),))
    if question.size is None:
        return at, None
    codes = [size.code for size in shelf.boots[at].sizes]
    if question.size not in codes:
        facts = {"boot": shelf.boots[at].name, "accepted_list": ", ".join(codes)}
        raise InputRefused(faults=(Fault(path=("size",), code="size-unknown", received=question.size, facts=facts),))
    return at, shelf.table.sizes_of(at)[codes.index(question.size)]


def _alone(boot: BootModel, *, shelf: Shelf) -> Shelf:
    """A shelf with this boot model alone, which may be one that is no longer made: its owner has it already."""
    return replace(shelf, boots=(replace(boot, discontinued_on=None),))


def _sizes(cycle: Cycle, *, shelf: Shelf, sizes: Sequence[int]) -> tuple[SizeInCycle, ...]:
    """The chances of some sizes; none holds more surely than it fits at its worst moment."""
    at_moment = {moment: chances_at(hoof_at(cycle, moment), shelf.table, sizes=sizes) for moment in Moment}
    joint = np.minimum(joint_chances(cycle, shelf.table, sizes=sizes), np.min(list(at_moment.values()), axis=0))
    return tuple(
        SizeInCycle(
            size=shelf.sizes[size],
            chances={moment: float(chances[place]) for moment, chances in at_moment.items()},
            holds_chance=float(joint[place]),
        )
        for place, size in enumerate(sizes)
    )


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


def _assumptions(horse: MatchQuestion, *, hooves: Sequence[HoofInCycle]) -> Iterator[Remark]:
    """What was taken for granted because it was not told, and what the computation rests on."""
    if any(hoof.weeks_since_trim is None for hoof in horse.hooves):
        yield Remark(code="any-week-of-the-cycle")
    if any(hoof.method is Method.UNKNOWN for hoof in horse.hooves):
        yield Remark(code="method-unknown")
    if any(not hoof.learned.readings for hoof in hooves):
        yield Remark(code="usual-growth")
    yield Remark(code="steady-cycle")
    yield Remark(code="one-boot-throughout")
