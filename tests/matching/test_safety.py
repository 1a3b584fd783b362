"""Safety: painful feet, confinement and needs. Common practice, no source, unless a test says otherwise."""

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import demo
from tests.matching.worlds import SHELF, TODAY, boot, question, questions, reading, shelf_of

from hooflast.fit.boot import Course, IntendedUse, Need
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.remark import Severity
from hooflast.matching.answer import MatchAnswer
from hooflast.matching.choosing import STANDING_USES, choose_boots
from hooflast.matching.match_horse import match_horse
from hooflast.matching.needs import Feature, advice, is_painful
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.matching.shelf import Shelf, lay_out

quick = settings(max_examples=40, deadline=None)
RIDDEN = [use for use in IntendedUse if use not in STANDING_USES]
PAINFUL = [NamedNeed(need=need) for need in Need if is_painful([NamedNeed(need=need)])]
DEMO = lay_out(demo.offered().library.active)

named_needs = st.builds(NamedNeed, need=st.sampled_from(Need), course=st.sampled_from(Course))


def ask(asked: MatchQuestion, shelf: Shelf = SHELF, today: date = TODAY) -> MatchAnswer:
    return match_horse(asked, shelf, today=today, language="en")


def stops(answer: MatchAnswer) -> set[str]:
    return {caution.code for caution in answer.cautions if caution.severity is Severity.STOP}


class TestAPainfulFoot:
    """With founder, after surgery, a possible fracture or severe lameness: no rotating, no forcing, no series."""

    def test_founder_surgery_and_severe_lameness_are_painful_unless_told_to_be_chronic(self):
        acute = {named.need for named in PAINFUL}
        assert {Need.FOUNDER, Need.AFTER_SURGERY, Need.SEVERE_LAMENESS, Need.ABSCESS} <= acute
        assert not is_painful([NamedNeed(need=Need.FOUNDER, course=Course.CHRONIC)])

    def test_severe_lameness_is_painful_and_goes_to_the_veterinarian_first_whatever_its_course(self):
        chronic = NamedNeed(need=Need.SEVERE_LAMENESS, course=Course.CHRONIC)
        assert is_painful([chronic])
        assert {"painful-foot", "veterinarian-first"} <= stops(ask(question(needs=(chronic,))))

    def test_a_course_that_is_not_told_counts_as_acute(self):
        assert NamedNeed(need=Need.FOUNDER).course is Course.ACUTE

    @pytest.mark.parametrize("named", PAINFUL, ids=lambda named: named.need.value)
    @pytest.mark.parametrize("shelf", [SHELF, DEMO], ids=["small", "demo"])
    def test_it_is_stopped_and_gets_no_series_of_sizes(self, named, shelf):
        answer = ask(question(needs=(named,)), shelf)
        assert {"painful-foot", "veterinarian-first"} <= stops(answer)
        for hoof in answer.hooves:
            assert hoof.turns == ()
            assert hoof.alternatives == ()
            for fit in hoof.boots:
                assert (fit.try_order, fit.smaller, fit.larger, fit.watch_for) == ((), None, None, ())
                assert "fit-doubtful" not in {caution.code for caution in fit.cautions}
                assert "neighbour-may-suit" not in {caution.code for caution in fit.cautions}

    @pytest.mark.parametrize("named", PAINFUL, ids=lambda named: named.need.value)
    def test_its_boots_are_for_standing_and_its_advice_says_no_movement(self, named):
        answer = ask(question(needs=(named,)), DEMO)
        said = {remark.code for remark in answer.wearing}
        assert "first-time" not in said
        assert "first-wear" not in {caution.code for caution in answer.cautions}
        assert "stop-when" in said
        for fit in answer.hooves[0].boots:
            assert fit.boot.intended_uses & STANDING_USES

    @pytest.mark.parametrize("use", RIDDEN)
    @pytest.mark.parametrize("named", [*PAINFUL, NamedNeed(need=Need.HEEL_PAIN)], ids=lambda named: named.need.value)
    def test_no_boot_is_offered_to_ride_on_it(self, named, use):
        answer = ask(question(needs=(named,), uses=frozenset({use})), DEMO)
        assert answer.hooves[0].boots == ()

    @pytest.mark.parametrize("need", Need)
    def test_the_demo_catalog_has_a_boot_in_question_for_every_need_that_is_acute(self, need):
        asked = question(needs=(NamedNeed(need=need),))
        assert len(choose_boots(asked, DEMO, today=TODAY).boots[Limb.LF])


class TestConfinement:
    @quick
    @given(questions, st.sampled_from(RIDDEN))
    def test_a_boot_for_confined_use_is_never_offered_for_riding_nor_as_an_alternative(self, asked, use):
        for shelf in (SHELF, DEMO):
            answer = ask(replace(asked, uses=frozenset({use}), needs=()), shelf)
            for hoof in answer.hooves:
                shown = [*(fit.boot for fit in hoof.boots), *(one.fit.boot for one in hoof.alternatives)]
                assert not [model for model in shown if model.intended_uses <= STANDING_USES]

    def test_a_boot_for_confinement_and_transport_is_offered_when_asked_for_and_says_it_is_not_for_riding(self):
        uses = frozenset({IntendedUse.CONFINED, IntendedUse.TRANSPORT})
        shelf = shelf_of(boot("amble", intended_uses=uses))
        assert ask(question(), shelf).hooves[0].boots == ()
        for use in uses:
            (fit,) = ask(question(uses=frozenset({use})), shelf).hooves[0].boots
            assert "standing-only" in {caution.code for caution in fit.cautions}


class TestNeeds:
    @given(named_needs)
    def test_nothing_stands_in_two_lists(self, named):
        told = advice(named)
        lists = [*told.suits, *told.as_directed, *told.never]
        assert len(lists) == len(set(lists))
        assert told.suits

    def test_what_practice_says(self):
        founder = advice(NamedNeed(need=Need.FOUNDER))
        assert {Feature.WEDGE, Feature.SOLE_SUPPORT, Feature.FULL_PAD} <= set(founder.as_directed)
        assert Feature.RIDING in founder.never
        assert Feature.SOFT_PAD in advice(NamedNeed(need=Need.FOUNDER, course=Course.CHRONIC)).suits
        assert {Feature.SOAKING, Feature.SOFT_PAD} <= set(advice(NamedNeed(need=Need.ABSCESS)).suits)
        assert Feature.SOFT_PAD in advice(NamedNeed(need=Need.HEEL_PAIN)).suits

    @quick
    @given(st.lists(named_needs, min_size=1, max_size=3, unique_by=lambda named: named.need))
    def test_every_answer_to_a_need_defers_to_the_veterinarian(self, needs):
        answer = ask(question(needs=tuple(needs)))
        said = {caution.code for caution in answer.cautions}
        assert said & {"veterinarian-first", "as-directed"}
        assert [told.need for told in answer.needs] == [named.need for named in needs]

    def test_a_need_is_no_reason_to_leave_the_kind_of_animal_or_the_limb_out_of_sight(self):
        shelf = shelf_of(
            boot("amble", suits_needs=frozenset({Need.HEEL_PAIN}), animal_types=frozenset({AnimalType.PONY}))
        )
        asked = question(reading(Limb.LF), needs=(NamedNeed(need=Need.HEEL_PAIN, course=Course.CHRONIC),))
        assert ask(asked, shelf).hooves[0].boots == ()
