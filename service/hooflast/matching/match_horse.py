"""Match horse: a question and a shelf to an answer; the same question on the same shelf has the same answer."""

from datetime import date

import numpy as np

from hooflast.catalog.values import BootModel
from hooflast.fit import ENGINE
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import HoofReading
from hooflast.fit.match import HoofMatch, match_hoof
from hooflast.fit.remark import Caution, Severity
from hooflast.fit.shape import hoof_shape
from hooflast.matching.alternatives import alternatives
from hooflast.matching.answer import Estimated, HoofAnswer, MatchAnswer, Versions
from hooflast.matching.boot_fits import boot_fit
from hooflast.matching.cautions import assumptions, hoof_cautions, horse_cautions
from hooflast.matching.choosing import choose_boots
from hooflast.matching.comparisons import comparison_cautions, girth_width
from hooflast.matching.needs import advice
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.turning import turns
from hooflast.matching.wearing import wearing

UNCALIBRATED = "none"


def match_horse(question: MatchQuestion, shelf: Shelf, *, today: date, language: str) -> MatchAnswer:
    """Match every hoof of one horse. A foal gets its cautions and no boots."""
    choice = choose_boots(question, shelf, today=today)
    wish_rank = [_wish_rank(boot, question) for boot in shelf.boots]
    hooves = []
    for reading in question.hooves:
        estimate = estimate_hoof(reading, animal_type=question.animal_type)
        boots = np.empty(0, dtype=np.intp) if question.is_foal else choice.boots[reading.limb]
        match = match_hoof(
            estimate,
            shelf.layout,
            boots=boots,
            wish_rank=wish_rank,
            at_most=question.boots_per_hoof,
        )
        hooves.append(
            _hoof_answer(reading, estimate=estimate, match=match, question=question, shelf=shelf, today=today)
        )
    return MatchAnswer(
        question=question,
        hooves=tuple(hooves),
        cautions=(*horse_cautions(question), *comparison_cautions(question)),
        needs=tuple(advice(named) for named in question.needs),
        wearing=wearing(question),
        width_from_girth=girth_width(question),
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
    reading: HoofReading, *, estimate: Estimate, match: HoofMatch, question: MatchQuestion, shelf: Shelf, today: date
) -> HoofAnswer:
    deviations = np.sqrt(np.diagonal(estimate.covariance))
    width, length = (
        Estimated(mean_mm=float(mean), standard_uncertainty_mm=float(deviation))
        for mean, deviation in zip(estimate.mean, deviations, strict=True)
    )
    boots = tuple(
        boot_fit(boot, match, place=place, question=question, shelf=shelf)
        for place, boot in enumerate(match.boots, start=1)
    )
    shape = hoof_shape(estimate, limb=reading.limb)
    cautions = hoof_cautions(reading, animal_type=question.animal_type)
    if not boots and not question.is_foal:
        cautions += (Caution(code="no-boot-near", severity=Severity.LOOK_AGAIN, source="our convention"),)
    return HoofAnswer(
        reading=reading,
        width=width,
        length=length,
        correlation=float(estimate.covariance[0, 1] / deviations.prod()),
        shape=shape,
        boots=boots,
        alternatives=alternatives(
            question, shelf, limb=reading.limb, estimate=estimate, shape=shape, offered=boots, today=today
        ),
        turns=turns(reading, match=match, question=question, shelf=shelf),
        cautions=cautions,
    )
