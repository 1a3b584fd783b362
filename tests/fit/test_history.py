"""Learning from a horse's own readings: against least squares by hand, and by finding rates again that are known."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.growth import usual_changes
from hooflast.fit.history import ENOUGH, SURE, Beside, PastReading, in_order, learn, trims_before
from hooflast.fit.hoof import AnimalType, Limb, Method, Observer
from hooflast.fit.population import population
from hooflast.fit.uncertainty import reading_error, shared_error

from .strategies import bounded, read

BEFORE, AFTER = Beside.BEFORE_TRIM, Beside.AFTER_TRIM
CYCLE = 6.0
USUAL = usual_changes(Limb.LF, cycle_weeks=CYCLE)


def past(width, length, *, weeks_ago, beside, **told):
    return PastReading(reading=read(width, length, **told), weeks_ago=weeks_ago, beside=beside)


def lived(rates, trim, *, cycles, rng=None, sd=0.0, trim_sd=0.0, **told):
    """Readings before and after every trim of a hoof that starts at 124 × 127."""
    rng = np.random.default_rng(0) if rng is None else rng
    hoof, found = np.array([124.0, 127.0]), []
    for number in range(cycles + 1):
        weeks_ago = CYCLE * (cycles - number)
        for beside in (BEFORE, AFTER):
            if beside is AFTER:
                hoof = hoof + trim + trim_sd * rng.standard_normal(2)
            seen = hoof + sd * rng.standard_normal(2)
            found.append(past(seen[0], seen[1], weeks_ago=weeks_ago, beside=beside, **told))
        hoof = hoof + CYCLE * np.asarray(rates)
    return found


def told_of(history, usual=USUAL):
    return learn(history, usual=usual, cycle_weeks=CYCLE, animal_type=AnimalType.HORSE)


def by_least_squares(history, *, weeks, trims):
    """The same by hand: weighted least squares on the readings and, as further rows, on what is usual (ridge)."""
    kind = population(AnimalType.HORSE, limb=Limb.LF)
    prior_mean = np.concatenate([kind.mean, USUAL.mean])
    prior = np.block([[kind.covariance, np.zeros((2, 4))], [np.zeros((4, 2)), USUAL.covariance]])
    most = max(trims)
    rows, seen = [], []
    for number, one in enumerate(history):
        for axis in (0, 1):
            row = np.zeros(6 + 2 * most)
            row[axis], row[2 + axis], row[4 + axis] = 1.0, weeks[number], trims[number]
            row[6 + axis : 6 + 2 * trims[number] : 2] = 1.0
            rows.append(row)
            seen.append((one.reading.width, one.reading.length)[axis].mean_mm)
    errors = [reading_error(one.reading) for one in history]
    noise = np.zeros((2 * len(history), 2 * len(history)))
    for i, one in enumerate(history):
        for j, other in enumerate(history):
            block = (
                sum(c * k for c, k in zip(errors[i].chances, errors[i].covariances, strict=True))
                if i == j
                else shared_error(one.reading, other.reading)
            )
            noise[2 * i : 2 * i + 2, 2 * j : 2 * j + 2] = block
    weight = np.linalg.inv(noise)
    whole_prior = np.zeros((6 + 2 * most, 6 + 2 * most))
    whole_prior[:6, :6] = np.linalg.inv(prior)
    for trim in range(most):
        at = slice(6 + 2 * trim, 8 + 2 * trim)
        whole_prior[at, at] = np.linalg.inv(USUAL.trim_covariance)
    design, pull = np.array(rows), np.concatenate([prior_mean, np.zeros(2 * most)])
    precision = design.T @ weight @ design + whole_prior
    found = np.linalg.solve(precision, design.T @ weight @ np.array(seen) + whole_prior @ pull)
    return found[2:6], np.linalg.inv(precision)[2:6, 2:6]


class TestLearning:
    @pytest.mark.parametrize("observer", Observer)
    def test_it_agrees_with_least_squares_in_which_every_trim_is_an_unknown_of_its_own(self, observer):
        history = lived([0.5, 0.9], [-3.2, -5.0], cycles=2, sd=1.0, trim_sd=1.0, observer=observer, method=Method.TAPE)
        found = told_of(history)
        mean, covariance = by_least_squares(history, weeks=[0, 0, 6, 6, 12, 12], trims=[0, 1, 1, 2, 2, 3])
        assert found.changes.mean == pytest.approx(mean, abs=1e-8)
        assert found.changes.covariance == pytest.approx(covariance, abs=1e-8)

    def test_it_does_so_whichever_reading_comes_first(self):
        history = lived([0.5, 0.9], [-3.2, -5.0], cycles=2, sd=1.0, trim_sd=1.0)[1:]
        found = told_of(history)
        mean, covariance = by_least_squares(history, weeks=[0, 6, 6, 12, 12], trims=[0, 0, 1, 1, 2])
        assert found.changes.mean == pytest.approx(mean, abs=1e-8)
        assert found.changes.covariance == pytest.approx(covariance, abs=1e-8)

    def test_many_readings_bring_back_what_is_true(self):
        """Twelve cycles of a hoof unlike the usual: rates within 0.1 mm a week, trims within 0.7 mm."""
        rng = np.random.default_rng(4)
        found = told_of(lived([-0.1, 1.2], [0.6, -7.2], cycles=12, rng=rng, sd=0.5, trim_sd=0.8))
        assert found.changes.mean[:2] == pytest.approx([-0.1, 1.2], abs=0.1)
        assert found.changes.mean[2:] == pytest.approx([0.6, -7.2], abs=0.7)
        assert found.readings == 26

    def test_its_intervals_hold_the_truth_as_often_as_they_say(self):
        """900 simulated horses drawn from what is usual, each with three readings: 90 % of intervals hold it."""
        rng = np.random.default_rng(11)
        held = []
        for _ in range(900):
            truth = rng.multivariate_normal(USUAL.mean, USUAL.covariance)
            kind = population(AnimalType.HORSE, limb=Limb.LF)
            hoof = rng.multivariate_normal(kind.mean, kind.covariance)
            bias = 0.5 * rng.standard_normal() * np.ones(2)
            history: list[PastReading] = []
            for weeks_ago, beside in ((6.0, AFTER), (0.0, BEFORE), (0.0, AFTER)):
                if history:
                    step = truth[2:] + rng.multivariate_normal(np.zeros(2), USUAL.trim_covariance)
                    hoof = hoof + (CYCLE * truth[:2] if beside is BEFORE else step)
                sd = np.sqrt(1.0 + 1.0 / 12.0)
                seen = hoof + bias + sd * rng.standard_normal(2)
                history.append(past(seen[0], seen[1], weeks_ago=weeks_ago, beside=beside))
            interval = told_of(history).interval
            held.append((interval[:, 0] <= truth) & (truth <= interval[:, 1]))
        assert np.mean(held, axis=0) == pytest.approx([0.9] * 4, abs=0.035)

    @pytest.mark.parametrize("count", range(ENOUGH))
    def test_fewer_than_three_readings_change_nothing(self, count):
        found = told_of(lived([2.0, 2.0], [-9.0, -9.0], cycles=3)[:count])
        assert found.changes is USUAL
        assert found.readings == 0

    def test_three_readings_are_enough(self):
        found = told_of(lived([0.3, 0.6], [-2.0, -4.0], cycles=2)[:3])
        assert found.readings == 3
        assert np.all(found.deviations < np.sqrt(np.diagonal(USUAL.covariance)))

    def test_few_readings_move_it_part_of_the_way(self):
        truth = np.array([1.5, 1.5])
        steps = [told_of(lived(truth, -CYCLE * truth, cycles=cycles)).changes.mean[0] for cycles in (1, 2, 5)]
        assert USUAL.mean[0] < steps[0] < steps[1] < steps[2] < 1.5

    def test_a_rougher_method_moves_it_less(self):
        truth = np.array([1.5, 1.5])
        fine, rough = (
            told_of(lived(truth, -CYCLE * truth, cycles=2, method=method)).changes.mean[0]
            for method in (Method.CALLIPER, Method.UNKNOWN)
        )
        assert rough < fine

    def test_an_error_shared_by_all_readings_says_nothing_about_the_rates(self):
        """All readings 3 mm too large: the rates come out alike, to a tenth of what 3 mm in a cycle would be."""
        history = lived([0.5, 0.9], [-3.0, -5.4], cycles=3)
        off = [_moved(one, 3.0) for one in history]
        assert told_of(off).changes.mean == pytest.approx(told_of(history).changes.mean, abs=0.05)

    def test_how_long_ago_it_all_was_does_not_matter(self):
        history = lived([0.5, 0.9], [-3.0, -5.4], cycles=2)
        earlier = [replace(one, weeks_ago=one.weeks_ago + 40.0) for one in history]
        aged = [replace(one, reading=replace(one.reading, age_weeks=one.weeks_ago)) for one in history]
        for other in (earlier, aged):
            assert told_of(other).changes.mean == pytest.approx(told_of(history).changes.mean)
            assert told_of(other).changes.covariance == pytest.approx(told_of(history).changes.covariance)

    @given(st.permutations(range(6)))
    @bounded
    def test_the_order_of_the_readings_does_not_matter(self, order):
        history = lived([0.5, 0.9], [-3.0, -5.4], cycles=2, sd=1.0)
        shuffled = told_of([history[place] for place in order])
        assert shuffled.changes.mean == pytest.approx(told_of(history).changes.mean)

    @given(st.floats(100.0, 150.0), st.floats(-2.0, 2.0), st.integers(1, 6))
    @bounded
    def test_what_is_learned_is_surer_than_what_is_usual(self, width, rate, cycles):
        history = lived([rate, rate], [-CYCLE * rate] * 2, cycles=cycles)
        shifted = [_moved(one, width - 124.0) for one in history]
        found = told_of(shifted)
        assert np.all(np.linalg.eigvalsh(USUAL.covariance - found.changes.covariance) > -1e-9)
        assert np.all(np.linalg.eigvalsh(found.changes.covariance) > 0.0)

    def test_the_interval_holds_nine_tenths_of_a_normal(self):
        found = told_of(lived([0.5, 0.9], [-3.0, -5.4], cycles=2))
        reach = found.interval[:, 1] - found.interval[:, 0]
        assert reach == pytest.approx(2.0 * SURE * found.deviations)
        assert found.interval.mean(axis=1) == pytest.approx(found.changes.mean)
        assert pytest.approx(1.6449, abs=1e-4) == SURE

    def test_left_and_right_learn_alike(self):
        history = lived([0.5, 0.9], [-3.0, -5.4], cycles=2)
        other = [replace(one, reading=replace(one.reading, limb=Limb.RF)) for one in history]
        assert told_of(other).changes.mean == pytest.approx(told_of(history).changes.mean)


class TestCountingTrims:
    @pytest.mark.parametrize(
        ("marks", "trims"),
        [
            (((6.0, AFTER), (0.0, BEFORE)), (0, 0)),
            (((6.0, AFTER), (0.0, AFTER)), (0, 1)),
            (((6.0, BEFORE), (0.0, BEFORE)), (0, 1)),
            (((6.0, BEFORE), (0.0, AFTER)), (0, 2)),
            (((0.0, BEFORE), (0.0, AFTER)), (0, 1)),
            (((18.0, AFTER), (0.0, BEFORE)), (0, 2)),
            (((18.0, AFTER), (0.0, AFTER)), (0, 3)),
            (((0.9, AFTER), (0.0, AFTER)), (0, 0)),
            (((1.0, AFTER), (0.0, AFTER)), (0, 1)),
            (((1.0, AFTER), (0.0, BEFORE)), (0, 0)),
            (((12.0, AFTER), (6.0, BEFORE), (6.0, AFTER), (0.0, BEFORE)), (0, 0, 1, 1)),
        ],
    )
    def test_so_many_lie_before_each_reading(self, marks, trims):
        ordered = [past(124.0, 127.0, weeks_ago=weeks, beside=beside) for weeks, beside in marks]
        assert trims_before(ordered, cycle_weeks=CYCLE) == trims

    def test_on_one_day_before_comes_before_after(self):
        after, before, oldest = (
            past(124.0, 127.0, weeks_ago=weeks, beside=beside)
            for weeks, beside in ((2.0, AFTER), (2.0, BEFORE), (9.0, AFTER))
        )
        assert in_order([after, before, oldest]) == (oldest, before, after)


def _moved(one, by_mm):
    width, length = (
        replace(axis, values_mm=tuple(value + by_mm for value in axis.values_mm))
        for axis in (one.reading.width, one.reading.length)
    )
    return replace(one, reading=replace(one.reading, width=width, length=length))
