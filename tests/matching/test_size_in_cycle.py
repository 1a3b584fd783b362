"""A match that is told the trim cycle: the same answer, and its first boot's best size over the cycle beside it."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.test_trim_cycle import asked
from tests.matching.worlds import SHELF, TODAY, question, questions, reading

from hooflast.catalog.values import BootId
from hooflast.exchange import match_document
from hooflast.fit.boot import Course, Need
from hooflast.fit.cycle import Moment
from hooflast.fit.growth import Circumstance
from hooflast.fit.hoof import Axis, HoofReading, Method
from hooflast.matching.answer import HoofAnswer, MatchAnswer
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.matching.size_in_cycle import told_by
from hooflast.texts import load_texts

few = settings(max_examples=10, deadline=None)
TEXTS = load_texts("en")


def answered(told: MatchQuestion) -> MatchAnswer:
    return match_horse(told, SHELF, today=TODAY, language="en")


def first(*hooves: HoofReading, **changes: object) -> HoofAnswer:
    fields: dict[str, object] = {"cycle_weeks": 6.0, **changes}
    return answered(question(*hooves, **fields)).hooves[0]


@few
@given(questions, st.floats(2.0, 16.0))
def test_a_cycle_changes_nothing_else_of_a_hoofs_answer(told, weeks) -> None:
    plain, over = answered(told), answered(replace(told, cycle_weeks=weeks))
    for one, other in zip(plain.hooves, over.hooves, strict=True):
        assert one.in_cycle is None
        assert (other.in_cycle is None) == (not other.boots)
        assert replace(other, in_cycle=None) == one


@few
@given(questions)
def test_chances_are_chances(told) -> None:
    for hoof in answered(replace(told, cycle_weeks=7.0)).hooves:
        if hoof.in_cycle is not None:
            best = hoof.in_cycle.best
            assert best.size == hoof.boots[0].best.size
            assert 0.0 <= best.holds_chance <= min(best.chances.values()) <= 1.0
            assert best.chances[Moment.AS_MEASURED] == pytest.approx(hoof.boots[0].best.fit_chance, abs=1e-5)


def test_it_is_what_the_trim_cycle_says_of_that_boot_and_size() -> None:
    hoof = first(reading(method=Method.CALLIPER, weeks_since_trim=2.0))
    fit, over = hoof.boots[0], hoof.in_cycle
    (alone,) = asked(
        reading(method=Method.CALLIPER, weeks_since_trim=2.0), boot=BootId(fit.boot.id), size=fit.best.size.code
    ).hooves
    assert over is not None
    assert over.best.holds_chance == pytest.approx(alone.sizes[0].holds_chance)
    assert over.turns == alone.turns


def test_a_hoof_of_which_nobody_told_when_it_was_trimmed_counts_as_freshly_trimmed() -> None:
    untold, fresh = (first(reading(weeks_since_trim=weeks)).in_cycle for weeks in (None, 0.0))
    assert untold == fresh


def test_a_foal_has_no_cycle() -> None:
    assert first(is_foal=True).in_cycle is None
    assert "steady-cycle" not in {one.code for one in answered(question(is_foal=True, cycle_weeks=6.0)).assumptions}


@pytest.mark.parametrize(("weeks", "is_told"), [(6.0, True), (None, False)])
def test_what_the_cycle_rests_on_is_told_with_it(weeks, is_told) -> None:
    codes = {one.code for one in answered(question(cycle_weeks=weeks)).assumptions}
    assert ({"usual-growth", "steady-cycle", "one-boot-throughout"} <= codes) is is_told


def test_a_horse_out_of_shoes_is_less_sure() -> None:
    assert told_by([NamedNeed(need=Need.OUT_OF_SHOES)]) == {Circumstance.OUT_OF_SHOES}
    assert told_by([NamedNeed(need=Need.THIN_SOLE, course=Course.CHRONIC)]) == frozenset()


def test_it_is_written_down() -> None:
    told = answered(question(cycle_weeks=6.5))
    document = match_document(told, receipt=None, texts=TEXTS)
    (hoof,) = document.hooves
    over = told.hooves[0].in_cycle
    assert over is not None
    assert hoof.in_cycle is not None
    assert document.asked.cycle_weeks == 6.5
    assert hoof.in_cycle.best.size == over.best.size.code
    assert hoof.in_cycle.best.holds_chance == pytest.approx(over.best.holds_chance, abs=6e-4)
    assert (hoof.in_cycle.length_turn is None) == (over.turns[Axis.LENGTH] is None)


def test_without_a_cycle_none_is_written() -> None:
    document = match_document(answered(question()), receipt=None, texts=TEXTS)
    assert document.asked.cycle_weeks is None
    assert document.hooves[0].in_cycle is None
