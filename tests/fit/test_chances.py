"""Chances of one hoof against sizes: against quadrature and simulated boots, and the laws they have to keep."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.chances import (
    ACCEPTED,
    VERDICTS,
    corner_chances,
    expected_worth,
    preference,
    step_chances,
    verdict_chances,
)
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import AnimalType, Method, Observer
from hooflast.fit.sizes import BootChart, SizeTable, size_table
from hooflast.fit.verdict import Verdict

from .reference import expectation, sample, simulate_wearing
from .strategies import KNOWN_MM, bounded, charts, closures, hoof, known, mixtures, normals, read, single

EXACT = 1e-12


def table_of(*boots: BootChart) -> SizeTable:
    return size_table(boots)


def fit_chances(mixed: Estimate, table: SizeTable) -> list[float]:
    corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return expected_worth(corners, steps=ACCEPTED).tolist()


def worths(mixed: Estimate, table: SizeTable) -> list[float]:
    corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    steps = np.array([preference(closure) for closure in table.closures])[table.boot_of]
    return expected_worth(corners, steps=steps).tolist()


def axis_chances(mixed: Estimate, table: SizeTable):
    return step_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm) @ ACCEPTED


def verdicts(mixed: Estimate, table: SizeTable):
    return verdict_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)


CASES = {
    "well inside": (hoof(117.0, 116.0, sd=(1.2, 1.8), correlation=0.3), (112.0, 121.0), (110.0, 120.0)),
    "on two edges": (hoof(121.0, 110.5, sd=(2.6, 3.7), correlation=0.6), (112.0, 121.0), (110.0, 120.0)),
    "against the grain": (hoof(119.0, 118.0, sd=(4.0, 3.0), correlation=-0.8), (115.0, 119.0), (115.0, 119.0)),
    "sharp": (hoof(114.2, 119.6, sd=(0.6, 0.7), correlation=0.9), (114.0, 118.0), (115.0, 119.0)),
}
cases = pytest.mark.parametrize(("part", "width", "length"), CASES.values(), ids=CASES.keys())


class TestAgainstOtherComputations:
    @cases
    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.STRAP])
    @pytest.mark.parametrize("kind", ["fit", "worth"])
    def test_expectations_agree_with_quadrature(self, part, width, length, closure, kind):
        table = table_of(single(width, length, closure=closure))
        steps = ACCEPTED if kind == "fit" else preference(closure)

        def worth_along(axis):
            edges, spreads = table.edges_mm[0, axis].tolist(), table.edge_sd_mm[0, axis].tolist()
            parts = list(zip(steps.tolist(), edges, spreads, strict=True))
            return lambda x: sum(step * float(ndtr((x - edge) / spread)) for step, edge, spread in parts)

        found = fit_chances(part, table) if kind == "fit" else worths(part, table)
        assert found == pytest.approx([expectation(part, (worth_along(0), worth_along(1)))], abs=1e-6)

    @cases
    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.BUCKLE, Closure.CABLE])
    def test_fit_chances_agree_with_simulated_hooves_boots_and_closures(self, part, width, length, closure):
        """200 000 hooves against boots made a little off, with a give even between nothing and all: within 0.015, of
        which the ramp behind the normal step may take 0.012 on an axis (tests of `sizes`)."""
        rng = np.random.default_rng(11)
        hooves = sample(part, count=200_000, rng=rng)
        share = simulate_wearing(hooves, width=width, length=length, closure=closure, rng=rng)
        assert fit_chances(part, table_of(single(width, length, closure=closure))) == pytest.approx([share], abs=0.015)

    def test_an_owner_s_reading_with_its_gross_errors_agrees_with_simulation_too(self):
        reading = read(124.0, 127.0, method=Method.UNKNOWN, observer=Observer.OWNER)
        mixed = estimate_hoof(reading, animal_type=AnimalType.HORSE)
        rng = np.random.default_rng(12)
        width, length = (120.0, 129.0), (121.0, 130.0)
        hooves = sample(mixed, count=200_000, rng=rng)
        share = simulate_wearing(hooves, width=width, length=length, closure=Closure.BUCKLE, rng=rng)
        found = fit_chances(mixed, table_of(single(width, length, closure=Closure.BUCKLE)))
        assert found == pytest.approx([share], abs=0.008)

    @bounded
    @given(st.lists(normals(), min_size=2, max_size=4), charts())
    def test_a_mixture_has_the_chances_of_its_parts_by_weight(self, parts, chart):
        weights = np.arange(1.0, len(parts) + 1.0)
        mixed = Estimate(
            weights=weights / weights.sum(),
            means=np.concatenate([part.means for part in parts]),
            covariances=np.concatenate([part.covariances for part in parts]),
        )
        table = table_of(chart)
        by_part = mixed.weights @ np.array([fit_chances(part, table) for part in parts])
        assert fit_chances(mixed, table) == pytest.approx(by_part, abs=EXACT)


class TestVerdicts:
    @bounded
    @given(mixtures(), charts())
    def test_each_row_is_a_distribution(self, mixed, chart):
        rows = verdicts(mixed, table_of(chart))
        assert rows.shape == (len(chart.widths_mm), 2, len(Verdict))
        assert rows.min() >= 0.0
        assert not np.signbit(rows).any(), "a chance of −0 would be written down as such"
        assert rows.sum(axis=-1) == pytest.approx(1.0)

    def test_a_row_stays_a_distribution_where_steps_of_unlike_width_cross(self):
        """A strap's loose edge is blurred more than its thirds: past a narrow size their chances cross."""
        rows = verdicts(known(125.0, 125.0), table_of(single((120.0, 121.0), (120.0, 121.0), closure=Closure.STRAP)))
        assert rows.min() >= 0.0
        assert rows.sum(axis=-1) == pytest.approx(1.0)

    @pytest.mark.parametrize(
        ("dimension", "verdict"),
        [
            (92.0, Verdict.TOO_LOOSE),
            (110.0, Verdict.ROOMY),
            (130.0, Verdict.EVEN),
            (150.0, Verdict.SNUG),
            (168.0, Verdict.TOO_TIGHT),
        ],
    )
    @pytest.mark.parametrize("closure", Closure)
    def test_a_known_hoof_gets_the_verdict_of_the_third_it_lies_in(self, dimension, verdict, closure):
        rows = verdicts(known(dimension, dimension), table_of(single((100.0, 160.0), (100.0, 160.0), closure=closure)))
        assert rows[0, :, VERDICTS.index(verdict)] == pytest.approx(1.0, abs=1e-4)

    @bounded
    @given(mixtures(), charts())
    def test_the_three_accepted_verdicts_add_up_to_acceptance(self, mixed, chart):
        """Where steps of unlike give cross in the tails a row is kept from falling below zero: within 1e-3."""
        table = table_of(chart)
        accepted = verdicts(mixed, table)[:, :, 1:4].sum(axis=-1)
        assert accepted == pytest.approx(np.maximum(axis_chances(mixed, table), 0.0), abs=1e-3)

    @bounded
    @given(normals(), charts(), st.floats(0.0, 30.0))
    def test_a_wider_hoof_is_never_less_likely_too_tight_nor_more_likely_too_loose(self, part, chart, more):
        table, wider = table_of(chart), replace(part, means=part.means + more)
        tight, loose = VERDICTS.index(Verdict.TOO_TIGHT), VERDICTS.index(Verdict.TOO_LOOSE)
        before, after = verdicts(part, table), verdicts(wider, table)
        assert np.all(after[..., tight] >= before[..., tight] - EXACT)
        assert np.all(after[..., loose] <= before[..., loose] + EXACT)

    def test_verdicts_are_told_from_tight_to_loose(self):
        assert tuple(Verdict) == VERDICTS
        assert (VERDICTS[0], VERDICTS[-1]) == (Verdict.TOO_TIGHT, Verdict.TOO_LOOSE)


