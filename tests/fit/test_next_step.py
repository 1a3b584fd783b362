"""Next step: what to do after the try-ons so far."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit import next_step as module
from hooflast.fit.findings import CLEAR, LAST_LOOK, USUAL, BulbMarks, Finding, HeelGap, Rotation, Seen
from hooflast.fit.lookahead import MOST_TRIES, Order, Outlook, practised, shortest
from hooflast.fit.next_step import RIGHT_ENOUGH, NextStep, Step, next_step
from hooflast.fit.trial import Trial, TryOn

from .strategies import bounded
from .trials import by_hand, weights

WELL = {"rotation": Rotation.NONE, "heel_gap": HeelGap.NONE, "bulb_marks": BulbMarks.NONE}
BADLY = {"rotation": Rotation.FREE, "heel_gap": HeelGap.OPENS, "bulb_marks": BulbMarks.MARKED}
FITS = [0.1, 0.3, 0.4, 0.2]

try_ons = st.lists(
    st.builds(TryOn, st.integers(0, 3), st.builds(Seen, finding=st.sampled_from(Finding))), max_size=MOST_TRIES
)


def found(size: int, finding: Finding, **moved: object) -> TryOn:
    return TryOn(size, Seen(finding=finding, **moved))  # type: ignore[arg-type]


def after(*tried: TryOn, order: Order = Order.SHORTEST, fits: list[float] = FITS) -> NextStep:
    return next_step(by_hand(fits, sight=USUAL, tried=tried), order=order, best=2)


class TestTheStep:
    def test_before_anything_is_tried_it_is_the_shortest_order_s_first_size(self):
        step = after()
        assert (step.step, step.size) == (Step.TRY, step.shortest.size)
        assert step.chosen == step.shortest

    @pytest.mark.parametrize(("order", "size"), [(Order.ONE_ABOVE, 3), (Order.BEST, 2)])
    def test_a_chosen_order_is_followed_as_long_as_it_has_a_size(self, order, size):
        step = after(order=order)
        assert (step.step, step.size, step.chosen.size) == (Step.TRY, size, size)

    def test_where_the_chosen_order_has_no_further_size_the_shortest_one_s_is_tried(self):
        """Size 3 stays put, yet turns freely in movement; the practised order ends there."""
        step = after(found(3, Finding.STAYS_PUT, **BADLY), order=Order.ONE_ABOVE)
        assert step.chosen.size is None
        assert (step.step, step.size) == (Step.TRY, step.shortest.size)
        assert step.size in {1, 2}

    def test_a_heel_seen_unseated_last_is_seated_again(self):
        step = after(found(1, Finding.HEEL_NOT_SEATED))
        assert (step.step, step.size) == (Step.SEAT_AGAIN, 1)

    def test_a_heel_to_be_seated_comes_before_another_size_that_stays_put(self):
        step = after(found(2, Finding.STAYS_PUT), found(1, Finding.HEEL_NOT_SEATED))
        assert (step.step, step.size) == (Step.SEAT_AGAIN, 1)

    def test_a_heel_seated_again_is_done_with(self):
        step = after(found(1, Finding.HEEL_NOT_SEATED), found(1, Finding.HEEL_STILL_NOT_SEATED))
        assert step.step is not Step.SEAT_AGAIN

    def test_a_size_that_stays_put_is_moved_in(self):
        step = after(found(2, Finding.STAYS_PUT))
        assert (step.step, step.size) == (Step.MOVE, 2)

    def test_a_size_that_went_well_in_movement_is_kept(self):
        step = after(found(2, Finding.STAYS_PUT, **WELL))
        assert (step.step, step.size) == (Step.KEEP, 2)

    @pytest.mark.parametrize("moved", [{}, WELL])
    def test_where_a_size_fits_no_try_on_is_ahead(self, moved):
        """The outlook of either order: none to try, and how likely the size that fits is right."""
        tried = found(1, Finding.STAYS_PUT, **moved)
        step = after(tried, fits=[0.1, 0.6, 0.2, 0.1])
        right = by_hand([0.1, 0.6, 0.2, 0.1], sight=USUAL, tried=(tried,)).right_by_size[1]
        assert step.size == 1
        assert step.chosen == step.shortest == Outlook(size=None, try_ons=0.0, ends_fitting=right)

    def test_movement_told_apart_from_the_look_counts_for_its_size(self):
        step = after(found(2, Finding.STAYS_PUT), found(2, Finding.STAYS_PUT, rotation=Rotation.NONE))
        assert (step.step, step.size) == (Step.KEEP, 2)

    def test_a_size_that_went_badly_in_movement_is_not_kept(self):
        assert after(found(2, Finding.STAYS_PUT, **BADLY)).step not in {Step.KEEP, Step.MOVE}

    def test_of_two_sizes_that_stay_put_the_likelier_one_is_moved_in(self):
        tried = [found(2, Finding.STAYS_PUT), found(3, Finding.STAYS_PUT)]
        assert after(*tried, fits=[0.1, 0.1, 0.7, 0.1]).size == 2
        assert after(*tried, fits=[0.1, 0.1, 0.1, 0.7]).size == 3
        assert after(*tried[::-1], fits=[0.1, 0.1, 0.7, 0.1]).size == 2

    @pytest.mark.parametrize("share", [0.2, 0.8])
    def test_of_two_sizes_that_may_both_be_right_the_likelier_one_is_moved_in(self, share):
        """Every hoof is right for one size or the other, and some for both."""
        standing = np.zeros((2, 4, 3))
        standing[0, :2] = [[1, 1, 0], [0, 0, 1]]
        standing[1, :3] = [[1, 0, 1], [0, 0, 0], [0, 1, 0]]
        stay = tuple(found(size, Finding.STAYS_PUT) for size in (0, 1))
        both = Trial(
            sizes=range(2),
            before=np.array([0.5, 0.5 * share, 0.5 * (1.0 - share)]),
            standing=standing,
            larger=np.array([[True, True], [False, True]]),
            tried=stay,
        )
        assert min(both.right_by_size.values()) >= RIGHT_ENOUGH
        assert step_of(both) == (Step.MOVE, 0 if share > 0.5 else 1)
        assert step_of(replace(both, tried=stay[::-1])) == step_of(both)

    def test_a_size_that_stays_put_against_all_expectation_is_not_taken_for_right(self):
        step = after(found(3, Finding.STAYS_PUT), fits=[0.0, 0.98, 0.0, 0.02])
        assert (step.step, step.size) == (Step.TRY, 1)

    def test_between_two_sizes_the_boot_model_is_left(self):
        trial = by_hand([0.4, 0.4], between=[0.0, 0.2, 0.0], sight=USUAL)
        tried = (found(1, Finding.TURNS), found(0, Finding.WILL_NOT_GO_ON))
        for finding in tried:
            trial = trial.with_try_on(*finding)
        step = next_step(trial, order=Order.SHORTEST, best=0)
        assert (step.step, step.size) == (Step.CHANGE_BOOT, None)

    def test_where_no_size_is_worth_a_try_the_boot_model_is_left_at_once(self):
        trial = by_hand([0.02, 0.02], between=[0.0, 0.96, 0.0], sight=USUAL)
        for order in Order:
            step = next_step(trial, order=order, best=0)
            assert (step.step, step.size, step.shortest.try_ons) == (Step.CHANGE_BOOT, None, 0.0)

    def test_a_likely_size_that_turned_is_looked_at_again_once_no_other_is_left(self):
        trial = by_hand([0.97, 0.03], sight=USUAL, tried=[found(0, Finding.TURNS)])
        assert step_of(trial) == (Step.TRY_AGAIN, 0)
        twice = by_hand([0.97, 0.03], sight=USUAL, tried=[found(0, Finding.TURNS)] * 2)
        assert step_of(twice)[0] is not Step.TRY_AGAIN

    @pytest.mark.parametrize(
        ("fits", "finding", "likeliest"),
        [([0.9, 0.05, 0.05], Finding.TURNS, 0), ([0.05, 0.05, 0.9], Finding.WILL_NOT_GO_ON, 2)],
    )
    def test_of_two_sizes_that_did_not_stay_put_the_likelier_one_is_looked_at_again(self, fits, finding, likeliest):
        tried = [found(0, finding), found(2, finding)]
        assert step_of(by_hand(fits, sight=USUAL, tried=tried)) == (Step.TRY_AGAIN, likeliest)

    def test_findings_that_contradict_each_other_have_the_hoof_measured_again(self):
        step = after(found(0, Finding.TURNS), found(3, Finding.WILL_NOT_GO_ON))
        assert (step.step, step.size) == (Step.MEASURE_AGAIN, None)
        assert step.misled > 0.9

    def test_what_was_seen_of_another_boot_model_counts_among_what_may_mislead(self):
        trial = by_hand(FITS, sight=USUAL)
        odd = Trial(
            sizes=trial.sizes,
            before=trial.before * 1e-6,
            standing=trial.standing,
            larger=trial.larger,
            tried=(),
            carried=(found(0, Finding.TURNS), found(3, Finding.WILL_NOT_GO_ON)),
        )
        assert step_of(odd)[0] is Step.MEASURE_AGAIN

    def test_after_four_sizes_the_boot_model_is_left(self):
        """The hooves are the larger the less likely; each size turns until none is left to try."""
        fits = [0.2] * 6
        tried = [found(size, Finding.TURNS) for size in (5, 4, 3, 2)]
        step = next_step(by_hand(fits, sight=CLEAR, tried=tried), order=Order.BEST, best=5)
        assert (step.step, step.chosen.size, step.shortest.size) == (Step.CHANGE_BOOT, None, None)


class TestTheThresholds:
    """Each counts from its own value on; which is which can be seen by setting it to what a trial comes to."""

    def test_findings_contradict_from_the_chance_on_that_they_mislead(self, monkeypatch):
        trial = by_hand(FITS, sight=USUAL, tried=[found(2, Finding.TURNS)])
        other = by_hand(FITS, sight=USUAL, tried=[found(2, Finding.STAYS_PUT)])
        for one in (trial, other):
            misled = next_step(one, order=Order.SHORTEST, best=0).misled
            monkeypatch.setattr(module, "CONTRADICTED", misled)
            assert step_of(one)[0] is Step.MEASURE_AGAIN
            monkeypatch.setattr(module, "CONTRADICTED", misled + 1e-9)
            assert step_of(one)[0] is not Step.MEASURE_AGAIN

    def test_a_size_is_right_enough_from_the_chance_on_that_it_is_right(self, monkeypatch):
        trial = by_hand(FITS, sight=USUAL, tried=[found(2, Finding.STAYS_PUT)])
        monkeypatch.setattr(module, "RIGHT_ENOUGH", trial.right_by_size[2])
        assert step_of(trial) == (Step.MOVE, 2)
        monkeypatch.setattr(module, "RIGHT_ENOUGH", trial.right_by_size[2] + 1e-9)
        assert step_of(trial)[0] is not Step.MOVE

    def test_a_size_is_worth_another_look_from_the_chance_on_that_it_is_right(self, monkeypatch):
        trial = by_hand([0.97, 0.03], sight=USUAL, tried=[found(0, Finding.TURNS)])
        monkeypatch.setattr(module, "WORTH_ANOTHER_LOOK", trial.right_by_size[0])
        assert step_of(trial) == (Step.TRY_AGAIN, 0)
        monkeypatch.setattr(module, "WORTH_ANOTHER_LOOK", trial.right_by_size[0] + 1e-9)
        assert step_of(trial)[0] is Step.CHANGE_BOOT


class TestAlways:
    @bounded
    @given(fits=weights(4), tried=try_ons, order=st.sampled_from(Order))
    def test_a_step_names_a_size_if_it_is_about_one_and_a_further_size_was_not_tried(self, fits, tried, order):
        step = next_step(by_hand(fits, between=[0.1] * 5, sight=USUAL, tried=tried), order=order, best=2)
        assert (step.size is None) == (step.step in {Step.CHANGE_BOOT, Step.MEASURE_AGAIN})
        if step.step is Step.TRY:
            assert step.size not in {one.size for one in tried}
        elif step.size is not None:
            assert step.size in {one.size for one in tried}

    @bounded
    @given(fits=weights(4), tried=try_ons)
    def test_the_outlooks_are_those_of_the_orders_with_the_tries_that_are_left(self, fits, tried):
        trial = by_hand(fits, between=[0.1] * 5, sight=USUAL, tried=tried)
        left = MOST_TRIES - len(trial.tried_sizes)
        step = next_step(trial, order=Order.ONE_ABOVE, best=1)
        if step.step in {Step.MOVE, Step.KEEP}:
            done = Outlook(size=None, try_ons=0.0, ends_fitting=float(trial.right_after[step.size]))
            assert step.shortest == step.chosen == done
            return
        assert step.shortest == shortest(trial, tries_left=left)
        assert step.chosen == practised(trial, Order.ONE_ABOVE, best=1, tries_left=left)

    @bounded
    @given(true=st.integers(0, 4), order=st.sampled_from(Order), best=st.integers(0, 4))
    def test_where_nothing_misleads_every_order_comes_to_the_fitting_size_if_four_tries_reach_it(
        self, true, order, best
    ):
        trial = by_hand([1.0] * 5)
        for _ in range(MOST_TRIES):
            step = next_step(trial, order=order, best=best)
            if step.step is not Step.TRY:
                break
            finding = LAST_LOOK[0 if step.size == true else 1 if step.size > true else 2]
            trial = trial.with_try_on(step.size, Seen(finding=finding))
        reached = {one.size for one in trial.tried}
        assert true in reached or len(reached) == MOST_TRIES
        assert next_step(trial, order=order, best=best).step is (Step.MOVE if true in reached else Step.CHANGE_BOOT)


def step_of(trial: Trial) -> tuple[Step, int | None]:
    step = next_step(trial, order=Order.SHORTEST, best=0)
    return step.step, step.size
