"""Lookahead: the shortest order and the practised ones, against hand algebra, optimal search trees and simulation."""

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.findings import CLEAR, LAST_LOOK, USUAL, Finding, Seen
from hooflast.fit.lookahead import (
    LEAST_CHANCE,
    LEFT_COSTS,
    MOST_TRIES,
    Order,
    Outlook,
    practised,
    shortest,
    step_by_step,
)
from hooflast.fit.sizes import size_table
from hooflast.fit.trial import Trial, TryOn, begin_trial, hoof_lattice

from .strategies import bounded, charts, hoof, ladder, normals
from .trials import by_hand, least_loss, weights

STAYS, TURNS, WILL_NOT, HEEL = (LAST_LOOK.index(finding) for finding in LAST_LOOK)


def loss(outlook: Outlook, *, left_costs: float = LEFT_COSTS) -> float:
    return outlook.try_ons + left_costs * (1.0 - outlook.ends_fitting)


def found(size: int, finding: Finding) -> TryOn:
    return TryOn(size, Seen(finding=finding))


class TestWithoutNoise:
    """Where nothing misleads, trying on is searching a sorted list, and can be worked out by hand."""

    def test_of_five_equally_likely_sizes_no_outer_one_comes_first_and_2_2_try_ons_are_expected(self):
        """From the middle: one try-on always, a second for 0.8 and a third for 0.4; beside it the same."""
        outlook = shortest(by_hand([1.0] * 5))
        assert outlook.size in {1, 2, 3}
        assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx((2.2, 1.0))

    def test_a_likely_size_at_the_end_comes_before_the_middle_one(self):
        """From the first: 1 + 0.3 + ... ; the other two after it need 1 and 2 try-ons more: 0.7·1 + 0.2·2 + 0.1·3."""
        outlook = shortest(by_hand([0.7, 0.2, 0.1]))
        assert outlook.size == 0
        assert outlook.try_ons == pytest.approx(0.7 + 0.2 * 2 + 0.1 * 3)

    def test_a_middle_size_that_tells_which_side_to_go_can_come_before_a_likelier_one(self):
        """Sizes at 0.34, 0.32, 0.34: from the middle 1 + 0.68; from an end 0.34 + 0.32·2 + 0.34·3 = 2.0."""
        outlook = shortest(by_hand([0.34, 0.32, 0.34]))
        assert outlook.size == 1
        assert outlook.try_ons == pytest.approx(1.68)

    @pytest.mark.parametrize("too_small", [Finding.WILL_NOT_GO_ON, Finding.HEEL_STILL_NOT_SEATED])
    def test_a_middle_size_can_come_before_two_that_are_nearly_twice_as_likely(self, too_small):
        """From the middle 0.22 + 2 · 0.78; from an end, then the other, then the middle 3 · 0.39 + 3 · 0.22."""
        rows = np.eye(4)
        rows[2] = np.array([finding is too_small for finding in LAST_LOOK])
        outlook = shortest(by_hand([0.39, 0.22, 0.39], sight=replace(CLEAR, last_look=rows)))
        assert outlook.size == 1
        assert outlook.try_ons == pytest.approx(1.78)

    @pytest.mark.parametrize(("chance", "size"), [(0.051, 0), (0.049, None)])
    def test_a_lone_size_is_tried_from_a_chance_of_one_in_twenty_on(self, chance, size):
        outlook = shortest(by_hand([chance], between=[1.0 - chance, 0.0]))
        assert outlook.size == size
        assert outlook.ends_fitting == pytest.approx(chance if size == 0 else 0.0)
        assert outlook.try_ons == (1.0 if size == 0 else 0.0)

    def test_what_a_fitting_size_is_worth_can_be_set(self):
        lone = by_hand([0.3], between=[0.7, 0.0])
        assert shortest(lone, left_costs=3.0).size is None
        assert shortest(lone, left_costs=4.0).size == 0

    @bounded
    @given(
        fits=st.integers(1, 5).flatmap(lambda count: weights(count, least=0.1)),
        data=st.data(),
        tries=st.integers(1, MOST_TRIES),
        left_costs=st.sampled_from([1.5, 5.0, LEFT_COSTS]),
    )
    def test_the_shortest_order_is_the_optimal_search_tree(self, fits, data, tries, left_costs):
        """No size is so unlikely that it is not looked ahead to: at least 0.1 of at most 11 in weight."""
        between = data.draw(weights(len(fits) + 1))
        outlook = shortest(by_hand(fits, between=between), tries_left=tries, left_costs=left_costs)
        least = least_loss(fits, between, tries=tries, left_costs=left_costs)
        assert loss(outlook, left_costs=left_costs) == pytest.approx(least, abs=1e-4)

    def test_one_above_and_down_takes_2_4_try_ons_for_five_equally_likely_sizes(self):
        """Size 3 first (0.2 · 1), then up to 4 (0.2 · 2) or down to 2, 1 and 0 (0.2 · (2 + 3 + 4))."""
        outlook = practised(by_hand([1.0] * 5), Order.ONE_ABOVE, best=2)
        assert outlook.size == 3
        assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx((2.4, 1.0))

    def test_at_the_best_size_takes_2_2_try_ons_for_five_equally_likely_sizes(self):
        outlook = practised(by_hand([1.0] * 5), Order.BEST, best=2)
        assert outlook.size == 2
        assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx((2.2, 1.0))

    def test_between_two_sizes_a_practised_order_tries_both_and_leaves(self):
        outlook = practised(by_hand([0.0] * 3, between=[0.0, 0.0, 1.0, 0.0]), Order.ONE_ABOVE, best=1)
        assert (outlook.size, outlook.try_ons, outlook.ends_fitting) == (2, 2.0, 0.0)

    def test_four_sizes_are_tried_at_most(self):
        outlook = practised(by_hand([1.0, *[0.0] * 5]), Order.BEST, best=5)
        assert (outlook.try_ons, outlook.ends_fitting) == (4.0, 0.0)
        assert practised(by_hand([1.0, *[0.0] * 5]), Order.BEST, best=5, tries_left=6).ends_fitting == 1.0