class TestMissingAxis:
    @bounded
    @given(mixtures(), st.sampled_from([0, 1]), closures)
    def test_an_axis_left_out_neither_judges_nor_refuses(self, mixed, missing, closure):
        given_range = (112.0, 121.0)
        ranges = [given_range, given_range]
        ranges[missing] = None
        table = table_of(single(*ranges, closure=closure))
        rows = verdicts(mixed, table)
        assert rows[0, missing, VERDICTS.index(Verdict.EVEN)] == pytest.approx(1.0)
        assert fit_chances(mixed, table) == pytest.approx(axis_chances(mixed, table)[:, 1 - missing], abs=EXACT)


class TestLaws:
    @bounded
    @given(
        mixed=mixtures(),
        chart=charts(complete=True),
        widen=st.tuples(*[st.floats(0.0, 6.0)] * 4),
    )
    def test_widening_a_range_never_lowers_a_fit_chance(self, mixed, chart, widen):
        left, right, back, front = widen
        wider = replace(
            chart,
            widths_mm=[(low - left, high + right) for low, high in chart.widths_mm],
            lengths_mm=[(low - back, high + front) for low, high in chart.lengths_mm],
        )
        before, after = fit_chances(mixed, table_of(chart)), fit_chances(mixed, table_of(wider))
        assert np.all(np.array(after) >= np.array(before) - EXACT)

    @bounded
    @given(
        away=st.tuples(st.floats(-25.0, 25.0), st.floats(-25.0, 25.0)),
        nearer=st.floats(0.0, 1.0),
        sd=st.tuples(st.floats(0.3, 8.0), st.floats(0.3, 8.0)),
        correlation=st.floats(-0.95, 0.95),
        half=st.tuples(st.floats(1.0, 12.0), st.floats(1.0, 12.0)),
        edge_sd=st.tuples(st.floats(0.1, 2.0), st.floats(0.1, 2.0)),
    )
    def test_a_hoof_nearer_to_the_middle_of_a_symmetric_size_never_fits_less(
        self, away, nearer, sd, correlation, half, edge_sd
    ):
        """A law of symmetric unimodal densities and convex symmetric sets: T. W. Anderson, Proc. Amer. Math. Soc. 6
        (1955) 170-176."""
        edges = np.array([[[-reach, -reach / 3, reach / 3, reach] for reach in half]])
        spreads = np.array([[[spread] * 4 for spread in edge_sd]])

        def chance(share: float) -> float:
            part = hoof(away[0] * share, away[1] * share, sd=sd, correlation=correlation)
            return float(expected_worth(corner_chances(part, edges_mm=edges, edge_sd_mm=spreads), steps=ACCEPTED)[0])

        assert chance(nearer) >= chance(1.0) - EXACT

    @bounded
    @given(part=normals(), chart=charts(complete=True), towards=st.tuples(st.floats(-1.0, 1.0), st.floats(-1.0, 1.0)))
    def test_along_any_line_the_fit_chance_rises_to_one_top_and_falls(self, part, chart, towards):
        """It is logarithmically concave in the hoof's mean as both factors are: A. Prékopa, Acta Sci. Math. 34 (1973)
        335-343. Unlike give at the two ends may bend the far tails: above 1e-3 of the top."""
        table = table_of(chart)
        line = [replace(part, means=part.means + np.array(towards) * step) for step in np.linspace(-60.0, 60.0, 61)]
        for chances in np.array([fit_chances(moved, table) for moved in line]).T:
            seen = chances[chances > 1e-3]
            rises = np.diff(seen)
            assert np.all(rises[: int(np.argmax(seen))] >= -1e-9) if len(seen) else True
            assert np.all(rises[int(np.argmax(seen)) :] <= 1e-9) if len(seen) else True

    @bounded
    @given(mixtures(), charts(), st.sampled_from([1.0 / 25.4, 0.1, 25.4]))
    def test_chances_do_not_depend_on_the_unit(self, mixed, chart, scale):
        table = table_of(chart)
        scaled = replace(mixed, means=mixed.means * scale, covariances=mixed.covariances * scale**2)
        edges, spreads = table.edges_mm * scale, table.edge_sd_mm * scale
        corners = corner_chances(scaled, edges_mm=edges, edge_sd_mm=spreads)
        assert expected_worth(corners, steps=ACCEPTED) == pytest.approx(fit_chances(mixed, table), abs=1e-11)
        assert verdict_chances(scaled, edges_mm=edges, edge_sd_mm=spreads) == pytest.approx(
            verdicts(mixed, table), abs=1e-11
        )

    @bounded
    @given(mixtures(), charts(complete=True))
    def test_width_and_length_may_change_places_with_their_edges(self, mixed, chart):
        table = table_of(chart)
        turned = replace(mixed, means=mixed.means[:, ::-1], covariances=mixed.covariances[:, ::-1, ::-1])
        corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        other = corner_chances(turned, edges_mm=table.edges_mm[:, ::-1], edge_sd_mm=table.edge_sd_mm[:, ::-1])
        assert other == pytest.approx(corners.swapaxes(1, 2), abs=EXACT)

    @bounded
    @given(mixtures(), charts())
    def test_both_axes_are_accepted_no_more_often_than_either_and_no_less_than_they_must_be(self, mixed, chart):
        table = table_of(chart)
        both, either = np.array(fit_chances(mixed, table)), axis_chances(mixed, table)
        assert np.all(both <= either.min(axis=1) + 1e-3)
        assert np.all(both >= either.sum(axis=1) - 1.0 - 1e-3)

    @bounded
    @given(mixtures(), charts())
    def test_a_place_in_the_range_is_never_worth_more_than_being_accepted(self, mixed, chart):
        table = table_of(chart)
        assert np.all(np.array(worths(mixed, table)) <= np.array(fit_chances(mixed, table)) + EXACT)

    @pytest.mark.parametrize("closure", Closure)
    def test_a_preference_begins_at_nothing_and_ends_at_nothing(self, closure):
        roomy, even, snug, beyond = np.cumsum(preference(closure))
        assert beyond == pytest.approx(0.0)
        assert min(roomy, even, snug) > 0.0
        assert max(roomy, even, snug) == pytest.approx(1.0)


