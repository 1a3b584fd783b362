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
from hooflast.fit.pad import RoomLost
from hooflast.fit.ranking import Closeness
from hooflast.fit.remark import Caution, Footing, Severity
from hooflast.fit.shape import hoof_shape
from hooflast.matching.alternatives import alternatives
from hooflast.matching.answer import Estimated, HoofAnswer, Padded
from hooflast.matching.boot_fits import boot_fit
from hooflast.matching.cautions import hoof_cautions
from hooflast.matching.choosing import wish_rank
from hooflast.matching.padding import asked_room
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelf import in_stock_first
from hooflast.matching.size_in_cycle import BestInCycle, best_in_cycle
from hooflast.matching.turning import turns


def answer_hoof(
    reading: HoofReading, *, boots: NDArray[np.intp], question: MatchQuestion, shelf: Shelf, today: date
) -> HoofAnswer:
    """Match one hoof of `question` against the boot models in question for it, indices into the shelf."""
    estimate = estimate_hoof(reading, animal_type=question.animal_type)
    room = asked_room(question, hoof_length_mm=float(estimate.mean[1]))
    in_boot = estimate if room is None else estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)
    compared = shelf.layout.compare(in_boot, boots=np.arange(len(shelf.boots)))
    match = offer_boots(
        in_boot,
        shelf.table,
        boots=boots,
        closeness=compared.among(boots),
        wish_rank=[wish_rank(boot, question) for boot in shelf.boots],
        at_most=None if _prefers_stock(question) else question.boots_per_hoof,
    )
    if _prefers_stock(question):
        match = in_stock_first(match, shelf, at_most=question.boots_per_hoof)
    return _told(
        reading,
        estimate=estimate,
        in_boot=in_boot,
        room=room,
        compared=compared,
        match=match,
        question=question,
        shelf=shelf,
        today=today,
    )


def _prefers_stock(question: MatchQuestion) -> bool:
    return question.assortment is not None and question.assortment.prefer_stock


def _told(
    reading: HoofReading,
    *,
    estimate: Estimate,
    in_boot: Estimate,
    room: RoomLost | None,
    compared: Closeness,
    match: HoofMatch,
    question: MatchQuestion,
    shelf: Shelf,
    today: date,
) -> HoofAnswer:
    covariance = estimate.covariance
    deviations = np.sqrt(np.diagonal(covariance))
    width, length = _dimensions(estimate)
    boots = tuple(
        boot_fit(boot, match, place=place, question=question, shelf=shelf)
        for place, boot in enumerate(match.boots, start=1)
    )
    shape = hoof_shape(estimate, limb=reading.limb)
    cautions = hoof_cautions(reading, animal_type=question.animal_type)
    if not boots and not question.is_foal:
        cautions += (Caution(code="no-boot-near", severity=Severity.LOOK_AGAIN, source=Footing.CONVENTION),)
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
            estimate=in_boot,
            compared=compared,
            shape=shape,
            offered=boots,
            today=today,
        ),
        turns=turns(reading, match=match, room=room, question=question, shelf=shelf),
        in_cycle=_in_cycle(reading, estimate=in_boot, match=match, question=question, shelf=shelf),
        cautions=cautions,
        in_boot=None if room is None else _padded(in_boot),
    )


def _in_cycle(
    reading: HoofReading, *, estimate: Estimate, match: HoofMatch, question: MatchQuestion, shelf: Shelf
) -> BestInCycle | None:
    """The best size of the first boot over the trim cycle, if one was told."""
    if question.cycle_weeks is None or not match.boots:
        return None
    return best_in_cycle(
        reading,
        estimate=estimate,
        size=match.boots[0].best,
        cycle_weeks=question.cycle_weeks,
        needs=question.needs,
        shelf=shelf,
    )


def _padded(in_boot: Estimate) -> Padded:
    width, length = _dimensions(in_boot)
    return Padded(width=width, length=length)


def _dimensions(estimate: Estimate) -> tuple[Estimated, Estimated]:
    width, length = (
        Estimated(mean_mm=float(mean), standard_uncertainty_mm=float(deviation))
        for mean, deviation in zip(estimate.mean, np.sqrt(np.diagonal(estimate.covariance)), strict=True)
    )
    return width, length
