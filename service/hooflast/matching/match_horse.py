"""Match horse: a question and a shelf to an answer; the same question on the same shelf has the same answer."""

from datetime import date

import numpy as np

from hooflast.catalog.values import BootModel
from hooflast.fit import ENGINE
from hooflast.fit.chances import VERDICTS
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import HoofReading
from hooflast.fit.match import BootMatch, HoofMatch, match_hoof
from hooflast.fit.remark import Caution, Severity
from hooflast.fit.sizes import AXES
from hooflast.matching.answer import BootFit, Estimated, HoofAnswer, MatchAnswer, SizeFit, Versions
from hooflast.matching.cautions import assumptions, hoof_cautions, horse_cautions
from hooflast.matching.choosing import choose_boots
from hooflast.matching.question import MatchQuestion
from hooflast.matching.reasons import boot_cautions, why
from hooflast.matching.shelf import Shelf

UNCALIBRATED = "none"


def match_horse(question: MatchQuestion, shelf: Shelf, *, today: date, language: str) -> MatchAnswer:
    """Match every hoof of one horse. A foal gets its cautions and no boots."""
    choice = choose_boots(question, shelf, today=today)
    wish_rank = [_wish_rank(boot, question) for boot in shelf.boots]
    hooves = []
    for reading in question.hooves:
        estimate = estimate_hoof(reading, animal_type=question.animal_type)
        boots = np.empty(0, dtype=np.intp) if question.is_foal else choice.boots[reading.limb]
        match = match_hoof(estimate, shelf.table, boots=boots, wish_rank=wish_rank)
        hooves.append(_hoof_answer(reading, estimate, match, question=question, shelf=shelf))
    return MatchAnswer(
        question=question,
        hooves=tuple(hooves),
        cautions=horse_cautions(question),
        assumptions=assumptions(question),
        left_out=choice.left_out,
        versions=Versions(
            catalog_release=shelf.release.id,
            catalog_edition=shelf.release.edition,
            engine=ENGINE,
            calibration=UNCALIBRATED,
            assortment=None,
            language=language,
        ),
    )


def _wish_rank(boot: BootModel, question: MatchQuestion) -> int:
    """Wished closures come first inside a band, in the order they were named."""
    wishes = question.closures
    return wishes.index(boot.closure) if boot.closure in wishes else len(wishes)


def _hoof_answer(
    reading: HoofReading, estimate: Estimate, match: HoofMatch, *, question: MatchQuestion, shelf: Shelf
) -> HoofAnswer:
    deviations = np.sqrt(np.diagonal(estimate.covariance))
    width, length = (
        Estimated(mean_mm=float(mean), standard_uncertainty_mm=float(deviation))
        for mean, deviation in zip(estimate.mean, deviations, strict=True)
    )
    boots = tuple(
        _boot_fit(boot, match, place=place, question=question, shelf=shelf)
        for place, boot in enumerate(match.boots[: question.boots_per_hoof], start=1)
    )
    cautions = hoof_cautions(reading, animal_type=question.animal_type)
    if not boots and not question.is_foal:
        cautions += (Caution(code="no-boot-near", severity=Severity.LOOK_AGAIN, source="our convention"),)
    return HoofAnswer(
        reading=reading,
        width=width,
        length=length,
        correlation=float(estimate.covariance[0, 1] / deviations.prod()),
        boots=boots,
        cautions=cautions,
    )


def _boot_fit(boot_match: BootMatch, match: HoofMatch, *, place: int, question: MatchQuestion, shelf: Shelf) -> BootFit:
    boot = shelf.boots[boot_match.boot]
    best = _size_fit(boot_match.best, boot_match, match, shelf=shelf)
    smaller, larger = (
        None if size is None else _size_fit(size, boot_match, match, shelf=shelf)
        for size in (boot_match.smaller, boot_match.larger)
    )
    first = int(shelf.table.first[boot_match.boot])
    by_width, by_length = (
        None if size is None else boot.sizes[size - first] for size in (boot_match.by_width, boot_match.by_length)
    )
    steps_apart = boot_match.steps_apart
    return BootFit(
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        place=place,
        band=boot_match.band,
        closeness=boot_match.closeness,
        chance_some_size_fits=boot_match.some_fits,
        best=best,
        smaller=smaller,
        larger=larger,
        size_by_width=by_width.code if by_width else None,
        size_by_length=by_length.code if by_length else None,
        steps_apart=steps_apart,
        why=why(boot, question, band=boot_match.band, best=best, steps_apart=steps_apart),
        cautions=boot_cautions(
            boot,
            question,
            best=best,
            neighbours=(smaller, larger),
            by_width=by_width,
            by_length=by_length,
            steps_apart=steps_apart,
        ),
    )


def _size_fit(size: int, boot_match: BootMatch, match: HoofMatch, *, shelf: Shelf) -> SizeFit:
    boot = shelf.boots[boot_match.boot]
    chances = {
        axis: {verdict: float(chance) for verdict, chance in zip(VERDICTS, match.verdicts[size, column], strict=True)}
        for column, axis in enumerate(AXES)
        if shelf.table.has_axis[size, column]
    }
    return SizeFit(
        size=boot.sizes[size - int(shelf.table.first[boot_match.boot])],
        fit_chance=float(match.fit_chances[size]),
        verdicts={axis: max(row, key=row.__getitem__) for axis, row in chances.items()},
        verdict_chances=chances,
    )
