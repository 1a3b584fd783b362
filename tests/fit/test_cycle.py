"""The trim cycle: one hoof and one boot at all its moments, against hooves that are simulated week by week."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.cycle import (
    EARLY_AND_LATE,
    Cycle,
    Moment,
    TurnSide,
    chances_at,
    held_chances,
    hoof_after,
    hoof_at,
    joint_chances,
    turn,
    turned_chances,
)
from hooflast.fit.growth import Changes, usual_changes
from hooflast.fit.hoof import Limb
from hooflast.fit.sizes import size_table

from .reference import sample
from .strategies import bounded, charts, hoof, known, ladder, mixture, mixtures, single

few = settings(max_examples=12, deadline=None)
STILL = Changes(mean=np.zeros(4), covariance=np.zeros((4, 4)), trim_covariance=np.zeros((2, 2)))
TABLE = size_table([ladder(closure=Closure.STRAP, span=8.0, step=9.0)])
OWNER = mixture([hoof(122.0, 123.0, sd=2.2, correlation=0.4), hoof(119.0, 124.0, sd=6.0)], weights=[0.95, 0.05])


def cycle(estimate=None, *, weeks=6.0, since_trim=0.0, changes=None, limb=Limb.LF):
    return Cycle(
        estimate=hoof(122.0, 123.0) if estimate is None else estimate,
        weeks=weeks,
        since_trim=since_trim,
        changes=usual_changes(limb, cycle_weeks=weeks) if changes is None else changes,
    )


def moving(width, length=0.0, *, weeks=6.0):
    """A hoof that grows so much a week for sure, and is trimmed back to where it was."""
    rates = np.array([width, length])
    return replace(STILL, mean=np.concatenate([rates, -weeks * rates]))


cycles = st.builds(
    cycle,
    mixtures(),
    weeks=st.floats(3.0, 12.0),
    since_trim=st.none() | st.floats(0.0, 14.0),
    limb=st.sampled_from(Limb),
)


def walk(told, *, count, seed):
    """Hooves drawn from what is believed of one: as measured (n, 2), and at any week after the next trim."""
    rng = np.random.default_rng(seed)
    measured = sample(told.estimate, count=count, rng=rng)
    mean, covariance = told.changes.next_trim
    drawn = rng.multivariate_normal(mean, covariance, size=count)
    phases = rng.choice(told.phases, size=count)[:, None]
    trimmed = measured + (told.weeks - phases) * drawn[:, :2] + drawn[:, 2:]
    return measured, lambda week: trimmed + week * drawn[:, :2], rng


def is_taken(hooves, table, size, noise):
    """Whether each hoof is between the edges of its own boot, which `noise` (n, 2) moves."""
    edges, deviations = table.edges_mm[size], table.edge_sd_mm[size]
    past_loose = (hooves > edges[:, 0] + deviations[:, 0] * noise).all(axis=1)
    return past_loose & (hooves < edges[:, 3] + deviations[:, 3] * noise).all(axis=1)


WORLDS = {
    "read just after the trim": cycle(since_trim=0.0),
    "read at the end of the cycle": cycle(since_trim=6.0),
    "read nobody knows when": cycle(since_trim=None, weeks=8.0),
    "read long after the trim was due": cycle(since_trim=9.0),
    "an owner's reading": cycle(OWNER, since_trim=2.0, weeks=7.0),
}
worlds = pytest.mark.parametrize("told", WORLDS.values(), ids=WORLDS.keys())


class TestTheHoofAtEveryMoment:
    @worlds
    def test_it_is_the_simulated_one(self, told):
        measured, at, _ = walk(told, count=100_000, seed=5)
        for moment, hooves in zip(Moment, (measured, at(0.0), at(told.weeks)), strict=True):
            believed = hoof_at(told, moment)
            assert believed.mean == pytest.approx(hooves.mean(axis=0), abs=0.05)
            assert believed.covariance == pytest.approx(np.cov(hooves.T), rel=0.03, abs=0.15)

    @given(cycles)
    @bounded
    def test_as_measured_it_is_the_reading_alone(self, told):
        assert hoof_at(told, Moment.AS_MEASURED) is told.estimate

    @given(cycles, st.floats(0.0, 12.0))
    @bounded
    def test_its_parts_weigh_one_together(self, told, week):
        assert hoof_after(told, weeks=week).weights.sum() == pytest.approx(1.0)

    @worlds
    def test_after_a_later_trim_it_is_the_simulated_one(self, told):
        rng = np.random.default_rng(6)
        measured = sample(told.estimate, count=100_000, rng=rng)
        drawn = rng.multivariate_normal(told.changes.mean, told.changes.covariance, size=100_000)
        phases = rng.choice(told.phases, size=100_000)[:, None]
        hooves = measured + (told.weeks - phases) * drawn[:, :2]
        for trim in range(1, 4):
            one = rng.multivariate_normal(np.zeros(2), told.changes.trim_covariance, size=100_000)
            hooves = hooves + (told.weeks * drawn[:, :2] if trim > 1 else 0.0) + drawn[:, 2:] + one
            believed = hoof_after(told, weeks=1.5, trims=trim)
            seen = hooves + 1.5 * drawn[:, :2]
            assert believed.mean == pytest.approx(seen.mean(axis=0), abs=0.08)
            assert believed.covariance == pytest.approx(np.cov(seen.T), rel=0.03, abs=0.2)

    def test_a_hoof_read_freshly_trimmed_is_expected_so_again(self):
        assert hoof_after(cycle(since_trim=0.0), weeks=0.0).mean == pytest.approx([122.0, 123.0])

    def test_a_hoof_read_at_the_end_of_the_cycle_is_expected_so_again(self):
        assert hoof_after(cycle(since_trim=6.0), weeks=6.0).mean == pytest.approx([122.0, 123.0])

    def test_told_nothing_it_may_be_anywhere_in_its_cycle(self):
        """The mean is that of a reading in the middle; the spread is larger."""
        open_, middle = (hoof_after(cycle(since_trim=since), weeks=0.0) for since in (None, 3.0))
        assert open_.mean == pytest.approx(middle.mean)
        assert np.all(np.diagonal(open_.covariance) > np.diagonal(middle.covariance))

    def test_the_longer_since_the_trim_the_less_is_known_of_the_trimmed_hoof(self):
        spreads = [hoof_after(cycle(since_trim=since), weeks=0.0).covariance[0, 0] for since in (0.0, 2.0, 4.0, 6.0)]
        assert spreads == sorted(spreads)
        assert spreads[0] < spreads[-1]


class TestTheJointChance:
    @worlds
    def test_it_is_the_share_of_simulated_hooves_that_one_boot_takes_throughout(self, told):
        """Every week between two trims is looked at; within 0.01 for the lattice and 0.005 for the simulation."""
        measured, at, rng = walk(told, count=40_000, seed=8)
        noise = rng.standard_normal((40_000, 2))
        for size, found in zip((1, 2, 3), joint_chances(told, TABLE, sizes=(1, 2, 3)), strict=True):
            taken = is_taken(measured, TABLE, size, noise)
            for week in np.linspace(0.0, told.weeks, 7):
                taken &= is_taken(at(week), TABLE, size, noise)
            assert found == pytest.approx(taken.mean(), abs=0.015)

    @given(cycles, charts())
    @few
    def test_no_size_holds_more_surely_than_at_its_worst_moment(self, told, chart):
        table = size_table([chart])
        sizes = range(len(table.edges_mm))
        singles = [chances_at(hoof_at(told, moment), table, sizes=sizes) for moment in Moment]
        assert np.all(joint_chances(told, table, sizes=sizes) <= np.min(singles, axis=0) + 0.02)

    def test_it_is_no_product(self):
        told = cycle()
        singles = [chances_at(hoof_at(told, moment), TABLE, sizes=[2])[0] for moment in Moment]
        assert joint_chances(told, TABLE, sizes=[2])[0] > np.prod(singles) + 0.01

    @given(mixtures(), charts())
    @few
    def test_a_hoof_that_never_changes_holds_what_fits_it(self, estimate, chart):
        table = size_table([chart])
        sizes = range(len(table.edges_mm))
        told = cycle(estimate, changes=STILL)
        fits = np.minimum(chances_at(estimate, table, sizes=sizes), 1.0)
        assert joint_chances(told, table, sizes=sizes) == pytest.approx(fits, abs=4e-3)

    def test_a_part_that_hardly_weighs_is_left_out(self):
        alone, beside = hoof(122.0, 123.0), hoof(160.0, 160.0)
        for weight in (0.9e-3, 0.0):
            told = cycle(mixture([alone, beside], weights=[1.0 - weight, weight]))
            assert joint_chances(told, TABLE, sizes=[2]) == pytest.approx(joint_chances(cycle(alone), TABLE, sizes=[2]))
        heavier = cycle(mixture([alone, beside], weights=[0.99, 0.01]))
        assert joint_chances(heavier, TABLE, sizes=[2]) == pytest.approx(
            0.99 * joint_chances(cycle(alone), TABLE, sizes=[2])
        )

    def test_a_hoof_that_grows_by_more_than_the_range_is_never_held(self):
        table = size_table([single((120.0, 125.0), None, closure=Closure.PULL_ON)])
        assert joint_chances(cycle(known(122.0, 122.0), changes=moving(2.0)), table, sizes=[0])[0] == 0.0

    def test_what_is_known_exactly_follows_from_the_edges(self):
        """Width 121 to 124 in a boot that is accepted about 119.5 to 125.5 (and spreads by 1): by hand."""
        table = size_table([single((120.0, 125.0), None, closure=Closure.PULL_ON)])
        told = cycle(known(121.0, 121.0), changes=moving(0.5))
        (width, _), spread = table.edges_mm[0], table.edge_sd_mm[0, 0]
        by_hand = _phi((121.0 - width[0]) / spread[0]) - _phi((124.0 - width[3]) / spread[3])
        assert joint_chances(told, table, sizes=[0])[0] == pytest.approx(by_hand, abs=1e-6)

    @given(cycles)
    @few
    def test_a_closure_that_gives_more_never_holds_less(self, told):
        tables = (size_table([ladder(closure=each, span=8.0, step=9.0)]) for each in (Closure.PULL_ON, Closure.STRAP))
        tight, giving = (joint_chances(told, table, sizes=(1, 2, 3)) for table in tables)
        assert np.all(giving >= tight - 0.02)

    @given(cycles)
    @few
    def test_it_is_the_same_every_time(self, told):
        assert np.array_equal(joint_chances(told, TABLE, sizes=[2]), joint_chances(told, TABLE, sizes=[2]))

    @given(cycles)
    @few
    def test_the_sizes_asked_about_do_not_change_each_other(self, told):
        together = joint_chances(told, TABLE, sizes=[3, 1])
        assert together == pytest.approx([joint_chances(told, TABLE, sizes=[size])[0] for size in (3, 1)], abs=1e-12)


class TestWeekByWeek:
    @worlds
    def test_holding_until_a_week_is_what_the_simulation_shows(self, told):
        _, at, rng = walk(told, count=40_000, seed=9)
        noise = rng.standard_normal((40_000, 2))
        weeks = np.array([0.0, 2.0, 4.0, told.weeks])
        taken, held = np.ones(40_000, dtype=bool), []
        for week in weeks:
            taken &= is_taken(at(week), TABLE, 2, noise)
            held.append(taken.mean())
        assert held_chances(told, TABLE, size=2, weeks=weeks) == pytest.approx(held, abs=0.015)

    @given(cycles, charts())
    @few
    def test_it_never_rises(self, told, chart):
        held = held_chances(told, size_table([chart]), size=0, weeks=[0.0, 1.0, 3.0, 9.0])
        assert np.all(np.diff(held) <= 0.0)
        assert np.all((held >= 0.0) & (held <= 1.0))

    @given(cycles)
    @few
    def test_until_the_trim_itself_it_is_the_chance_at_that_moment(self, told):
        now = chances_at(hoof_at(told, Moment.AFTER_TRIM), TABLE, sizes=[2])[0]
        assert held_chances(told, TABLE, size=2, weeks=[0.0])[0] == pytest.approx(now, abs=0.02)


class TestTurning:
    @worlds
    @pytest.mark.parametrize("side", TurnSide)
    def test_it_is_the_share_of_simulated_hooves_that_have_passed_the_edge(self, told, side):
        _, at, rng = walk(told, count=40_000, seed=10)
        weeks = np.linspace(0.0, told.weeks, 5)
        column, sign = (3, 1.0) if side is TurnSide.TIGHT else (0, -1.0)
        for axis in (0, 1):
            edge = TABLE.edges_mm[2, axis, column] + TABLE.edge_sd_mm[2, axis, column] * rng.standard_normal(40_000)
            past, seen = np.zeros(40_000, dtype=bool), []
            for week in weeks:
                past |= sign * (at(week)[:, axis] - edge) > 0.0
                seen.append(past.mean())
            found = turned_chances(told, TABLE, size=2, axis=axis, side=side, weeks=weeks)
            assert found == pytest.approx(seen, abs=0.012)

    def test_a_hoof_known_exactly_turns_when_it_meets_the_edge(self):
        """122 growing by 0.5 a week meets the edge of 125.5 + 0.5 (half the give) after 8 weeks; in 16 weeks ahead."""
        table = size_table([single((118.0, 125.5), None, closure=Closure.PULL_ON)])
        found = turn(cycle(known(122.0, 122.0), weeks=8.0, changes=moving(0.5, weeks=8.0)), table, size=0, axis=0)
        assert found.side is TurnSide.TIGHT
        assert found.week == pytest.approx(8.0, abs=0.05)
        spread = table.edge_sd_mm[0, 0, 3] / 0.5
        early, late = EARLY_AND_LATE
        assert found.early_week == pytest.approx(8.0 - 1.2816 * spread, abs=0.1)
        assert found.late_week == pytest.approx(8.0 + 1.2816 * spread, abs=0.1)
        assert (early, late) == (0.1, 0.9)

    @worlds
    @pytest.mark.parametrize("size", [1, 2, 3])
    def test_its_weeks_are_those_in_which_the_chance_is_reached(self, told, size):
        found = turn(told, TABLE, size=size, axis=1)
        assert found is not None
        for week, chance in zip((found.early_week, found.week, found.late_week), (0.1, 0.5, 0.9), strict=True):
            at = np.array([2.0 * told.weeks if week is None else week])
            (reached,) = turned_chances(told, TABLE, size=size, axis=1, side=found.side, weeks=at)
            if week is None:
                assert reached < chance
            elif week == 0.0:
                assert reached >= chance
            else:
                assert reached == pytest.approx(chance, abs=1e-3)

    @pytest.mark.parametrize(("edge", "is_told"), [(129.7, True), (130.3, False)])
    def test_two_cycles_are_looked_at_and_no_further(self, edge, is_told):
        """122 growing by 0.5 a week is 130 after 16 weeks; the edge lies half a give, 0.5, past the chart's."""
        table = size_table([single((112.0, edge - 0.5), None, closure=Closure.PULL_ON)])
        found = turn(cycle(known(122.0, 122.0), weeks=8.0, changes=moving(0.5, weeks=8.0)), table, size=0, axis=0)
        assert (found.week is not None) is is_told

    @pytest.mark.parametrize(("width", "side"), [(118.5, TurnSide.LOOSE), (124.5, TurnSide.TIGHT)])
    def test_it_is_told_on_the_side_likelier_within_the_cycle(self, width, side):
        """Both sides may be met; beyond the cycle the tight one surely is."""
        table = size_table([single((118.0, 125.0), None, closure=Closure.PULL_ON)])
        told = cycle(hoof(width, 122.0, sd=0.8), weeks=6.0, changes=moving(0.45))
        assert turn(told, table, size=0, axis=0).side is side

    def test_a_side_likelier_within_the_cycle_is_told_though_the_other_is_beyond_it(self):
        """One hoof in five is loose with the trim. Growing by 0.6 a week, hardly one is tight at the end of six weeks,
        and more than half are six weeks later."""
        table = size_table([single((118.0, 125.0), None, closure=Closure.PULL_ON)])
        told = cycle(hoof(118.5, 122.0, sd=0.8), weeks=6.0, changes=moving(0.6))
        within, beyond = np.array([6.0]), np.array([12.0])
        chances = {
            side: [turned_chances(told, table, size=0, axis=0, side=side, weeks=weeks)[0] for weeks in (within, beyond)]
            for side in TurnSide
        }
        assert chances[TurnSide.TIGHT][0] < 0.1 < chances[TurnSide.LOOSE][0] < 0.5 < chances[TurnSide.TIGHT][1]
        assert turn(told, table, size=0, axis=0).side is TurnSide.LOOSE

    def test_the_hoof_at_the_trim_and_later_are_one_hoof(self):
        """A rate of any sign, read in mid-cycle: X − 3r after the trim and X + 3r at the end pull against each other.

        With X and r known to 1.5 mm and 0.6 mm a week: one less the mean over r of P(X ≤ edge − 3|r|), by quadrature.
        """
        rate, undone = 0.36 * np.eye(2), -6.0 * 0.36 * np.eye(2)
        changes = replace(STILL, covariance=np.block([[rate, undone], [undone, 36.0 * rate]]))
        told = cycle(hoof(122.0, 122.0, sd=1.5), since_trim=3.0, changes=changes)
        table = size_table([single((100.0, 123.0), None, closure=Closure.PULL_ON)])
        edge, sd = table.edges_mm[0, 0, 3], table.edge_sd_mm[0, 0, 3]
        nodes, weights = np.polynomial.legendre.leggauss(80)
        rates = 2.4 * (nodes + 1.0)
        density = 2.0 * np.exp(-0.5 * (rates / 0.6) ** 2) / (0.6 * np.sqrt(2.0 * np.pi))
        kept = [_phi((edge - 3.0 * r - 122.0) / np.hypot(1.5, sd)) for r in rates]
        by_hand = 1.0 - float(np.sum(2.4 * weights * density * kept))
        found = turned_chances(told, table, size=0, axis=0, side=TurnSide.TIGHT, weeks=np.array([6.0]))
        assert found[0] == pytest.approx(by_hand, abs=1e-4)

    def test_a_turn_beyond_the_cycle_is_told_on_its_side(self):
        """122 shrinking by 2 a week is 106 at the end of the cycle, far above the edge of 97, and 90 a cycle later."""
        table = size_table([single((97.5, 130.0), None, closure=Closure.PULL_ON)])
        found = turn(cycle(known(122.0, 122.0), weeks=8.0, changes=moving(-2.0, weeks=8.0)), table, size=0, axis=0)
        assert found is not None
        assert found.side is TurnSide.LOOSE
        assert found.week == pytest.approx(12.5, abs=0.05)

    def test_a_hoof_that_gets_smaller_turns_loose(self):
        table = size_table([single((118.0, 125.5), None, closure=Closure.PULL_ON)])
        found = turn(cycle(known(121.0, 122.0), changes=moving(-0.5)), table, size=0, axis=0)
        assert found.side is TurnSide.LOOSE
        assert found.week == pytest.approx((121.0 - 117.5) / 0.5, abs=0.05)

    def test_a_hoof_far_from_every_edge_does_not_turn(self):
        wide = size_table([single((80.0, 170.0), None)])
        assert turn(cycle(), wide, size=0, axis=0) is None

    def test_an_axis_the_chart_leaves_out_never_turns(self):
        one_axis = size_table([single((118.0, 125.5), None)])
        assert turn(cycle(), one_axis, size=0, axis=1) is None

    def test_a_size_that_is_loose_already_has_turned_with_the_trim(self):
        assert turn(cycle(known(122.0, 122.0)), TABLE, size=5, axis=0).week == 0.0
        assert turn(cycle(known(122.0, 122.0)), TABLE, size=5, axis=0).side is TurnSide.LOOSE

    def test_a_turn_later_than_two_cycles_has_no_week(self):
        table = size_table([single((110.0, 126.0), None, closure=Closure.PULL_ON)])
        found = turn(cycle(hoof(122.0, 122.0)), table, size=0, axis=0)
        assert found.early_week is not None
        assert found.late_week is None

    @given(cycles, st.sampled_from(TurnSide), st.sampled_from([0, 1]))
    @bounded
    def test_what_has_turned_stays_turned(self, told, side, axis):
        weeks = np.linspace(0.0, 20.0, 30)
        curve = turned_chances(told, TABLE, size=2, axis=axis, side=side, weeks=weeks)
        assert np.all(np.diff(curve) >= 0.0)
        assert np.all((curve >= 0.0) & (curve <= 1.0))

    @given(cycles, st.sampled_from([0, 1]))
    @bounded
    def test_early_median_and_late_come_in_order(self, told, axis):
        found = turn(told, TABLE, size=2, axis=axis)
        if found is not None:
            weeks = [week for week in (found.early_week, found.week, found.late_week) if week is not None]
            assert weeks == sorted(weeks)
            assert found.late_week is None or found.week is not None

    @given(cycles, st.floats(0.5, 5.0))
    @bounded
    def test_a_smaller_hoof_turns_tight_no_earlier(self, told, less):
        smaller = replace(told, estimate=told.estimate.changed(by_mm=np.full(2, -less), covariance=np.zeros((2, 2))))
        weeks = np.linspace(0.0, 12.0, 13)
        mine, theirs = (
            turned_chances(one, TABLE, size=2, axis=0, side=TurnSide.TIGHT, weeks=weeks) for one in (told, smaller)
        )
        assert np.all(theirs <= mine + 1e-9)


def _phi(z):
    from scipy.stats import norm

    return float(norm.cdf(z))
