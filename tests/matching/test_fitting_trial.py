"""Fitting trials: what to do next, when to stop, when to change, and what is never told."""

from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hooflast.catalog.values import BootId, SizeCode
from hooflast.errors import InputRefused
from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.findings import LAST_LOOK, BulbMarks, Finding, HeelGap, Indicator, Rotation, Seen, Standing
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.lookahead import MOST_TRIES, Order
from hooflast.fit.remark import Severity
from hooflast.matching.fitting_answer import Advice, FittingAnswer, FittingQuestion, TriedSize
from hooflast.matching.fitting_trial import answer_fitting
from hooflast.matching.question import NamedNeed
from hooflast.matching.shelf import Shelf

from .worlds import SHELF, TODAY, boot, question, reading, readings, shelf_of

BIRDS = ("wren", "finch", "lark", "thrush", "dove", "rook", "heron", "crane")
ANY_ORDER = pytest.mark.parametrize("order", Order)
WELL = {"rotation": Rotation.NONE, "heel_gap": HeelGap.NONE, "bulb_marks": BulbMarks.NONE}
PAINFUL = (Need.FOUNDER, Need.AFTER_SURGERY, Need.SEVERE_LAMENESS, Need.ABSCESS)
HANDLING = {"hold-the-limb-low", "helper"}
TURNING = {"turn-by-hand", "walk-trot-circles"}


def tried(size: str, finding: Finding, *, model: str = "amble", **moved: object) -> TriedSize:
    return TriedSize(
        boot=BootId(model),
        size=SizeCode(size),
        seen=Seen(finding=finding, **moved),  # type: ignore[arg-type]
    )


def asked(*try_ons: TriedSize, shelf: Shelf = SHELF, **changes: object) -> FittingAnswer:
    """A hoof of 124 by 126 in `amble`, whose thrush is for 119–126 and dove for 127–134, unless `changes` differ."""
    own: dict[str, object] = {name: changes.pop(name) for name in ("boot", "order", "at_home") if name in changes}
    hoof = changes.pop("hoof", reading())
    fields: dict[str, object] = {"boot": BootId("amble"), "tried": try_ons, **own}
    asked = FittingQuestion(horse=question(hoof, **changes), **fields)  # type: ignore[arg-type]
    return answer_fitting(asked, shelf, today=TODAY, language="en")


def codes(answer: FittingAnswer) -> set[str]:
    return {step.code for step in answer.steps}


def cautions(answer: FittingAnswer) -> dict[str, Severity]:
    return {one.code: one.severity for one in answer.cautions}


class TestTheNextStep:
    def test_the_first_size_is_the_one_that_suits_the_hoof(self):
        answer = asked()
        assert (answer.advice, answer.size) == (Advice.TRY, "thrush")
        assert answer.chosen == answer.shortest
        assert answer.chosen.size == "thrush"

    @pytest.mark.parametrize(("order", "size"), [(Order.ONE_ABOVE, "dove"), (Order.BEST, "thrush")])
    def test_a_practised_order_begins_where_it_does_and_is_shown_beside_the_shortest(self, order, size):
        answer = asked(order=order)
        assert (answer.advice, answer.size, answer.chosen.size) == (Advice.TRY, size, size)
        assert answer.shortest.size == "thrush"
        assert answer.shortest.try_ons <= answer.chosen.try_ons + 1e-9

    def test_a_size_that_turns_leads_down_and_one_that_will_not_go_on_up(self):
        hoof = reading(width=126.5, length=126.5)
        assert asked(tried("dove", Finding.TURNS), hoof=hoof).size == "thrush"
        assert asked(tried("thrush", Finding.WILL_NOT_GO_ON), hoof=hoof).size == "dove"

    def test_a_size_that_stays_put_is_moved_in_and_what_to_look_at_is_told(self):
        answer = asked(tried("thrush", Finding.STAYS_PUT))
        assert (answer.advice, answer.size) == (Advice.MOVE, "thrush")
        assert codes(answer) >= {
            "walk-trot-circles",
            "look-at-the-heel-gap",
            "look-at-the-rotation",
            "look-at-the-bulbs",
            "end-when-lamer",
        }
        assert (answer.chosen.try_ons, answer.chosen.size) == (0.0, None)
        assert answer.chosen.ends_fitting > 0.8

    def test_a_size_that_went_well_is_kept_and_looked_at_after_the_first_ride_week_and_month(self):
        answer = asked(tried("thrush", Finding.STAYS_PUT, **WELL))
        assert (answer.advice, answer.size) == (Advice.KEEP, "thrush")
        assert [step.code for step in answer.steps] == ["first-ride", "first-week", "first-month"]

    def test_a_size_that_turns_freely_in_movement_is_not_kept(self):
        moved = {"rotation": Rotation.FREE, "heel_gap": HeelGap.OPENS, "bulb_marks": BulbMarks.MARKED}
        assert asked(tried("dove", Finding.STAYS_PUT, **moved)).advice not in {Advice.KEEP, Advice.MOVE}

    def test_a_heel_that_is_not_seated_is_seated_again(self):
        answer = asked(tried("thrush", Finding.HEEL_NOT_SEATED))
        assert (answer.advice, answer.size) == (Advice.SEAT_AGAIN, "thrush")
        assert "seat-again" in codes(answer)

    def test_findings_that_contradict_each_other_have_the_hoof_measured_again(self):
        answer = asked(tried("finch", Finding.TURNS), tried("rook", Finding.WILL_NOT_GO_ON))
        assert (answer.advice, answer.size, answer.next_boot) == (Advice.MEASURE_AGAIN, None, None)
        assert "measure-again" in codes(answer)

    def test_every_size_is_told_of_with_what_its_findings_say(self):
        answer = asked(tried("dove", Finding.TURNS))
        assert [one.size.code for one in answer.sizes] == list(BIRDS)
        assert [one.size.code for one in answer.sizes if one.was_tried] == ["dove"]
        for one in answer.sizes:
            assert sum(one.chances.values()) == pytest.approx(1.0)

    @ANY_ORDER
    def test_each_time_a_boot_is_put_on_it_is_said_how_to_hold_the_limb(self, order):
        assert codes(asked(order=order)) >= HANDLING | {"never-force", "seat-the-heel"}


