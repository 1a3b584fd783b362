"""Release effects: only what an answer would say otherwise is told, and it is told as the answer would say it."""

from dataclasses import replace
from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import BOOTS, SHELF, TODAY, boot, moved, question, questions, reading, shelf_of

from hooflast.catalog.values import SizeCode
from hooflast.fit.boot import Closure, Need
from hooflast.fit.hoof import Limb
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.matching.release_effects import Effect, HoofEffect, HorseEffects, release_effects
from hooflast.matching.shelf import Shelf

quick = settings(max_examples=25, deadline=None)
AMBLE = boot("amble")
BROOK = boot("brook", closure=Closure.PULL_ON)


def effects(asked: MatchQuestion, *, old: Shelf, new: Shelf, today: date = TODAY) -> tuple[HoofEffect, ...]:
    (horse,) = release_effects([asked], old=old, new=new, today=today)
    return horse.hooves


def first(asked: MatchQuestion, shelf: Shelf, limb: Limb) -> tuple[str, str, float] | None:
    answer = match_horse(asked, shelf, today=TODAY, language="en")
    (hoof,) = [hoof for hoof in answer.hooves if hoof.reading.limb is limb]
    return (hoof.boots[0].boot.id, hoof.boots[0].best.size.code, hoof.boots[0].best.fit_chance) if hoof.boots else None


@quick
@given(questions)
def test_the_same_catalog_has_no_effects(asked: MatchQuestion) -> None:
    assert effects(asked, old=SHELF, new=SHELF) == ()


@quick
@given(questions, st.floats(-12, 12), st.sets(st.integers(0, len(BOOTS) - 1), max_size=4))
def test_what_is_told_before_and_after_is_what_the_answers_say(
    asked: MatchQuestion, by_mm: float, gone: set[int]
) -> None:
    new = shelf_of(*(moved(model, by_mm=by_mm) for place, model in enumerate(BOOTS) if place not in gone))
    told = {one.limb: one for one in effects(asked, old=SHELF, new=new)}
    for hoof in asked.hooves:
        before, after = (first(asked, shelf, hoof.limb) for shelf in (SHELF, new))
        one = told.get(hoof.limb)
        if one is None:
            assert (before is None) == (after is None)
            assert before is None or after is None or before[:2] == after[:2]
            continue
        for said, answered in ((one.before, before), (one.after, after)):
            assert (said is None) == (answered is None)
            if answered is not None and said is not None:
                assert (said.boot.id, said.size) == answered[:2]
                assert abs(said.fit_chance - answered[2]) < 1e-9


@quick
@given(questions, st.floats(-12, 12))
def test_the_other_way_round_the_same_hooves_get_another_first_answer(asked: MatchQuestion, by_mm: float) -> None:
    new = shelf_of(*(moved(model, by_mm=by_mm) for model in BOOTS))

    def of_the_first(old: Shelf, new: Shelf) -> set[Limb]:
        return {
            one.limb
            for one in effects(asked, old=old, new=new)
            if (one.before is None or one.after is None)
            or (one.before.boot.id, one.before.size) != (one.after.boot.id, one.after.size)
        }

    assert of_the_first(SHELF, new) == of_the_first(new, SHELF)


def test_a_moved_chart_gives_the_same_boot_in_another_size() -> None:
    (told,) = effects(question(), old=shelf_of(AMBLE), new=shelf_of(moved(AMBLE, by_mm=-8)))
    assert told.effects == (Effect.OTHER_SIZE,)
    assert told.before is not None
    assert told.after is not None
    assert told.after == told.same_boot_after
    codes = [size.code for size in AMBLE.sizes]
    assert codes.index(told.after.size) == codes.index(told.before.size) + 1


def test_a_boot_that_comes_to_stand_first_is_told_with_what_became_of_the_one_before() -> None:
    wishing = question(closures=(AMBLE.closure,))
    (told,) = effects(wishing, old=shelf_of(BROOK), new=shelf_of(AMBLE, BROOK))
    assert told.effects == (Effect.OTHER_BOOT,)
    assert told.before is not None
    assert told.after is not None
    assert told.same_boot_after is not None
    assert (told.before.boot.id, told.after.boot.id, told.same_boot_after.boot.id) == ("brook", "amble", "brook")


def test_a_boot_that_is_gone_leaves_none_or_another() -> None:
    (none_now,) = effects(question(), old=shelf_of(AMBLE), new=shelf_of())
    assert (none_now.effects, none_now.after, none_now.same_boot_after) == ((Effect.NO_BOOT_NOW,), None, None)
    (one_now,) = effects(question(), old=shelf_of(), new=shelf_of(AMBLE))
    assert (one_now.effects, one_now.before, one_now.same_boot_after) == ((Effect.A_BOOT_NOW,), None, None)
    (another,) = effects(question(), old=shelf_of(AMBLE), new=shelf_of(boot("brook")))
    assert (another.effects, another.same_boot_after) == ((Effect.OTHER_BOOT,), None)


def test_both_answers_are_of_one_day() -> None:
    ending = replace(AMBLE, discontinued_on=date(2026, 6, 1))
    asked = question()
    assert effects(asked, old=shelf_of(AMBLE), new=shelf_of(ending), today=date(2026, 5, 31)) == ()
    (told,) = effects(asked, old=shelf_of(AMBLE), new=shelf_of(ending), today=date(2026, 6, 1))
    assert told.effects == (Effect.NO_BOOT_NOW,)


def test_another_name_for_the_same_size_is_another_size_to_order() -> None:
    renamed = replace(AMBLE, sizes=tuple(replace(size, code=SizeCode(f"new-{size.code}")) for size in AMBLE.sizes))
    (told,) = effects(question(), old=shelf_of(AMBLE), new=shelf_of(renamed))
    assert told.effects == (Effect.OTHER_SIZE,)


def test_a_foal_gets_no_boot_from_either() -> None:
    assert effects(question(is_foal=True), old=shelf_of(), new=SHELF) == ()


def test_a_horse_with_a_painful_foot_keeps_its_cautions() -> None:
    asked = question(needs=(NamedNeed(need=Need.FOUNDER),))
    (horse,) = release_effects([asked], old=SHELF, new=shelf_of(), today=TODAY)
    assert {"painful-foot", "veterinarian-first"} <= {caution.code for caution in horse.cautions}


def test_horses_are_answered_one_by_one_in_their_order() -> None:
    taken: list[int] = []

    def endless():
        while True:
            taken.append(len(taken))
            yield question(reading(width=118.0 + len(taken)))

    answered: list[HorseEffects] = []
    for horse in release_effects(endless(), old=SHELF, new=SHELF, today=TODAY):
        answered.append(horse)
        assert len(taken) == len(answered)
        if len(answered) == 3:
            break
    assert [horse.place for horse in answered] == [0, 1, 2]
