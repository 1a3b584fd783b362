"""Trial: what try-ons say about a hoof and the sizes of a boot model, held against simulation and quadrature."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit import trial as module
from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.estimate import Estimate
from hooflast.fit.findings import (
    CLEAR,
    LAST_LOOK,
    USUAL,
    BulbMarks,
    Finding,
    HeelGap,
    Indicator,
    Rotation,
    Seen,
    standing_chances,
)
from hooflast.fit.grid import NEGLIGIBLE
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import BootChart, SizeTable, size_table
from hooflast.fit.trial import (
    MISLED,
    OFFSET_SD_MM,
    Trial,
    TryOn,
    begin_trial,
    carry_over,
    chance_misled,
    hoof_lattice,
    one_normal,
)

from .reference import sample
from .strategies import bounded, hoof, known, ladder, mixture, normals

RIGHT, TOO_LARGE, TOO_NARROW, TOO_SHORT = range(4)
OFFSET = OFFSET_SD_MM**2 * np.eye(2)

seen = st.builds(
    Seen,
    finding=st.sampled_from(LAST_LOOK),
    indicator=st.none() | st.sampled_from(Indicator),
    rotation=st.none() | st.sampled_from(Rotation),
    heel_gap=st.none() | st.sampled_from(HeelGap),
    bulb_marks=st.none() | st.sampled_from(BulbMarks),
)
try_ons = st.lists(st.builds(TryOn, st.integers(0, 4), seen), max_size=4)
FIVE = ladder(count=5, step=7.0, span=6.0, first=(110.0, 110.0), closure=Closure.STRAP)


def found(size: int, finding: Finding) -> TryOn:
    return TryOn(size, Seen(finding=finding))


def trial(estimate: Estimate, *tried: TryOn, chart: BootChart = FIVE, **changes: float) -> Trial:
    table = size_table([chart])
    return begin_trial(hoof_lattice(estimate), table, sizes=table.sizes_of(0), tried=tried, **changes)


def accepted(estimate: Estimate, table: SizeTable) -> Floats:
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return expected_worth(corners, steps=ACCEPTED)


class TestTheLattice:
    @bounded
    @given(estimate=normals(least_sd=0.9))
    def test_it_has_the_hoof_s_mean_and_covariance_and_that_of_one_spacing(self, estimate):
        back = one_normal(hoof_lattice(estimate))
        assert back.mean == pytest.approx(estimate.mean, abs=0.02)
        assert back.covariance == pytest.approx(estimate.covariance + np.eye(2) / 12.0, rel=0.01, abs=0.02)

    def test_it_holds_a_mixture_s_parts_by_their_weight(self):
        estimate = mixture([hoof(110.0, 112.0, sd=1.5), hoof(140.0, 141.0, sd=2.5)], weights=[0.7, 0.3])
        lattice = hoof_lattice(estimate)
        assert lattice.mass.sum() == pytest.approx(1.0)
        assert lattice.mass[lattice.widths_mm < 125.0].sum() == pytest.approx(0.7, abs=1e-3)
        assert one_normal(lattice).mean == pytest.approx(estimate.mean, abs=0.05)

    @pytest.mark.parametrize(("weight", "counts"), [(NEGLIGIBLE, True), (0.99 * NEGLIGIBLE, False)])
    def test_a_part_that_counts_for_nothing_makes_it_no_larger(self, weight, counts):
        near, far = hoof(110.0, 112.0), hoof(160.0, 160.0)
        both = replace(mixture([near, far], weights=[1.0, 1.0]), weights=np.array([1.0 - weight, weight]))
        assert (hoof_lattice(both).mass.shape != hoof_lattice(near).mass.shape) is counts

    @pytest.mark.parametrize("spacing", [1.0, 0.5])
    def test_its_points_each_stand_for_one_spacing(self, spacing, monkeypatch):
        monkeypatch.setattr(module, "SPACING_MM", spacing)
        lattice = hoof_lattice(hoof(110.0, 120.0, sd=2.0))
        assert np.diff(lattice.lengths_mm) == pytest.approx(np.full(len(lattice.lengths_mm) - 1, spacing))
        assert np.diag(one_normal(lattice).covariance) == pytest.approx([4.0 + spacing**2 / 12.0] * 2, abs=3e-3)

    def test_a_finer_one_comes_to_the_same_chances(self, monkeypatch):
        estimate, tried = hoof(121.0, 124.0, sd=3.0), found(2, Finding.TURNS)
        coarse = trial(estimate, tried).standing_after
        monkeypatch.setattr(module, "SPACING_MM", 0.5)
        assert trial(estimate, tried).standing_after == pytest.approx(coarse, abs=5e-3)

    def test_it_reaches_four_and_a_half_standard_deviations(self):
        lattice = hoof_lattice(hoof(110.0, 120.0, sd=(2.0, 4.0)))
        for points, low, high in ((lattice.widths_mm, 101.0, 119.0), (lattice.lengths_mm, 102.0, 138.0)):
            assert low - 1.1 < points[0] <= low
            assert high <= points[-1] < high + 1.1
        assert np.diff(lattice.widths_mm) == pytest.approx(np.ones(len(lattice.widths_mm) - 1))

    def test_a_hoof_that_is_all_but_known_lies_where_it_is(self):
        assert one_normal(hoof_lattice(known(120.3, 118.8))).mean == pytest.approx([120.3, 118.8], abs=0.5)


class TestBeforeAnythingIsTried:
    @bounded
    @given(estimate=normals(least_sd=0.9), closure=st.sampled_from(Closure))
    def test_a_size_is_right_as_often_as_the_closed_form_says_with_the_offset_as_further_doubt(self, estimate, closure):
        table = size_table([replace(FIVE, closure=closure)])
        doubted = estimate.changed(by_mm=np.zeros(2), covariance=OFFSET)
        begun = begin_trial(hoof_lattice(estimate), table, sizes=table.sizes_of(0))
        assert begun.right_after == pytest.approx(accepted(doubted, table), abs=6e-3)

    def test_without_an_offset_it_is_the_fit_chance_itself(self):
        estimate = hoof(121.0, 124.0, sd=(1.8, 2.9), correlation=0.3)
        begun = trial(estimate, offset_sd_mm=0.0)
        assert begun.right_after == pytest.approx(accepted(estimate, size_table([FIVE])), abs=3e-3)

    def test_the_evidence_of_nothing_is_one(self):
        assert trial(hoof(121.0, 124.0, sd=3.0)).evidence == pytest.approx(1.0, abs=1e-4)

    def test_what_was_seen_of_other_boot_models_is_kept_beside(self):
        table = size_table([FIVE])
        before, now = found(7, Finding.TURNS), found(2, Finding.TURNS)
        lattice = hoof_lattice(hoof(121.0, 124.0))
        begun = begin_trial(lattice, table, sizes=table.sizes_of(0), tried=[now], carried=[before])
        assert (begun.carried, begun.tried, begun.all_tried) == ((before,), (now,), (before, now))
        assert begun.right_by_size == dict(enumerate(begun.right_after.tolist()))

    def test_the_trial_holds_the_sizes_of_its_own_boot_model(self):
        table = size_table([ladder(count=3), FIVE])
        begun = begin_trial(hoof_lattice(hoof(121.0, 124.0)), table, sizes=table.sizes_of(1))
        assert list(begun.sizes) == [3, 4, 5, 6, 7]
        assert begun.right_after == pytest.approx(trial(hoof(121.0, 124.0)).right_after)


class TestFindings:
    @bounded
    @given(estimate=normals(least_sd=0.9), tried=try_ons)
    def test_the_standings_of_every_size_are_chances_that_add_up_to_one(self, estimate, tried):
        chances = trial(estimate, *tried).standing_after
        assert np.all(chances >= -1e-12)
        assert chances.sum(axis=1) == pytest.approx(np.ones(5))

    @bounded
    @given(estimate=normals(least_sd=0.9), tried=try_ons, order=st.randoms(use_true_random=False))
    def test_the_order_of_try_ons_does_not_matter(self, estimate, tried, order):
        shuffled = list(tried)
        order.shuffle(shuffled)
        one, other = trial(estimate, *tried), trial(estimate, *shuffled)
        assert one.standing_after == pytest.approx(other.standing_after, abs=1e-9)
        assert one.evidence == pytest.approx(other.evidence, rel=1e-9)

    @bounded
    @given(estimate=normals(least_sd=0.9), tried=try_ons, size=st.integers(0, 4))
    def test_over_all_a_try_on_can_end_with_the_evidence_stays_what_it_was(self, estimate, tried, size):
        before = trial(estimate, *tried)
        after = sum(before.with_try_on(size, Seen(finding=finding)).evidence for finding in LAST_LOOK)
        assert after == pytest.approx(before.evidence, rel=1e-9)

    @pytest.mark.parametrize(
        ("finding", "stands"),
        [
            (Finding.STAYS_PUT, RIGHT),
            (Finding.TURNS, TOO_LARGE),
            (Finding.WILL_NOT_GO_ON, TOO_NARROW),
            (Finding.HEEL_STILL_NOT_SEATED, TOO_SHORT),
            (Finding.HEEL_NOT_SEATED, TOO_SHORT),
        ],
    )
    def test_a_finding_makes_what_it_means_likelier(self, finding, stands):
        before, after = (trial(hoof(121.0, 125.0, sd=4.0), *tried) for tried in ((), (found(1, finding),)))
        assert after.standing_after[1, stands] > before.standing_after[1, stands]

    @bounded
    @given(
        width=st.floats(108.0, 146.0),
        length=st.floats(108.0, 146.0),
        sd=st.floats(1.5, 6.0),
        correlation=st.floats(0.0, 0.8),
        size=st.integers(0, 4),
    )
    def test_a_size_that_turns_speaks_for_smaller_hooves_and_one_that_will_not_go_on_for_wider_ones(
        self, width, length, sd, correlation, size
    ):
        table = size_table([FIVE])
        lattice = hoof_lattice(hoof(width, length, sd=sd, correlation=correlation))
        before, turns, will_not = (
            one_normal(carry_over(lattice, table, sizes=table.sizes_of(0), tried=tried)).mean
            for tried in ((), [found(size, Finding.TURNS)], [found(size, Finding.WILL_NOT_GO_ON)])
        )
        assert turns.sum() <= before.sum() + 0.05
        assert will_not[0] >= before[0] - 0.05

    def test_it_agrees_with_counting_simulated_hooves_boots_and_findings(self):
        """Hooves, offsets, boots and findings drawn one by one; kept are those in which size 2 turned and 1 stayed."""
        rng = np.random.default_rng(3)
        estimate = hoof(120.0, 119.0, sd=(3.0, 4.0), correlation=0.4)
        boots = sample(estimate, count=120_000, rng=rng) - OFFSET_SD_MM * rng.standard_normal((120_000, 2))
        table = size_table([FIVE])
        stands = {size: draw(cell_chances(boots, table, size=size), rng=rng) for size in (1, 2)}
        finds = {size: draw(USUAL.last_look[stands[size]], rng=rng) for size in (1, 2)}
        kept = (finds[2] == LAST_LOOK.index(Finding.TURNS)) & (finds[1] == LAST_LOOK.index(Finding.STAYS_PUT))
        after = trial(estimate, found(2, Finding.TURNS), found(1, Finding.STAYS_PUT))
        assert after.evidence == pytest.approx(kept.mean(), abs=0.01)
        for size in (1, 2):
            counted = np.bincount(stands[size][kept], minlength=4) / kept.sum()
            assert after.standing_after[size] == pytest.approx(counted, abs=0.015)

    def test_a_size_that_stays_put_and_turns_freely_in_movement_is_likelier_too_large_than_right(self):
        stays = trial(hoof(121.0, 121.0, sd=3.0), found(1, Finding.STAYS_PUT))
        moved = Seen(
            finding=Finding.STAYS_PUT, rotation=Rotation.FREE, heel_gap=HeelGap.OPENS, bulb_marks=BulbMarks.MARKED
        )
        loose = trial(hoof(121.0, 121.0, sd=3.0), TryOn(1, moved))
        assert stays.standing_after[1].argmax() == RIGHT
        assert loose.standing_after[1].argmax() == TOO_LARGE

    def test_a_heel_looked_at_again_says_nothing_more_by_its_first_look(self):
        last = found(1, Finding.STAYS_PUT)
        again = trial(hoof(121.0, 121.0, sd=3.0), found(1, Finding.HEEL_NOT_SEATED), last)
        assert again.standing_after == pytest.approx(trial(hoof(121.0, 121.0, sd=3.0), last).standing_after)

    def test_with_nothing_to_mislead_a_finding_is_the_standing(self):
        clear = replace(trial(hoof(121.0, 125.0, sd=4.0), found(1, Finding.TURNS)), sight=CLEAR)
        assert clear.standing_after[1] == pytest.approx([0.0, 1.0, 0.0, 0.0])


class TestAnotherBootModel:
    """The offset of one boot model is its own; what is left of a finding is what the hoof has learned."""

    TWO = size_table([FIVE, ladder(count=6, step=6.0, span=5.0, first=(105.0, 107.0))])

    def test_nothing_tried_carries_nothing_over(self):
        lattice = hoof_lattice(hoof(121.0, 124.0, sd=3.0))
        carried = carry_over(lattice, self.TWO, sizes=self.TWO.sizes_of(0), tried=())
        assert carried.mass == pytest.approx(lattice.mass)

    def test_it_agrees_with_counting_simulated_hooves_that_met_two_boot_models(self):
        rng = np.random.default_rng(9)
        estimate = hoof(121.0, 120.0, sd=(4.0, 4.0), correlation=0.2)
        hooves = sample(estimate, count=150_000, rng=rng)
        first, second = (hooves - OFFSET_SD_MM * rng.standard_normal(hooves.shape) for _ in range(2))
        turned = draw(USUAL.last_look[draw(cell_chances(first, self.TWO, size=2), rng=rng)], rng=rng) == 1
        stands = draw(cell_chances(second[turned], self.TWO, size=7), rng=rng)
        lattice = hoof_lattice(estimate)
        carried = carry_over(lattice, self.TWO, sizes=self.TWO.sizes_of(0), tried=[found(2, Finding.TURNS)])
        begun = begin_trial(carried, self.TWO, sizes=self.TWO.sizes_of(1))
        assert carried.mass.sum() == pytest.approx(turned.mean(), abs=0.01)
        assert begun.standing_after[2] == pytest.approx(np.bincount(stands, minlength=4) / len(stands), abs=0.01)

    def test_the_order_in_which_boot_models_were_left_does_not_matter(self):
        lattice = hoof_lattice(hoof(121.0, 124.0, sd=3.0))
        steps = [(0, [found(2, Finding.TURNS)]), (1, [found(7, Finding.WILL_NOT_GO_ON)])]
        masses = []
        for order in (steps, steps[::-1]):
            carried = lattice
            for boot, tried in order:
                carried = carry_over(carried, self.TWO, sizes=self.TWO.sizes_of(boot), tried=tried)
            masses.append(carried.mass)
        assert masses[0] == pytest.approx(masses[1])

    def test_a_finding_says_less_about_another_boot_model_than_about_its_own(self):
        """The same chart under another name: its own offset is unknown again."""
        twice = size_table([FIVE, FIVE])
        lattice = hoof_lattice(hoof(121.0, 121.0, sd=3.0))
        tried = [found(1, Finding.TURNS)]
        carried = carry_over(lattice, twice, sizes=twice.sizes_of(0), tried=tried)
        own = begin_trial(lattice, twice, sizes=twice.sizes_of(0), tried=tried)
        other, before = (begin_trial(one, twice, sizes=twice.sizes_of(1)) for one in (carried, lattice))
        assert before.right_after[0] < other.right_after[0] < own.right_after[0]

    def test_without_offsets_it_says_the_same_about_both(self):
        twice = size_table([FIVE, FIVE])
        lattice = hoof_lattice(hoof(121.0, 121.0, sd=3.0))
        tried = [found(1, Finding.TURNS)]
        carried = carry_over(lattice, twice, sizes=twice.sizes_of(0), tried=tried, offset_sd_mm=0.0)
        own = begin_trial(lattice, twice, sizes=twice.sizes_of(0), tried=tried, offset_sd_mm=0.0)
        other = begin_trial(carried, twice, sizes=twice.sizes_of(1), offset_sd_mm=0.0)
        assert other.standing_after[[0, 2]] == pytest.approx(own.standing_after[[0, 2]], abs=1e-5)


class TestMisled:
    def test_nothing_seen_leaves_the_chance_as_it_was(self):
        assert chance_misled(1.0, tried=()) == pytest.approx(MISLED)

    def test_it_is_worked_out_by_hand(self):
        """One look of four, one indicator of three, one gap of two: blind chance 1/24."""
        one = TryOn(0, Seen(finding=Finding.TURNS, indicator=Indicator.RIGHT, heel_gap=HeelGap.NONE))
        expected = MISLED / 24.0 / (MISLED / 24.0 + (1.0 - MISLED) * 0.1)
        assert chance_misled(0.1, tried=[one]) == pytest.approx(expected)

    def test_each_try_on_is_another_blind_guess(self):
        one = found(0, Finding.TURNS)
        expected = MISLED / 16.0 / (MISLED / 16.0 + (1.0 - MISLED) * 0.01)
        assert chance_misled(0.01, tried=[one, one]) == pytest.approx(expected)

    def test_a_smaller_size_that_turns_and_a_larger_one_that_will_not_go_on_contradict_each_other(self):
        estimate = hoof(121.0, 121.0, sd=2.0)
        at_odds = trial(estimate, found(0, Finding.TURNS), found(3, Finding.WILL_NOT_GO_ON))
        in_step = trial(estimate, found(3, Finding.TURNS), found(0, Finding.WILL_NOT_GO_ON))
        assert chance_misled(at_odds.evidence, tried=at_odds.tried) > 0.9
        assert chance_misled(in_step.evidence, tried=in_step.tried) < MISLED

    def test_findings_that_contradict_the_measurement_are_as_odd(self):
        far = trial(hoof(121.0, 121.0, sd=1.5), found(4, Finding.WILL_NOT_GO_ON))
        assert chance_misled(far.evidence, tried=far.tried) > 0.5


class TestLarger:
    def test_a_size_is_at_least_as_large_only_if_it_is_so_on_both_axes(self):
        chart = BootChart(
            closure=Closure.STRAP,
            widths_mm=[(110.0, 114.0), (115.0, 119.0), (110.0, 114.0)],
            lengths_mm=[(110.0, 114.0), (110.0, 114.0), (115.0, 119.0)],
        )
        larger = trial(hoof(112.0, 112.0), chart=chart).larger
        assert larger.tolist() == [[True, True, True], [False, True, False], [False, False, True]]

    def test_a_size_whose_range_reaches_further_at_both_ends_is_not_at_least_as_large(self):
        chart = BootChart(closure=Closure.STRAP, widths_mm=[(100.0, 110.0), (99.0, 113.0)], lengths_mm=[None, None])
        assert trial(hoof(105.0, 112.0), chart=chart).larger.tolist() == [[True, False], [False, True]]

    def test_an_axis_the_chart_leaves_out_counts_as_equal(self):
        chart = BootChart(closure=Closure.STRAP, widths_mm=[(110.0, 114.0), (115.0, 119.0)], lengths_mm=[None, None])
        assert trial(hoof(112.0, 112.0), chart=chart).larger.tolist() == [[True, True], [False, True]]


def draw(chances: Floats, *, rng: np.random.Generator) -> np.ndarray:
    return (rng.random(len(chances))[:, None] > chances.cumsum(axis=1)).sum(axis=1).clip(max=chances.shape[1] - 1)


def cell_chances(hooves: Floats, table: SizeTable, *, size: int) -> Floats:
    """How one size stands to each hoof (M, 4), worked out on a fine lattice and taken from the nearest point."""
    axes = [np.arange(np.floor(hooves[:, axis].min()), hooves[:, axis].max() + 1.0, 0.25) for axis in (0, 1)]
    (stands,) = standing_chances((axes[0], axes[1]), table, sizes=range(size, size + 1))
    nearest = [
        np.rint((hooves[:, axis] - axes[axis][0]) / 0.25).astype(int).clip(max=len(axes[axis]) - 1) for axis in (0, 1)
    ]
    return stands[:, nearest[0], nearest[1]].T