class TestStability:
    @pytest.mark.filterwarnings("error")
    @bounded
    @given(
        away=st.tuples(st.sampled_from([-200.0, -20.0, 0.0, 20.0, 200.0]), st.sampled_from([-200.0, 0.0, 200.0])),
        sd=st.sampled_from([KNOWN_MM, 1e-3, 1.0, 30.0]),
        correlation=st.sampled_from([-0.999999, 0.0, 0.999999]),
        closure=closures,
        missing=st.sampled_from([None, 0, 1]),
    )
    def test_tiny_spreads_and_far_tails_stay_chances(self, away, sd, correlation, closure, missing):
        ranges = [None if axis == missing else (110.0, 119.0) for axis in (0, 1)]
        table = table_of(single(*ranges, closure=closure))
        part = hoof(115.0 + away[0], 115.0 + away[1], sd=sd, correlation=correlation)
        found = [*fit_chances(part, table), *worths(part, table), *verdicts(part, table).ravel().tolist()]
        assert np.all(np.isfinite(found))
        assert min(found) >= 0.0
        assert max(found) <= 1.0 + 1e-15
        if missing is None and max(map(abs, away)) == 200.0 and sd <= 1.0:
            assert fit_chances(part, table)[0] < 1e-12

    @pytest.mark.filterwarnings("error")
    def test_a_known_hoof_in_a_sharp_boot_fits_or_does_not(self):
        chart = BootChart(
            closure=Closure.PULL_ON, widths_mm=[(110.0, 119.0)], lengths_mm=[(110.0, 119.0)], make_sd_mm=0.0
        )
        table = table_of(chart)
        inside, too_long, too_wide = ((115.0, 115.0), (115.0, 119.6), (125.0, 115.0))
        assert fit_chances(known(*inside), table) == pytest.approx([1.0], abs=1e-9)
        assert fit_chances(known(*too_long), table) == pytest.approx([0.0], abs=1e-9)
        assert fit_chances(known(*too_wide), table) == pytest.approx([0.0], abs=1e-9)

    def test_no_size_at_all_is_no_chance_at_all(self):
        assert fit_chances(hoof(120.0, 120.0), table_of()) == []


