"""Growth and trim: the formulas by hand, the steady state over ten cycles, and how unsure both are."""

from dataclasses import astuple
from math import cos, radians

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.growth import (
    ANGLE_SD_DEG,
    EFFECTS,
    IMBALANCE_SD_MM,
    TRIM_SD_MM,
    USUAL_CYCLE_WEEKS,
    USUAL_TRIM_MM,
    WALL_GROWTH_SD,
    WEAR_CORRELATION,
    WEAR_SD,
    Circumstance,
    Wall,
    _slopes,
    _wall_covariance,
    growth_per_week,
    usual_changes,
    usual_rates,
    usual_wall,
)
from hooflast.fit.hoof import Limb
from hooflast.fit.uncertainty import DRIFT_MM_PER_WEEK

from .strategies import bounded, limbs

FORE = usual_wall(Limb.LF)
walls = st.builds(
    Wall,
    *[st.floats(0.0, 3.0)] * 4,
    *[st.floats(35.0, 89.0)] * 4,
)
cycles = st.floats(3.0, 14.0)
circumstances = st.frozensets(st.sampled_from(Circumstance))


class TestTheFormulas:
    @given(walls)
    @bounded
    def test_they_are_the_written_ones(self, wall):
        width, length = growth_per_week(wall)
        toe, heel, medial, lateral = (
            cos(radians(angle)) for angle in (wall.toe_deg, wall.heel_deg, wall.medial_deg, wall.lateral_deg)
        )
        assert width == pytest.approx((wall.growth - wall.wear_quarter) * (medial + lateral))
        assert length == pytest.approx((wall.growth - wall.wear_toe) * toe - (wall.growth - wall.wear_heel) * heel)

    def test_wear_at_the_heel_moves_the_buttress_back_and_lengthens_the_hoof(self):
        assert growth_per_week(FORE._replace(wear_heel=FORE.wear_heel + 1.0))[1] > growth_per_week(FORE)[1]

    def test_wear_at_the_toe_shortens_the_hoof(self):
        assert growth_per_week(FORE._replace(wear_toe=FORE.wear_toe + 1.0))[1] < growth_per_week(FORE)[1]

    def test_wear_beyond_growth_at_the_quarters_narrows_the_hoof(self):
        assert growth_per_week(FORE._replace(wear_quarter=FORE.growth + 0.1))[0] < 0.0

    def test_a_hoof_that_wears_as_it_grows_keeps_its_size(self):
        worn = FORE._replace(wear_toe=FORE.growth, wear_heel=FORE.growth, wear_quarter=FORE.growth)
        assert growth_per_week(worn) == pytest.approx([0.0, 0.0], abs=1e-12)

    @given(walls)
    @bounded
    def test_medial_and_lateral_change_places_freely(self, wall):
        other = wall._replace(medial_deg=wall.lateral_deg, lateral_deg=wall.medial_deg)
        assert growth_per_week(other) == pytest.approx(growth_per_week(wall))

    @given(limbs)
    def test_the_usual_growth_lies_in_the_middle_of_its_range(self, limb):
        """1.75, in 1.4 to 2.2 a week, which are four spreads apart."""
        assert usual_wall(limb).growth == 1.75
        assert pytest.approx(2.2 - 1.4) == 4.0 * WALL_GROWTH_SD

    def test_the_usual_growth_lies_among_what_was_published(self):
        """About 13 mm in 6 weeks on seven mares (Med Weter 2012;68:426) is within three spreads of the usual growth."""
        assert abs(13.0 / 6.0 - FORE.growth) <= 3.0 * WALL_GROWTH_SD

    def test_the_published_loss_of_length_at_a_trim_is_within_the_range_of_ours(self):
        """6.8 mm on ten horses (Iran J Vet Surg): our range for one horse's trim reaches from 1 to 7."""
        changes = usual_changes(Limb.LF, cycle_weeks=USUAL_CYCLE_WEEKS)
        assert abs(-6.8 - changes.mean[3]) <= 2.0 * np.sqrt(changes.next_trim[1][3, 3])