class TestThePractisedOrders:
    @pytest.mark.parametrize(
        ("course", "next_place"),
        [
            ((), 3),
            (((3, STAYS),), None),
            (((3, TURNS),), 2),
            (((3, WILL_NOT),), 4),
            (((3, HEEL),), 4),
            (((3, TURNS), (2, TURNS)), 1),
            (((3, TURNS), (2, WILL_NOT)), None),
            (((3, WILL_NOT), (4, TURNS)), None),
            (((0, TURNS),), None),
            (((5, WILL_NOT),), None),
        ],
    )
    def test_each_finding_asks_for_the_next_size_up_or_down_that_was_not_tried(self, course, next_place):
        assert step_by_step(3, count=6)(course) == next_place

    def test_one_above_the_largest_size_is_the_largest(self):
        assert practised(by_hand([1.0, 1.0]), Order.ONE_ABOVE, best=1).size == 1

    def test_they_go_on_from_what_was_found(self):
        """Sizes 0 and 1 are left, equally likely: one try-on, and a second for half of the hooves."""
        trial = by_hand([1.0] * 4, tried=[found(2, Finding.TURNS)])
        going_on = practised(trial, Order.BEST, best=2)
        assert going_on.size == 1
        for outlook in (going_on, shortest(trial)):
            assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx((1.5, 1.0))

    def test_a_heel_to_be_seated_again_counts_as_short_meanwhile(self):
        trial = by_hand([1.0] * 4, sight=USUAL, tried=[found(2, Finding.HEEL_NOT_SEATED)])
        assert practised(trial, Order.BEST, best=2).size == 3

    def test_a_size_looked_at_again_goes_by_its_last_look_and_is_the_last_one_tried(self):
        tried = [found(1, Finding.HEEL_NOT_SEATED), found(2, Finding.TURNS), found(1, Finding.TURNS)]
        trial = by_hand([1.0] * 4, sight=USUAL, tried=tried)
        assert practised(trial, Order.BEST, best=2).size == 0