class TestWithoutANamedBootModel:
    def test_the_one_that_follows_the_hoof_best_is_tried(self):
        answer = asked(boot=None, closures=(Closure.STRAP,))
        assert (answer.advice, answer.size) == (Advice.TRY, "thrush")
        assert answer.boot.closure is Closure.STRAP
        assert answer.maker.name == "Haskeby"

    def test_one_that_was_tried_is_not_tried_again(self):
        alone = shelf_of(boot("amble"), boot("brook"))
        assert asked(boot=None, shelf=alone).boot.id == "amble"
        assert asked(tried("dove", Finding.TURNS), boot=None, shelf=alone).boot.id == "brook"

    def test_where_none_is_likely_to_fit_there_is_none_to_try(self):
        answer = asked(boot=None, hoof=reading(width=200.0, length=200.0))
        assert (answer.advice, answer.boot, answer.maker, answer.sizes) == (Advice.CHANGE_BOOT, None, None, ())
        assert "chances-not-calibrated" in cautions(answer)

    def test_on_a_painful_foot_none_is_looked_for(self):
        answer = asked(boot=None, needs=(NamedNeed(need=Need.FOUNDER),))
        assert (answer.advice, answer.boot) == (Advice.STOP, None)


class TestLeavingTheBootModel:
    BETWEEN = (tried("dove", Finding.TURNS), tried("thrush", Finding.WILL_NOT_GO_ON))

    def leaves(self, *try_ons: TriedSize, **changes: object) -> FittingAnswer:
        answer = asked(*try_ons, **changes)
        assert (answer.advice, answer.size) == (Advice.CHANGE_BOOT, None)
        return answer

    def test_between_two_sizes_it_is_left_and_the_next_boot_model_named_with_its_first_size(self):
        answer = self.leaves(*self.BETWEEN, hoof=reading(width=126.5, length=126.5))
        assert codes(answer) == {"between-sizes"}
        assert answer.next_boot.boot.id != "amble"
        assert answer.next_boot.expected.size in BIRDS
        assert 0.0 < answer.next_boot.expected.ends_fitting < 1.0

    def test_a_boot_model_that_was_left_before_is_not_named_again(self):
        first = self.leaves(*self.BETWEEN, hoof=reading(width=126.5, length=126.5))
        model = first.next_boot.boot.id
        again = self.leaves(
            *self.BETWEEN,
            tried("dove", Finding.TURNS, model=model),
            tried("thrush", Finding.WILL_NOT_GO_ON, model=model),
            hoof=reading(width=126.5, length=126.5),
            boot=model,
        )
        assert again.next_boot is None or again.next_boot.boot.id not in {"amble", model}

    def test_what_was_learned_is_carried_over(self):
        """Amble's dove turned: in brook, of the same chart, the smaller size is likelier than before."""
        hoof = reading(width=126.5, length=126.5)
        plain, taught = (
            {
                one.size.code: one.chances[Standing.RIGHT]
                for one in asked(*before, boot=BootId("brook"), hoof=hoof).sizes
            }
            for before in ((), (tried("dove", Finding.TURNS),))
        )
        thrush, dove = SizeCode("thrush"), SizeCode("dove")
        assert taught[thrush] > plain[thrush]
        assert taught[dove] < plain[dove]

    @pytest.mark.parametrize(("wish", "model"), [(Closure.LACE, "brook"), (Closure.STRAP, "clover")])
    def test_wishes_choose_among_boot_models_that_fit_alike(self, wish, model):
        shelf = shelf_of(boot("amble"), boot("brook", closure=Closure.LACE), boot("clover"))
        hoof = reading(width=126.5, length=126.5)
        assert self.leaves(*self.BETWEEN, shelf=shelf, hoof=hoof, closures=(wish,)).next_boot.boot.id == model

    def test_a_boot_model_that_does_not_serve_a_named_use_is_not_next(self):
        shelf = shelf_of(boot("amble"), boot("brook", intended_uses=frozenset({IntendedUse.ROAD})))
        hoof, uses = reading(width=126.5, length=126.5), frozenset({IntendedUse.HACKING})
        assert self.leaves(*self.BETWEEN, shelf=shelf, hoof=hoof).next_boot.boot.id == "brook"
        assert self.leaves(*self.BETWEEN, shelf=shelf, hoof=hoof, uses=uses).next_boot is None

    def test_where_no_other_boot_model_is_likely_to_fit_none_is_named(self):
        hoof = reading(width=126.5, length=126.5)
        assert self.leaves(*self.BETWEEN, shelf=shelf_of(boot("amble")), hoof=hoof).next_boot is None

    @pytest.mark.parametrize(
        ("width", "try_ons", "why"),
        [
            (93.0, (tried("wren", Finding.TURNS),), "no-size-small-enough"),
            (161.0, (tried("crane", Finding.WILL_NOT_GO_ON),), "no-size-large-enough"),
            (185.0, (), "no-size-worth-a-try"),
        ],
    )
    def test_it_is_said_why(self, width, try_ons, why):
        answer = self.leaves(*try_ons, hoof=reading(width=width, length=width))
        assert [step.code for step in answer.steps] == [why]

    def test_after_four_sizes_it_is_left(self):
        hoof = reading(width=112.0, length=112.0)
        try_ons = [tried(bird, Finding.TURNS) for bird in ("rook", "dove", "thrush", "lark")]
        assert asked(*try_ons, hoof=hoof).advice in {Advice.CHANGE_BOOT, Advice.TRY_AGAIN}


