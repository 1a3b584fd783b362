"""Answer hoof: one hoof of a question, from its reading to the boots for it.

What is said of a hoof depends on its own reading, on the boots in question, and on what is asked of all hooves alike;
never on the horse's other hooves, so that a hoof's answer can be remembered by itself.
"""

from datetime import date

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import HoofReading
from hooflast.fit.match import HoofMatch, offer_boots
from hooflast.fit.ranking import Closeness
from hooflast.fit.remark import Caution, Severity
from hooflast.fit.shape import hoof_shape
from hooflast.matching.alternatives import alternatives
from hooflast.matching.answer import Estimated, HoofAnswer
from hooflast.matching.boot_fits import boot_fit
from hooflast.matching.cautions import hoof_cautions
from hooflast.matching.choosing import wish_rank
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.turning import turns


def answer_hoof(
    reading: HoofReading, *, boots: NDArray[np.intp], question: MatchQuestion, shelf: Shelf, today: date
) -> HoofAnswer:
    """Match one hoof of `question` against the boot models in question for it, indices into the shelf."""
    estimate = estimate_hoof(reading, animal_type=question.animal_type)
    compared = shelf.layout.compare(estimate, boots=np.arange(len(shelf.boots)))
    match = offer_boots(
        estimate,
        shelf.table,
        boots=boots,
        closeness=compared.among(boots),
        wish_rank=[wish_rank(boot, question) for boot in shelf.boots],
        at_most=question.boots_per_hoof,
    )
    return _told(
        reading, estimate=estimate, compared=compared, match=match, question=question, shelf=shelf, today=today
    )


def _told(
    reading: HoofReading,
    *,
    estimate: Estimate,
    compared: Closeness,
    match: HoofMatch,
    question: MatchQuestion,
    shelf: Shelf,
    today: date,
) -> HoofAnswer:
    covariance = estimate.covariance
    deviations = np.sqrt(np.diagonal(covariance))
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
        correlation=float(covariance[0, 1] / deviations.prod()),
        shape=shape,
        boots=boots,
        alternatives=alternatives(
            question,
            shelf,
            limb=reading.limb,
            estimate=estimate,
            compared=compared,
            shape=shape,
            offered=boots,
            today=today,
        ),
        turns=turns(reading, match=match, question=question, shelf=shelf),
        cautions=cautions,
    )