class TestPreference:
    """fit-model section 4 [C]: a pull-on sits best in the snug third of its range, all others in the middle."""

    @pytest.mark.parametrize("closure", Closure)
    def test_a_known_hoof_is_worth_what_its_third_is(self, closure):
        roomy, even, snug = (0.75, 0.9, 1.0) if closure is Closure.PULL_ON else (0.85, 1.0, 0.9)
        chart = replace(single((90.0, 150.0), (90.0, 150.0), closure=closure), make_sd_mm=0.0)
        found = [worths(known(width, length), table_of(chart))[0] for width in WITHIN for length in WITHIN]
        thirds = (roomy, even, snug)
        assert found == pytest.approx([width * length for width in thirds for length in thirds])


WITHIN = (100.0, 120.0, 140.0)
"""In the roomy, the even and the snug third of 90–150."""


class TestRounding:
    """Weights that add up to a little more than one leave every chance a chance."""

    HOOF = Estimate(
        weights=np.array([0.5, 0.5 + 2.0**-52]),
        means=np.full((2, 2), 120.0),
        covariances=np.tile(1e-4 * np.eye(2), (2, 1, 1)),
    )

    def test_no_edge_is_passed_more_often_than_always(self):
        assert self.HOOF.weights.sum() > 1.0
        past = step_chances(self.HOOF, edges_mm=np.full((1, 2, 4), 100.0), edge_sd_mm=np.full((1, 2, 4), 0.1))
        assert past.max() == 1.0

    def test_no_size_fits_more_often_than_always(self):
        table = table_of(single((100.0, 140.0), (100.0, 140.0)))
        corners = corner_chances(self.HOOF, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        assert corners[0, 0, 0] > 1.0
        assert expected_worth(corners, steps=ACCEPTED).tolist() == [1.0]