class TestOneBootAtHome:
    def test_the_size_at_home_is_tried_first_and_the_exchange_named_for_each_likely_finding(self):
        answer = asked(at_home=SizeCode("dove"), hoof=reading(width=126.5, length=126.5))
        assert (answer.advice, answer.size) == (Advice.TRY, "dove")
        by_finding = {one.finding: one for one in answer.exchanges}
        assert Finding.STAYS_PUT not in by_finding
        assert (by_finding[Finding.TURNS].advice, by_finding[Finding.TURNS].size) == (Advice.TRY, "thrush")
        assert all(0.05 <= one.chance <= 1.0 for one in answer.exchanges)
        assert codes(answer) >= {"clean-and-indoors", "keep-it-as-new"}

    def test_the_exchange_named_beforehand_is_the_one_named_after_the_finding(self):
        hoof = reading(width=126.5, length=126.5)
        for one in asked(at_home=SizeCode("dove"), hoof=hoof).exchanges:
            after = asked(tried("dove", one.finding), at_home=SizeCode("dove"), hoof=hoof)
            assert after.advice is one.advice
            if one.advice is Advice.TRY:
                assert after.size == one.size
            assert after.exchanges == ()

    def test_a_size_at_home_that_no_order_would_try_is_tried_all_the_same(self):
        answer = asked(at_home=SizeCode("heron"))
        assert (answer.advice, answer.size) == (Advice.TRY, "heron")
        assert [one.finding for one in answer.exchanges] == [Finding.TURNS]

    def test_the_chances_of_all_findings_are_at_most_one_together(self):
        answer = asked(at_home=SizeCode("thrush"))
        assert sum(one.chance for one in answer.exchanges) < 1.0

    def test_with_more_boots_than_one_no_exchange_is_named(self):
        assert asked().exchanges == ()