class TestTheSteadyState:
    @given(limbs)
    def test_ten_cycles_leave_the_hoof_where_it_began(self, limb):
        hoof = np.array([124.0, 127.0])
        for _ in range(10):
            for _ in range(int(USUAL_CYCLE_WEEKS)):
                hoof = hoof + growth_per_week(usual_wall(limb))
            hoof = hoof + USUAL_TRIM_MM
        assert hoof == pytest.approx([124.0, 127.0])

    @given(limbs, cycles)
    def test_growth_and_trim_add_up_to_nothing_whatever_the_cycle(self, limb, weeks):
        mean = usual_changes(limb, cycle_weeks=weeks).mean
        assert weeks * mean[:2] + mean[2:] == pytest.approx([0.0, 0.0], abs=1e-9)

    @given(limbs, cycles)
    def test_a_horse_whose_hoof_grows_faster_is_trimmed_more(self, limb, weeks):
        """T·r + s has only the imbalance's variance left, since each horse's trim answers its own growth."""
        covariance = usual_changes(limb, cycle_weeks=weeks).covariance
        over_cycle = np.hstack([weeks * np.eye(2), np.eye(2)])
        assert over_cycle @ covariance @ over_cycle.T == pytest.approx(IMBALANCE_SD_MM**2 * np.eye(2), abs=1e-6)

    @given(limbs)
    def test_wear_falls_evenly_from_heel_to_toe(self, limb):
        wall = usual_wall(limb)
        assert wall.wear_heel > wall.wear_quarter > wall.wear_toe > 0.0
        assert wall.wear_heel + wall.wear_toe == pytest.approx(2.0 * wall.wear_quarter)

    def test_only_the_toe_is_steeper_behind(self):
        fore, hind = usual_wall(Limb.RF), usual_wall(Limb.RH)
        assert (fore.toe_deg, hind.toe_deg) == (51.0, 53.0)
        assert fore[5:] == hind[5:] == (48.0, 79.0, 76.0)


class TestHowUnsureItIs:
    @given(limbs)
    def test_neither_dimension_is_surer_than_three_millimetres_in_eight_weeks(self, limb):
        _, covariance = usual_rates(limb)
        assert np.sqrt(np.diagonal(covariance)).min() >= DRIFT_MM_PER_WEEK - 1e-12
        assert pytest.approx(3.0) == 8.0 * DRIFT_MM_PER_WEEK

    @given(walls)
    @bounded
    def test_the_slopes_are_those_of_the_formulas(self, wall):
        slopes = _slopes(wall)
        steps = np.diag([1e-6] * 4 + [np.degrees(1e-6)] * 4)
        for column, step in enumerate(steps):
            up, down = (growth_per_week(Wall(*(np.array(wall) + turn * step))) for turn in (1.0, -1.0))
            assert slopes[:, column] == pytest.approx((up - down) / 2e-6, abs=1e-5)

    @pytest.mark.parametrize("limb", [Limb.LF, Limb.LH])
    def test_the_spread_from_angles_wear_and_growth_is_that_of_drawn_walls(self, limb):
        """Delta method against 200,000 walls, within 2 % of each standard deviation and 0.02 of the correlation."""
        rng, count, wall = np.random.default_rng(3), 200_000, usual_wall(limb)
        wear = WEAR_SD * (
            np.sqrt(WEAR_CORRELATION) * rng.standard_normal((count, 1))
            + np.sqrt(1.0 - WEAR_CORRELATION) * rng.standard_normal((count, 3))
        )
        growth = WALL_GROWTH_SD * rng.standard_normal((count, 1))
        angles = np.array(ANGLE_SD_DEG) * rng.standard_normal((count, 4))
        drawn = np.array(wall) + np.hstack([growth, wear, angles])
        rates = _all_by_hand(drawn)
        found = _slopes(wall) @ _wall_covariance() @ _slopes(wall).T
        assert np.sqrt(np.diagonal(found)) == pytest.approx(rates.std(axis=0), rel=0.02)
        assert _correlation(found) == pytest.approx(np.corrcoef(rates.T)[0, 1], abs=0.02)
        assert growth_per_week(wall) == pytest.approx(rates.mean(axis=0), abs=0.01)

    @given(limbs)
    def test_raising_the_spread_to_its_floor_keeps_the_correlation(self, limb):
        wall = usual_wall(limb)
        raw = _slopes(wall) @ _wall_covariance() @ _slopes(wall).T
        _, raised = usual_rates(limb)
        assert _correlation(raised) == pytest.approx(_correlation(raw))

    @given(limbs, cycles)
    def test_one_trim_is_less_sure_than_the_mean_of_many(self, limb, weeks):
        changes = usual_changes(limb, cycle_weeks=weeks)
        mean, covariance = changes.next_trim
        assert mean == pytest.approx(changes.mean)
        assert covariance - changes.covariance == pytest.approx(np.diag([0.0, 0.0, *TRIM_SD_MM**2]))