class TestWhatAFindingRulesOut:
    """Nobody is sent to a smaller size by a boot that will not go on, however the chances lie."""

    @pytest.mark.parametrize(
        ("finding", "open_to"),
        [
            (Finding.TURNS, {0, 1}),
            (Finding.WILL_NOT_GO_ON, {3, 4}),
            (Finding.HEEL_STILL_NOT_SEATED, {3, 4}),
            (Finding.STAYS_PUT, {0, 1, 3, 4}),
        ],
    )
    @pytest.mark.parametrize("likely", range(5))
    def test_only_sizes_it_does_not_tell_against_are_tried(self, finding, open_to, likely):
        fits = [0.01] * 5
        fits[likely] = 1.0
        trial = by_hand(fits, sight=USUAL, tried=[found(2, finding)])
        assert shortest(trial).size in {*open_to, None}

    def test_a_wider_size_of_the_same_length_is_still_tried_after_a_longer_one_turned(self):
        """Sizes 0, 1, 2 by order of the chart; 1 is wider than 2, and 2 longer than 1."""
        trial = by_hand([0.1, 0.8, 0.1], sight=USUAL, tried=[found(0, Finding.TURNS)])
        assert shortest(trial).size is None
        apart = replace(trial, larger=np.eye(3, dtype=bool))
        assert shortest(apart).size == 1

    def test_looking_ahead_expects_no_size_that_a_finding_to_come_would_rule_out(self):
        """Of two sizes the smaller is tried only after the larger one turned: 1 + P(it turns)."""
        trial = by_hand([0.5, 0.5], sight=USUAL)
        first = shortest(trial)
        other = 1 - first.size
        finding = TURNS if first.size == 1 else WILL_NOT
        heel = 0.0 if first.size == 1 else chance(trial, size=0, finding=HEEL)
        assert first.try_ons == pytest.approx(1.0 + chance(trial, size=first.size, finding=finding) + heel)
        assert other in (0, 1)


class TestWithNoise:
    @bounded
    @given(estimate=normals(least_sd=0.9), chart=charts(), best=st.data())
    def test_no_practised_order_loses_less_than_the_shortest(self, estimate, chart, best):
        """But for what is not looked ahead to: a size that is right no more often than LEAST_CHANCE."""
        trial = begin(estimate, chart)
        size = best.draw(st.sampled_from(trial.sizes))
        right = trial.right_after
        unseen = LEFT_COSTS * float(right[right < LEAST_CHANCE].sum())
        least = loss(shortest(trial))
        for order in (Order.ONE_ABOVE, Order.BEST):
            assert least <= loss(practised(trial, order, best=size)) + unseen + LEFT_COSTS * LEAST_CHANCE

    @bounded
    @given(estimate=normals(least_sd=0.9), chart=charts())
    def test_an_outlook_holds_a_chance_and_a_number_of_try_ons(self, estimate, chart):
        for outlook in (shortest(begin(estimate, chart)), practised(begin(estimate, chart), Order.BEST, best=0)):
            assert 0.0 <= outlook.ends_fitting <= 1.0 + 1e-9
            assert 0.0 <= outlook.try_ons <= MOST_TRIES + 1e-9
            assert (outlook.size is None) == (outlook.try_ons == 0.0)

    @bounded
    @given(estimate=normals(least_sd=0.9), chart=charts())
    def test_who_gives_more_for_a_fitting_size_tries_no_less_and_ends_right_no_less_often(self, estimate, chart):
        trial = begin(estimate, chart)
        keen, patient = (shortest(trial, left_costs=left_costs) for left_costs in (5.0, 40.0))
        assert patient.ends_fitting >= keen.ends_fitting - 1e-3
        assert patient.try_ons >= keen.try_ons - 1e-3

    @bounded
    @given(estimate=normals(least_sd=0.9), chart=charts(), tries=st.integers(0, 3))
    def test_one_more_try_never_loses(self, estimate, chart, tries):
        trial = begin(estimate, chart)
        fewer, more = (shortest(trial, tries_left=left) for left in (tries, tries + 1))
        assert loss(more) <= loss(fewer) + 1e-4

    @bounded
    @given(estimate=normals(least_sd=0.9), by=st.integers(-9, 9))
    def test_a_hoof_and_a_chart_both_larger_by_as_much_have_the_same_outlook(self, estimate, by):
        here, there = (
            begin(estimate.changed(by_mm=np.full(2, float(more)), covariance=np.zeros((2, 2))), five(110.0 + more))
            for more in (0, by)
        )
        assert shortest(here).size == shortest(there).size
        assert loss(shortest(here)) == pytest.approx(loss(shortest(there)), abs=1e-6)

    def test_no_try_left_is_the_end(self):
        assert shortest(by_hand([1.0]), tries_left=0) == Outlook(size=None, try_ons=0.0, ends_fitting=0.0)
        assert practised(by_hand([1.0]), Order.BEST, best=0, tries_left=0).size is None

    def test_of_two_sizes_every_course_is_worked_out_by_hand(self):
        """Either size first, the other after a finding that asks for it; the smaller loss is the shortest order's."""
        trial = by_hand([0.6, 0.3], between=[0.0, 0.1, 0.0], sight=USUAL)
        losses = []
        for first, asks in ((0, (WILL_NOT, HEEL)), (1, (TURNS,))):
            second = 1 - first
            on = sum(chance(trial, size=first, finding=finding) for finding in asks)
            fitting = both(trial, {first: STAYS}, right=first)
            fitting += sum(both(trial, {first: finding, second: STAYS}, right=second) for finding in asks)
            losses.append((1.0 + on, fitting))
        expected = min(losses, key=lambda one: one[0] + LEFT_COSTS * (1.0 - one[1]))
        outlook = shortest(trial)
        assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx(expected)

    @pytest.mark.parametrize("order", [None, Order.ONE_ABOVE, Order.BEST])
    def test_what_is_expected_is_what_comes_in_a_simulated_trial(self, order):
        rng = np.random.default_rng(8)
        trial = begin(hoof(121.0, 123.0, sd=(3.0, 4.0), correlation=0.3), five(110.0))
        best = int(trial.right_after.argmax())
        expected = shortest(trial) if order is None else practised(trial, order, best=best)
        hooves = rng.choice(len(trial.before), size=1500, p=trial.before / trial.before.sum())

        @cache
        def after(course: tuple[TryOn, ...]) -> Outlook:
            met, left = replace(trial, tried=course), MOST_TRIES - len(course)
            return practised(met, order, best=best, tries_left=left) if order else shortest(met, tries_left=left)

        courses = [simulate(trial, point, after=after, rng=rng) for point in hooves]
        tries, right = np.array(courses, dtype=float).T
        assert tries.mean() == pytest.approx(expected.try_ons, abs=3.5 * tries.std() / np.sqrt(len(tries)))
        assert right.mean() == pytest.approx(expected.ends_fitting, abs=3.5 * right.std() / np.sqrt(len(right)))

    def test_of_sizes_that_do_equally_well_the_smaller_is_tried_first(self):
        assert shortest(by_hand([1.0, 1.0])).size == 0

    def test_a_less_likely_size_comes_first_where_the_likeliest_would_stay_put_on_the_wrong_hoof(self):
        """Size 0 is right for 0.52 of the hooves and stays put on 0.9 of the others: 0.568 end right at most,
        which is not worth a try at 1.75. From size 1 on, 1 + 0.52 try-ons let 0.95 end right."""
        rows = [(0.95, 0.0, 0.05, 0.0), (0.0, 1.0, 0.0, 0.0), (0.9, 0.0, 0.1, 0.0), (0.0, 0.0, 0.0, 1.0)]
        sight = replace(USUAL, last_look=np.array(rows))
        outlook = shortest(by_hand([0.52, 0.48], sight=sight), left_costs=1.75)
        assert outlook.size == 1
        assert (outlook.try_ons, outlook.ends_fitting) == pytest.approx((1.52, 0.95))

    def test_of_many_sizes_the_five_likeliest_are_looked_at(self):
        """Sizes 0 and 5 to 8, of weight 1 in 6 each; the four between them are not counted on."""
        outlook = shortest(by_hand([0.2, *[0.05] * 4, *[0.2] * 4]))
        assert outlook.size in {5, 6, 7}
        assert outlook.ends_fitting == pytest.approx(5 / 6)


