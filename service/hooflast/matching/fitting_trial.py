"""Fitting trial: a boot model tried on one hoof, size by size: what to try next, when to stop, when to change.

Nothing is kept: every question brings the hoof's reading and all try-ons so far. A foal, and a foot that must be taken
as acutely painful, are tried nothing on.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from hooflast.catalog.values import BootModel, SizeCode
from hooflast.errors import Fault, InputRefused
from hooflast.fit import ENGINE
from hooflast.fit.findings import Standing
from hooflast.fit.next_step import next_step
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.trial import Trial
from hooflast.matching.answer import Versions
from hooflast.matching.cautions import CATALOG, COMMON_PRACTICE, CONVENTION, assumptions, hoof_cautions, horse_cautions
from hooflast.matching.choosing import choose_boots, standing_only
from hooflast.matching.fitting_ahead import (
    best_by_measurement,
    exchanges,
    expected,
    next_boot,
    place_of,
    trial_of,
    waits_at_home,
)
from hooflast.matching.fitting_answer import Advice, FittingAnswer, FittingQuestion, SizeStanding
from hooflast.matching.match_horse import UNCALIBRATED
from hooflast.matching.needs import is_painful, may_be_ridden
from hooflast.matching.shelf import Shelf
from hooflast.matching.trying_on import to_do, why_left


def answer_fitting(question: FittingQuestion, shelf: Shelf, *, today: date, language: str) -> FittingAnswer:
    """Say what to do next. Raises InputRefused for boot models and sizes that the catalog release does not have."""
    _refuse_unknown(question, shelf)
    horse, boot = question.horse, shelf.release.boots[question.boot]
    versions = Versions(
        catalog_release=shelf.release.id,
        catalog_edition=shelf.release.edition,
        engine=ENGINE,
        calibration=UNCALIBRATED,
        assortment=None,
        language=language,
    )
    stopped = FittingAnswer(
        question=question,
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        advice=Advice.STOP,
        size=None,
        sizes=(),
        chosen=None,
        shortest=None,
        exchanges=(),
        next_boot=None,
        steps=to_do(Advice.STOP),
        cautions=tuple(_cautions(question, shelf, today=today)),
        assumptions=(*assumptions(horse), Remark(code="findings-by-convention")),
        versions=versions,
    )
    if horse.is_foal or is_painful(horse.needs):
        return stopped
    return _going_on(stopped, shelf, today=today)


def _going_on(stopped: FittingAnswer, shelf: Shelf, *, today: date) -> FittingAnswer:
    """The answer where trying on may go on."""
    question = stopped.question
    trial, best = trial_of(question, shelf), best_by_measurement(question, shelf)
    step = next_step(trial, order=question.order, best=best)
    waiting = waits_at_home(question, shelf, trial=trial, step=step)
    may_move = may_be_ridden(question.horse.needs) and not standing_only(stopped.boot)
    advice = Advice.TRY if waiting is not None else _advice(step.step.value, may_move=may_move)
    size = step.size if waiting is None else waiting
    left = (why_left(trial),) if advice is Advice.CHANGE_BOOT else ()
    return replace(
        stopped,
        advice=advice,
        size=None if size is None else shelf.sizes[size].code,
        sizes=_sizes(trial, shelf=shelf),
        chosen=expected(step.chosen, shelf=shelf),
        shortest=expected(step.shortest, shelf=shelf),
        exchanges=() if waiting is None else exchanges(question, shelf, trial=trial, size=waiting, best=best),
        next_boot=next_boot(question, shelf, today=today) if left else None,
        steps=(*left, *to_do(advice, may_move=may_move, at_home=question.at_home is not None)),
    )


def _advice(step: str, *, may_move: bool) -> Advice:
    """A boot that is only stood in, and a horse that is not to work, are not moved in first."""
    advice = Advice(step)
    return Advice.KEEP if advice is Advice.MOVE and not may_move else advice


def _refuse_unknown(question: FittingQuestion, shelf: Shelf) -> None:
    """Raises InputRefused with every boot model and size that the catalog release does not have."""
    boots = shelf.release.boots
    faults = []
    if question.boot not in boots:
        faults.append(Fault(path=("boot",), code="boot-unknown", received=question.boot))
    elif question.at_home is not None and not _has(boots[question.boot], size=question.at_home):
        facts = {"boot": question.boot, "size": question.at_home}
        faults.append(Fault(path=("at_home",), code="size-unknown", received=question.at_home, facts=facts))
    for row, one in enumerate(question.tried):
        if one.boot not in boots:
            if one.boot != question.boot:
                faults.append(Fault(path=("try_ons", row, "boot"), code="boot-unknown", received=one.boot))
        elif not _has(boots[one.boot], size=one.size):
            facts = {"boot": one.boot, "size": one.size}
            faults.append(Fault(path=("try_ons", row, "size"), code="size-unknown", received=one.size, facts=facts))
    if faults:
        raise InputRefused(faults=tuple(faults))


def _has(boot: BootModel, *, size: SizeCode) -> bool:
    return any(one.code == size for one in boot.sizes)


def _sizes(trial: Trial, *, shelf: Shelf) -> tuple[SizeStanding, ...]:
    return tuple(
        SizeStanding(
            size=shelf.sizes[size],
            chances={standing: float(chance) for standing, chance in zip(Standing, row, strict=True)},
            was_tried=size in trial.tried_sizes,
        )
        for size, row in zip(trial.sizes, trial.standing_after, strict=True)
    )


def _cautions(question: FittingQuestion, shelf: Shelf, *, today: date) -> Iterator[Caution]:
    """What to be careful about: horse, hoof, and what speaks against this boot model or stays open in its chart."""
    horse, boot = question.horse, shelf.release.boots[question.boot]
    (reading,) = horse.hooves
    yield from horse_cautions(horse)
    yield from hoof_cautions(reading, animal_type=horse.animal_type)
    at = place_of(boot.id, shelf=shelf)
    if at not in choose_boots(horse, shelf, today=today).boots[reading.limb]:
        yield Caution(code="boot-not-offered", severity=Severity.LOOK_AGAIN, source=CATALOG)
    rows = shelf.table.sizes_of(at)
    has_width, has_length = (bool(shelf.table.has_axis[rows.start : rows.stop, axis].any()) for axis in (0, 1))
    if not has_width:
        yield Caution(code="no-width-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
    if not has_length:
        yield Caution(code="no-length-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
    if standing_only(boot):
        yield Caution(code="standing-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE)