class TestNothingIsTriedOn:
    """A painful foot is only looked at; a foal gets no boots."""

    @pytest.mark.parametrize("need", PAINFUL)
    @pytest.mark.parametrize("told", [(), (tried("dove", Finding.TURNS),)], ids=["at first", "after a try-on"])
    def test_on_a_painful_foot_all_stops(self, need, told):
        answer = asked(*told, needs=(NamedNeed(need=need),), at_home=SizeCode("dove"))
        self.assert_stopped(answer)
        found = cautions(answer)
        assert found["painful-foot"] is Severity.STOP
        assert found["veterinarian-first"] is Severity.STOP

    def test_a_foal_is_tried_nothing_on(self):
        answer = asked(is_foal=True)
        self.assert_stopped(answer)
        assert cautions(answer)["foal"] is Severity.STOP

    def assert_stopped(self, answer: FittingAnswer) -> None:
        assert (answer.advice, answer.size) == (Advice.STOP, None)
        assert (answer.sizes, answer.exchanges, answer.next_boot) == ((), (), None)
        assert answer.chosen is answer.shortest is None
        assert codes(answer) == {"static-looks-only"}

    def test_a_chronic_need_is_tried_on_as_directed(self):
        answer = asked(needs=(NamedNeed(need=Need.HEEL_PAIN, course=Course.CHRONIC),))
        assert answer.advice is Advice.TRY
        assert cautions(answer)["as-directed"] is Severity.LOOK_AGAIN

    def test_a_horse_that_is_not_to_work_is_not_moved_in_it(self):
        answer = asked(tried("thrush", Finding.STAYS_PUT), needs=(NamedNeed(need=Need.HEEL_PAIN),))
        assert answer.advice is Advice.KEEP
        assert codes(answer) == {"no-movement-test", "look-while-it-stands"}

    def test_a_boot_for_standing_is_not_moved_in(self):
        answer = asked(tried("thrush", Finding.STAYS_PUT, model="fallow"), boot=BootId("fallow"))
        assert answer.advice is Advice.KEEP
        assert not codes(answer) & TURNING
        assert "standing-only" in cautions(answer)

    @settings(max_examples=40, deadline=None)
    @given(
        hoof=readings,
        needs=st.lists(st.builds(NamedNeed, need=st.sampled_from(Need), course=st.sampled_from(Course)), max_size=2),
        is_foal=st.booleans(),
        finding=st.none() | st.sampled_from(Finding),
        order=st.sampled_from(Order),
    )
    def test_nothing_is_turned_or_moved_where_a_need_forbids_it(self, hoof, needs, is_foal, finding, order):
        told = () if finding is None else (tried("dove", finding),)
        answer = asked(*told, hoof=hoof, needs=tuple(needs), is_foal=is_foal, order=order)
        acute = {named.need for named in needs if named.course is Course.ACUTE}
        if is_foal or acute & set(PAINFUL):
            assert answer.advice is Advice.STOP
        if answer.advice is Advice.STOP:
            assert not codes(answer) & TURNING
        if Need.HEEL_PAIN in acute:
            assert "walk-trot-circles" not in codes(answer)


class TestWhatIsToldBeside:
    def test_a_boot_model_that_would_not_be_offered_is_warned_of(self):
        assert "boot-not-offered" not in cautions(asked())
        assert cautions(asked(uses=frozenset({IntendedUse.SOAKING})))["boot-not-offered"] is Severity.LOOK_AGAIN
        hind = asked(boot=BootId("dell"))
        assert "boot-not-offered" in cautions(hind)
        assert "boot-not-offered" not in cautions(asked(boot=BootId("dell"), hoof=reading(Limb.LH)))

    @pytest.mark.parametrize(("model", "code"), [("heath", "no-length-in-chart"), ("ivy", "no-width-in-chart")])
    def test_an_axis_that_the_chart_leaves_out_is_told(self, model, code):
        answer = asked(boot=BootId(model))
        assert cautions(answer)[code] is Severity.LOOK_AGAIN
        assert {"no-length-in-chart", "no-width-in-chart"} - {code} - set(cautions(answer))

    def test_what_rests_on_convention_is_said(self):
        assert "findings-by-convention" in {one.code for one in asked().assumptions}
        assert "chances-not-calibrated" in cautions(asked())

    def test_a_reading_that_is_unusual_is_looked_at_again(self):
        answer = asked(hoof=reading(width=124.0, length=126.0), animal_type=AnimalType.MINI)
        assert "width-unusual" in cautions(answer)

    def test_the_answer_names_what_it_depends_on(self):
        answer = asked()
        assert answer.versions.catalog_release == SHELF.release.id
        assert answer.versions.language == "en"
        assert answer.maker.name == "Haskeby"