def five(first: float) -> object:
    return ladder(count=5, step=7.0, span=6.0, first=(first, first), closure=Closure.BUCKLE)


def begin(estimate, chart) -> Trial:
    table = size_table([chart])
    return begin_trial(hoof_lattice(estimate), table, sizes=table.sizes_of(0))


def chance(trial: Trial, *, size: int, finding: int) -> float:
    return trial.with_try_on(size, Seen(finding=LAST_LOOK[finding])).evidence


def both(trial: Trial, course: dict[int, int], *, right: int) -> float:
    """Chance of all these findings and that the size `right` truly is."""
    for size, finding in course.items():
        trial = trial.with_try_on(size, Seen(finding=LAST_LOOK[finding]))
    return trial.evidence * float(trial.right_after[right])


def simulate(
    trial: Trial, point: int, *, after: Callable[[tuple[TryOn, ...]], Outlook], rng: np.random.Generator
) -> tuple[int, bool]:
    """One hoof tried to the end: the number of try-ons, and whether it ended with a fitting size."""
    course: tuple[TryOn, ...] = ()
    while (size := after(course).size) is not None:
        stands = int((rng.random() > trial.standing[size, :, point].cumsum()).sum().clip(max=3))
        finding = int((rng.random() > USUAL.last_look[stands].cumsum()).sum().clip(max=3))
        course = (*course, found(size, LAST_LOOK[finding]))
        if finding == STAYS:
            return len(course), stands == 0
    return len(course), False