class TestCircumstances:
    def test_shod_hooves_lose_what_was_published(self):
        """6.5 mm of circumference in 7 weeks, spread over π."""
        lost = -7.0 * EFFECTS[Circumstance.SHOD].mm_per_week * np.pi
        assert lost == pytest.approx(6.5)

    def test_race_training_takes_what_was_published(self):
        assert -EFFECTS[Circumstance.RACE_TRAINING].mm_per_week * np.pi == pytest.approx(0.6)

    def test_shoes_off_gives_back_what_shoes_took(self):
        assert EFFECTS[Circumstance.OUT_OF_SHOES].mm_per_week == -EFFECTS[Circumstance.SHOD].mm_per_week

    @given(limbs, cycles, circumstances)
    @bounded
    def test_they_shift_the_rates_and_leave_the_trim(self, limb, weeks, told):
        plain = usual_changes(limb, cycle_weeks=weeks)
        changed = usual_changes(limb, cycle_weeks=weeks, circumstances=told)
        shift = sum(EFFECTS[one].mm_per_week for one in told)
        assert changed.mean - plain.mean == pytest.approx([shift, shift, 0.0, 0.0])
        assert changed.covariance[:, 2:] == pytest.approx(plain.covariance[:, 2:])

    @given(limbs, cycles, circumstances)
    @bounded
    def test_each_adds_doubt_to_both_dimensions_together(self, limb, weeks, told):
        plain = usual_changes(limb, cycle_weeks=weeks)
        changed = usual_changes(limb, cycle_weeks=weeks, circumstances=told)
        added = changed.covariance[:2, :2] - plain.covariance[:2, :2]
        assert added == pytest.approx(np.full((2, 2), sum(EFFECTS[one].sd ** 2 for one in told)))

    def test_shoes_off_doubles_the_usual_spread(self):
        changes = usual_changes(Limb.LF, cycle_weeks=7.0, circumstances={Circumstance.OUT_OF_SHOES})
        assert np.sqrt(changes.covariance[0, 0]) == pytest.approx(2.0 * DRIFT_MM_PER_WEEK, rel=0.01)

    @given(limbs, cycles, circumstances)
    @bounded
    def test_left_and_right_are_alike(self, limb, weeks, told):
        other = Limb(("R" if limb.value[0] == "L" else "L") + limb.value[1])
        one, two = (usual_changes(each, cycle_weeks=weeks, circumstances=told) for each in (limb, other))
        for mine, theirs in zip(astuple(one), astuple(two), strict=True):
            assert np.array_equal(mine, theirs)


def _all_by_hand(walls):
    growth, toe_wear, heel_wear, quarter_wear = walls[:, :4].T
    toe, heel, medial, lateral = np.cos(np.radians(walls[:, 4:])).T
    return np.stack(
        [(growth - quarter_wear) * (medial + lateral), (growth - toe_wear) * toe - (growth - heel_wear) * heel], axis=1
    )


def _correlation(covariance):
    return covariance[0, 1] / np.sqrt(covariance[0, 0] * covariance[1, 1])
