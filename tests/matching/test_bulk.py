"""Bulk answers: the single match's fit chances and its filters, for many hooves in their order."""

from dataclasses import replace
from datetime import date

import numpy as np
import pytest
from tests.matching.worlds import SHELF, TODAY, boot, question, reading, shelf_of

from hooflast.fit.boot import IntendedUse
from hooflast.fit.bulk import ERROR
from hooflast.fit.hoof import AnimalType, Limb, Method, Observer
from hooflast.fit.match import WORTH_SHOWING
from hooflast.matching import bulk
from hooflast.matching.bulk import BulkHoof, answer_in_bulk
from hooflast.matching.choosing import choose_boots
from hooflast.matching.match_horse import match_horse

RNG = np.random.default_rng(9)
HOOVES = [
    BulkHoof(
        row=row,
        name=f"hoof {row}",
        animal_type=AnimalType.HORSE,
        reading=reading(
            Limb.LF if row % 2 else Limb.LH,
            width=round(float(RNG.uniform(96.0, 150.0)), 1),
            length=round(float(RNG.uniform(96.0, 150.0)), 1),
            observer=list(Observer)[row % 3 % 2],
            method=list(Method)[row % 5],
        ),
    )
    for row in range(40)
]


def answer(hooves, shelf=SHELF, *, uses=frozenset(), at_most=20, today=TODAY, **told):
    return list(answer_in_bulk(hooves, shelf, uses=uses, at_most=at_most, today=today, **told))


def test_the_chances_and_sizes_are_those_of_a_match():
    for found in answer(HOOVES):
        asked = question(found.hoof.reading, uses=frozenset())
        single = {fit.boot.id: fit for fit in match_horse(asked, SHELF, today=TODAY, language="en").hooves[0].boots}
        for fit in found.fits:
            if fit.size == single[fit.boot.id].best.size:
                assert fit.fit_chance == pytest.approx(single[fit.boot.id].best.fit_chance, abs=ERROR)
        likely = {name for name, fit in single.items() if fit.best.fit_chance > WORTH_SHOWING + ERROR}
        assert likely <= {fit.boot.id for fit in found.fits}


def test_only_boots_that_come_into_question_are_named():
    uses = frozenset({IntendedUse.ROAD})
    for found in answer(HOOVES, uses=uses):
        asked = question(found.hoof.reading, uses=uses)
        chosen = choose_boots(asked, SHELF, today=TODAY).boots[found.hoof.reading.limb]
        assert {fit.boot.id for fit in found.fits} <= {SHELF.boots[index].id for index in chosen}


def test_the_likeliest_come_first_and_no_more_than_asked_for():
    for few, all_of_them in zip(answer(HOOVES, at_most=2), answer(HOOVES), strict=True):
        chances = [fit.fit_chance for fit in all_of_them.fits]
        assert chances == sorted(chances, reverse=True)
        assert few.fits == all_of_them.fits[:2]


def test_no_boot_is_named_that_hardly_fits():
    assert all(fit.fit_chance >= WORTH_SHOWING for found in answer(HOOVES) for fit in found.fits)
    far = replace(HOOVES[1], reading=reading(width=60.0, length=60.0))
    assert answer([far])[0].fits == ()


@pytest.mark.parametrize("at_once", [1, 7, 1000])
def test_answers_come_in_the_order_of_the_hooves_however_many_are_worked_on_at_once(at_once):
    found = answer(HOOVES, at_once=at_once)
    assert [each.hoof for each in found] == HOOVES
    whole = answer(HOOVES)
    for one, other in zip(found, whole, strict=True):
        assert [fit.fit_chance for fit in one.fits] == pytest.approx([fit.fit_chance for fit in other.fits], abs=1e-4)


def test_more_kinds_than_are_remembered_are_answered_too(monkeypatch):
    whole = answer(HOOVES)
    monkeypatch.setattr(bulk, "MOST_KINDS", 1)
    for one, other in zip(answer(HOOVES, at_once=3), whole, strict=True):
        assert [fit.fit_chance for fit in one.fits] == pytest.approx([fit.fit_chance for fit in other.fits], abs=1e-4)


def test_a_boot_that_is_no_longer_sold_is_not_named():
    sold, ended = boot("amble"), boot("gorse", discontinued_on=date(2026, 1, 1))
    (found,) = answer([replace(HOOVES[1], reading=reading())], shelf_of(sold, ended))
    assert [fit.boot.id for fit in found.fits] == ["amble"]


def test_nothing_asked_is_nothing_answered():
    assert answer([]) == []