class TestTheBootsOwnIndicator:
    """Where its maker says how a boot shows that it fits, that is looked at too."""

    WITH_ONE = shelf_of(boot("amble", fit_indicator="The flap lies flat."))

    def test_its_maker_s_words_are_told_each_time_the_boot_is_looked_at(self):
        for told in ((), (tried("thrush", Finding.HEEL_NOT_SEATED),)):
            facts = [one.facts for one in asked(*told, shelf=self.WITH_ONE).steps if one.code == "read-the-indicator"]
            assert facts == [{"indicator_note": "The flap lies flat."}]
        assert "read-the-indicator" not in codes(asked(tried("thrush", Finding.STAYS_PUT), shelf=self.WITH_ONE))
        assert "read-the-indicator" not in codes(asked())

    def test_what_it_reads_is_weighed_with_the_rest(self):
        doubtful = reading(width=126.5, length=126.5)
        alone, against = (
            {one.size.code: one.chances[Standing.RIGHT] for one in asked(seen, hoof=doubtful).sizes}
            for seen in (
                tried("dove", Finding.STAYS_PUT),
                tried("dove", Finding.STAYS_PUT, indicator=Indicator.TOO_LARGE),
            )
        )
        assert against[SizeCode("dove")] < alone[SizeCode("dove")]


class TestWhatTheCatalogDoesNotHave:
    def test_every_unknown_boot_model_and_size_is_a_fault_at_its_place(self):
        with pytest.raises(InputRefused) as refused:
            asked(
                tried("dove", Finding.TURNS, model="nothing"),
                tried("goose", Finding.TURNS),
                tried("goose", Finding.TURNS, model="brook"),
                tried("dove", Finding.TURNS),
                at_home=SizeCode("goose"),
            )
        found = {(fault.pointer, fault.code) for fault in refused.value.faults}
        assert found == {
            ("/try_ons/0/boot", "boot-unknown"),
            ("/try_ons/1/size", "size-unknown"),
            ("/try_ons/2/size", "size-unknown"),
            ("/at_home", "size-unknown"),
        }

    def test_an_unknown_boot_model_of_the_whole_question_is_told_once(self):
        with pytest.raises(InputRefused) as refused:
            asked(tried("dove", Finding.TURNS, model="nothing"), boot=BootId("nothing"), at_home=SizeCode("dove"))
        assert [fault.pointer for fault in refused.value.faults] == ["/boot"]


def test_the_same_question_has_the_same_answer():
    one, other = (asked(tried("dove", Finding.TURNS), hoof=reading(width=126.0)) for _ in range(2))
    assert one == other


def test_the_place_of_a_boot_model_on_the_shelf_changes_nothing():
    apart = shelf_of(boot("amble"), boot("zephyr"), boot("aardvark"))
    alone = shelf_of(boot("amble"))
    answers = [asked(tried("dove", Finding.TURNS), shelf=shelf) for shelf in (apart, alone)]
    assert answers[0].size == answers[1].size
    assert answers[0].sizes == answers[1].sizes
    assert answers[0].shortest == answers[1].shortest


@ANY_ORDER
@pytest.mark.parametrize("finding", LAST_LOOK)
def test_a_trial_that_shows_the_same_finding_again_and_again_comes_to_an_end(order, finding):
    told: list[TriedSize] = []
    answer = asked(order=order, hoof=reading(width=126.0))
    while answer.advice in {Advice.TRY, Advice.TRY_AGAIN} and len(told) <= 2 * MOST_TRIES:
        told.append(tried(str(answer.size), finding))
        answer = asked(*told, order=order, hoof=reading(width=126.0))
    assert answer.advice in {Advice.CHANGE_BOOT, Advice.MEASURE_AGAIN, Advice.MOVE}
    assert len({one.size for one in told}) <= MOST_TRIES


def test_a_pinned_day_decides_what_is_no_longer_made():
    old = boot("gorse", discontinued_on=date(2026, 4, 1))
    answer = asked(boot=BootId("gorse"), shelf=shelf_of(old))
    assert "boot-not-offered" in cautions(answer)
