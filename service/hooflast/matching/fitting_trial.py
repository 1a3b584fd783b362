"""Fitting trial: a boot model tried on one hoof, size by size: what to try next, when to stop, when to change.

Nothing is kept: every question brings the hoof's reading and all try-ons so far. A foal, and a foot that must be taken
as acutely painful, are tried nothing on.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date

from hooflast.catalog.values import BootId, BootModel, SizeCode
from hooflast.errors import Fault, InputRefused, Path
from hooflast.fit.findings import Standing
from hooflast.fit.next_step import next_step
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.trial import Trial
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
from hooflast.matching.needs import is_painful, may_be_ridden
from hooflast.matching.shelf import Shelf
from hooflast.matching.trying_on import to_do, why_left
from hooflast.matching.versions import versions_of


def answer_fitting(question: FittingQuestion, shelf: Shelf, *, today: date, language: str) -> FittingAnswer:
    """Say what to do next. Raises InputRefused for boot models and sizes that the catalog release does not have."""
    _refuse_unknown(question, shelf)
    boot = None if question.boot is None else shelf.release.boots[question.boot]
    if question.horse.is_foal or is_painful(question.horse.needs):
        return _without_sizes(question, shelf, boot=boot, advice=Advice.STOP, today=today, language=language)
    if boot is None:
        first = next_boot(question, shelf, today=today)
        boot = None if first is None else first.boot
    if boot is None:
        return _without_sizes(question, shelf, boot=None, advice=Advice.CHANGE_BOOT, today=today, language=language)
    return _with_sizes(question, shelf, boot=boot, today=today, language=language)


def _without_sizes(
    question: FittingQuestion, shelf: Shelf, *, boot: BootModel | None, advice: Advice, today: date, language: str
) -> FittingAnswer:
    """The answer where no size is to be tried."""
    return FittingAnswer(
        question=question,
        boot=boot,
        maker=None if boot is None else shelf.release.makers[boot.maker],
        advice=advice,
        size=None,
        sizes=(),
        chosen=None,
        shortest=None,
        exchanges=(),
        next_boot=None,
        steps=to_do(advice),
        cautions=(
            *_horse_cautions(question),
            *(() if boot is None else _boot_cautions(boot, question, shelf=shelf, today=today)),
        ),
        assumptions=(*assumptions(question.horse), Remark(code="findings-by-convention")),
        versions=versions_of(shelf, language=language),
    )


def _with_sizes(
    question: FittingQuestion, shelf: Shelf, *, boot: BootModel, today: date, language: str
) -> FittingAnswer:
    """The answer where trying on may go on."""
    trial, best = trial_of(question, shelf, boot=boot.id), best_by_measurement(question, shelf, boot=boot.id)
    step = next_step(trial, order=question.order, best=best)
    waiting = waits_at_home(question, shelf, trial=trial, step=step)
    advice = Advice.TRY if waiting is not None else _advice(step.step.value, may_move=_may_move(question, boot=boot))
    size = step.size if waiting is None else waiting
    left = (why_left(trial),) if advice is Advice.CHANGE_BOOT else ()
    return replace(
        _without_sizes(question, shelf, boot=boot, advice=advice, today=today, language=language),
        size=None if size is None else shelf.sizes[size].code,
        sizes=_sizes(trial, shelf=shelf),
        chosen=expected(step.chosen, shelf=shelf),
        shortest=expected(step.shortest, shelf=shelf),
        exchanges=() if waiting is None else exchanges(question, shelf, trial=trial, size=waiting, best=best),
        next_boot=next_boot(question, shelf, today=today) if left else None,
        steps=(*left, *_to_do(advice, question, boot=boot)),
    )


def _to_do(advice: Advice, question: FittingQuestion, *, boot: BootModel) -> tuple[Remark, ...]:
    return to_do(
        advice,
        may_move=_may_move(question, boot=boot),
        at_home=question.at_home is not None,
        fit_indicator=boot.fit_indicator,
    )


def _may_move(question: FittingQuestion, *, boot: BootModel) -> bool:
    """Whether the horse may be walked and trotted in the boot."""
    return may_be_ridden(question.horse.needs) and not standing_only(boot)


def _advice(step: str, *, may_move: bool) -> Advice:
    """A boot that is only stood in, and a horse that is not to work, are not moved in first."""
    advice = Advice(step)
    return Advice.KEEP if advice is Advice.MOVE and not may_move else advice


def _refuse_unknown(question: FittingQuestion, shelf: Shelf) -> None:
    """Raises InputRefused with every boot model and size that the catalog release does not have."""
    faults = [] if question.boot is None else [*_unknown_boot(question.boot, shelf, path=("boot",))]
    if question.boot is not None and question.at_home is not None:
        faults += _unknown_size(question.boot, question.at_home, shelf=shelf, path=("at_home",))
    for row, one in enumerate(question.tried):
        if one.boot != question.boot:
            faults += _unknown_boot(one.boot, shelf, path=("try_ons", row, "boot"))
        faults += _unknown_size(one.boot, one.size, shelf=shelf, path=("try_ons", row, "size"))
    if faults:
        raise InputRefused(faults=tuple(faults))


def _unknown_boot(boot: BootId, shelf: Shelf, *, path: Path) -> Iterator[Fault]:
    if boot not in shelf.release.boots:
        yield Fault(path=path, code="boot-unknown", received=boot)


def _unknown_size(boot: BootId, size: SizeCode, *, shelf: Shelf, path: Path) -> Iterator[Fault]:
    """The fault of a size that a boot model does not have; a boot model that is not known is a fault of its own."""
    model = shelf.release.boots.get(boot)
    if model is not None and all(one.code != size for one in model.sizes):
        facts = {"boot": model.name, "accepted_list": ", ".join(one.code for one in model.sizes)}
        yield Fault(path=path, code="size-unknown", received=size, facts=facts)


def _sizes(trial: Trial, *, shelf: Shelf) -> tuple[SizeStanding, ...]:
    return tuple(
        SizeStanding(
            size=shelf.sizes[size],
            chances={standing: float(chance) for standing, chance in zip(Standing, row, strict=True)},
            was_tried=size in trial.tried_sizes,
        )
        for size, row in zip(trial.sizes, trial.standing_after, strict=True)
    )


def _horse_cautions(question: FittingQuestion) -> tuple[Caution, ...]:
    horse = question.horse
    (reading,) = horse.hooves
    return (*horse_cautions(horse), *hoof_cautions(reading, animal_type=horse.animal_type))


def _boot_cautions(boot: BootModel, question: FittingQuestion, *, shelf: Shelf, today: date) -> Iterator[Caution]:
    """What speaks against this boot model for this horse, and what its chart leaves open."""
    (reading,) = question.horse.hooves
    at = place_of(boot.id, shelf=shelf)
    if at not in choose_boots(question.horse, shelf, today=today).boots[reading.limb]:
        yield Caution(code="boot-not-offered", severity=Severity.LOOK_AGAIN, source=CATALOG)
    rows = shelf.table.sizes_of(at)
    has_width, has_length = (bool(shelf.table.has_axis[rows.start : rows.stop, axis].any()) for axis in (0, 1))
    if not has_width:
        yield Caution(code="no-width-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
    if not has_length:
        yield Caution(code="no-length-in-chart", severity=Severity.LOOK_AGAIN, source=CONVENTION)
    if standing_only(boot):
        yield Caution(code="standing-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE)
