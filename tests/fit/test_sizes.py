"""Size charts as edges: the one link between hoof and size, against the linear ramp it stands for."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, step_chances
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType
from hooflast.fit.sizes import GIVE, MAKE_SD_MM, TOLERANCE_MM, BootChart, size_table
from hooflast.units import Unit, read_length

from .strategies import bounded, charts, closures, hoof, known, ladder, read, single

LOOSE, ROOMY, SNUG, TIGHT = range(4)


def smallest_hoof_sd() -> float:
    """The sharpest a hoof is ever known: a professional's calliper, read a thousand times to 0.1 mm."""
    reading = read([124.0] * 1000, [127.0] * 1000, resolution_mm=0.1)
    covariance = estimate_hoof(reading, animal_type=AnimalType.HORSE).covariance
    return float(np.sqrt(np.diag(covariance).min()))


def ramp_chance(mean: float, *, end: float, give: float, sd: float) -> float:
    """Chance that a hoof is taken at a loose end: the closure's reach below it is even between nothing and its give."""

    def taken(reach: float) -> float:
        return float(ndtr((mean - (end - reach)) / sd)) / give

    return float(quad(taken, 0.0, give, epsabs=1e-10)[0])


def step_at_the_loose_end(mean: float, *, end: float, closure: Closure, hoof_sd: float) -> float:
    table = size_table([single((end, end + 60.0), None, closure=closure)])
    past = step_chances(hoof(mean, 100.0, sd=hoof_sd), edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return float(past[0, 0, LOOSE])


class TestTheStepAndTheRamp:
    """fit-model section 3: the normal step in place of the linear ramp of the give."""

    def worst_difference(self, closure: Closure, *, hoof_sd: float) -> float:
        give, sd = GIVE[closure].loose_mm, float(np.hypot(hoof_sd, MAKE_SD_MM))
        means = np.linspace(100.0 - give - 5.0 * sd, 100.0 + 5.0 * sd, 160)
        return max(
            abs(
                ramp_chance(mean, end=100.0, give=give, sd=sd)
                - step_at_the_loose_end(mean, end=100.0, closure=closure, hoof_sd=hoof_sd)
            )
            for mean in means
        )

    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.BUCKLE, Closure.STRAP])
    def test_they_agree_within_0_005_from_a_spread_of_0_38_of_the_give_on(self, closure):
        sd = max(0.38 * GIVE[closure].loose_mm, float(np.hypot(smallest_hoof_sd(), MAKE_SD_MM)))
        assert self.worst_difference(closure, hoof_sd=float(np.sqrt(sd**2 - MAKE_SD_MM**2))) <= 0.005

    def test_one_reading_by_the_best_method_spreads_by_as_much(self):
        covariance = estimate_hoof(read(124.0, 127.0), animal_type=AnimalType.HORSE).covariance
        spread = np.sqrt(np.diag(covariance) + MAKE_SD_MM**2)
        assert np.all(spread >= 0.3785 * max(give.loose_mm for give in GIVE.values()))

    @pytest.mark.parametrize("closure", Closure)
    def test_they_agree_within_0_012_on_the_sharpest_hoof_there_is(self, closure):
        assert self.worst_difference(closure, hoof_sd=smallest_hoof_sd()) <= 0.012

    def test_the_sharpest_hoof_is_as_sharp_as_the_module_says(self):
        assert np.hypot(smallest_hoof_sd(), MAKE_SD_MM) == pytest.approx(1.12, abs=0.005)

    @bounded
    @given(give=st.floats(0.1, 8.0), closure=closures)
    def test_the_step_has_the_ramp_s_middle_and_spread(self, give, closure):
        """Even between 0 and give: mean give/2, standard deviation give/√12 (JCGM 100:2008, 4.3.7)."""
        reach, _ = quad(lambda x: x / give, 0.0, give)
        spread, _ = quad(lambda x: (x - give / 2.0) ** 2 / give, 0.0, give)
        assert (reach, spread) == pytest.approx((give / 2.0, give**2 / 12.0))
        table = size_table([single((100.0, 120.0), (100.0, 120.0), closure=closure)])
        loose = GIVE[closure].loose_mm
        assert table.edges_mm[0, :, LOOSE] == pytest.approx(100.0 - loose / 2.0)
        assert table.edge_sd_mm[0, :, LOOSE] ** 2 == pytest.approx(loose**2 / 12.0 + MAKE_SD_MM**2)

    @pytest.mark.filterwarnings("error")
    @pytest.mark.parametrize(("length", "passes"), [(119.999, 0.0), (120.0, 0.5), (120.001, 1.0)])
    def test_without_give_or_spread_an_edge_is_a_sharp_step(self, length, passes):
        """A length's tight side gives nothing; boots made all alike add nothing: a known hoof passes or not."""
        chart = BootChart(
            closure=Closure.PULL_ON, widths_mm=[None], lengths_mm=[(100.0, 120.0)], chart_step_mm=0.0, make_sd_mm=0.0
        )
        table = size_table([chart])
        assert table.edge_sd_mm[0, 1, TIGHT] == 0.0
        past = step_chances(known(100.0, length), edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        assert past[0, 1, TIGHT] == pytest.approx(passes, abs=1e-9)

    @pytest.mark.parametrize("closure", Closure)
    def test_nothing_makes_a_short_boot_longer(self, closure):
        """fit-model section 3: a closure takes up looseness only."""
        table = size_table([single((100.0, 120.0), (100.0, 120.0), closure=closure)])
        assert table.edges_mm[0, 1, TIGHT] == 120.0
        assert table.edges_mm[0, 0, TIGHT] >= 120.0

    def test_the_more_a_closure_takes_up_the_more_room_its_class_tolerates(self):
        gives = [GIVE[closure].loose_mm for closure in Closure]
        tolerances = [TOLERANCE_MM[closure] for closure in Closure]
        assert [gives[i] for i in np.argsort(tolerances, kind="stable")] == sorted(gives)


class TestRounding:
    def test_whole_millimetres_leave_no_hole_between_two_sizes(self):
        """fit-model section 3: 110–114 | 115–119 leaves no hole at 114.5."""
        table = size_table([ladder(first=(110.0, 110.0), count=2)])
        give = GIVE[Closure.PULL_ON]
        for axis, tight in ((0, give.tight_width_mm), (1, 0.0)):
            assert table.edges_mm[0, axis, TIGHT] - tight / 2.0 == 114.5
            assert table.edges_mm[1, axis, LOOSE] + give.loose_mm / 2.0 == 114.5

    @bounded
    @given(closure=closures, width=st.floats(102.0, 137.0), step=st.sampled_from([0.5, 1.0, 2.0]))
    def test_a_hoof_anywhere_in_a_touching_chart_suits_one_size_at_least_as_well_as_not(self, closure, width, step):
        chart = ladder(closure=closure, step=5.0, span=5.0 - step, chart_step_mm=step)
        table = size_table([chart])
        past = step_chances(known(width, width), edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
        assert np.all((past @ ACCEPTED).max(axis=0) >= 0.5 - 1e-9)

    @bounded
    @given(charts())
    def test_a_coarser_rounding_only_ever_widens_a_range(self, chart):
        fine, coarse = (
            size_table(
                [
                    BootChart(
                        closure=chart.closure,
                        widths_mm=chart.widths_mm,
                        lengths_mm=chart.lengths_mm,
                        chart_step_mm=chart.chart_step_mm + more,
                    )
                ]
            )
            for more in (0.0, 2.0)
        )
        assert np.all(coarse.edges_mm[:, :, LOOSE] <= fine.edges_mm[:, :, LOOSE])
        assert np.all(coarse.edges_mm[:, :, TIGHT] >= fine.edges_mm[:, :, TIGHT])

    def test_a_chart_in_inches_is_the_same_chart_in_millimetres(self):
        """1 in = 25.4 mm exactly (NIST SP 811, appendix B.6); eighths of an inch round by 3.175 mm."""
        inches = [("4 1/4 in", "4 3/8 in"), ("4 1/2 in", "4 5/8 in"), ("4 3/4 in", "4 7/8 in")]
        ranges = [tuple(read_length(end, unit=Unit.MM).mm for end in ends) for ends in inches]
        step = read_length("1/8 in", unit=Unit.MM).mm
        table = size_table(
            [BootChart(closure=Closure.PULL_ON, widths_mm=ranges, lengths_mm=ranges, chart_step_mm=step)]
        )
        give = GIVE[Closure.PULL_ON]
        assert table.edges_mm[0, 0, LOOSE] == pytest.approx(4.1875 * 25.4 - give.loose_mm / 2.0)
        assert table.edges_mm[2, 1, TIGHT] == pytest.approx(4.9375 * 25.4)
        touching = table.edges_mm[:-1, 0, TIGHT] - give.tight_width_mm / 2.0
        assert touching == pytest.approx(table.edges_mm[1:, 0, LOOSE] + give.loose_mm / 2.0)


class TestEdges:
    @bounded
    @given(charts())
    def test_edges_rise_from_loose_to_tight_and_part_the_range_in_thirds(self, chart):
        table = size_table([chart])
        for size, axis in np.argwhere(table.has_axis):
            low, high = (chart.widths_mm, chart.lengths_mm)[axis][size]
            loose, roomy, snug, tight = table.edges_mm[size, axis]
            third = (high - low + chart.chart_step_mm) / 3.0
            assert loose < roomy <= snug < tight
            assert (roomy, snug) == pytest.approx(
                (low - chart.chart_step_mm / 2.0 + third, high + chart.chart_step_mm / 2.0 - third)
            )

    @bounded
    @given(closure=closures, make_sd=st.floats(0.0, 3.0))
    def test_boots_that_differ_more_blur_every_edge_and_no_inner_edge_has_a_give(self, closure, make_sd):
        chart = replace(single((100.0, 120.0), (90.0, 115.0), closure=closure), make_sd_mm=make_sd)
        table, give = size_table([chart]), GIVE[closure]
        assert table.edge_sd_mm[0] ** 2 == pytest.approx(
            make_sd**2
            + np.array(
                [
                    [give.loose_mm**2, 0.0, 0.0, give.tight_width_mm**2],
                    [give.loose_mm**2, 0.0, 0.0, 0.0],
                ]
            )
            / 12.0
        )
        assert table.near_sd_mm[0, :, 0] ** 2 == pytest.approx(make_sd**2 + TOLERANCE_MM[closure] ** 2 / 12.0)
        assert table.near_sd_mm[0, :, 1].tolist() == table.edge_sd_mm[0, :, TIGHT].tolist()

    @pytest.mark.parametrize("closure", Closure)
    def test_nearness_runs_from_the_closure_s_tolerance_to_where_the_clearance_is_used_up(self, closure):
        table = size_table([single((100.0, 120.0), (90.0, 115.0), closure=closure, chart_step_mm=2.0)])
        tolerance, tight = TOLERANCE_MM[closure], GIVE[closure].tight_width_mm
        assert table.near_mm[0].tolist() == [[121.0 - tolerance, 121.0 + tight / 2.0], [116.0 - tolerance, 116.0]]

    @bounded
    @given(charts())
    def test_an_axis_that_the_chart_leaves_out_has_no_edge_anywhere(self, chart):
        table = size_table([chart])
        missing = ~table.has_axis
        assert missing.tolist() == [
            [chart.widths_mm[size] is None, chart.lengths_mm[size] is None] for size in range(len(chart.widths_mm))
        ]
        assert np.all(table.edges_mm[missing] == [-np.inf, -np.inf, np.inf, np.inf])
        assert np.all(table.near_mm[missing] == [-np.inf, np.inf])
        assert np.all(np.isfinite(table.edges_mm[table.has_axis]))

    @bounded
    @given(st.lists(charts(), max_size=4))
    def test_a_table_of_many_charts_is_their_tables_one_after_the_other(self, many):
        together, apart = size_table(many), [size_table([chart]) for chart in many]
        assert together.closures == tuple(chart.closure for chart in many)
        assert together.first[-1] == len(together.edges_mm) == len(together.boot_of)
        for boot, alone in enumerate(apart):
            sizes = together.sizes_of(boot)
            rows = slice(sizes.start, sizes.stop)
            assert set(together.boot_of[rows]) == {boot}
            for field in ("edges_mm", "edge_sd_mm", "near_mm", "near_sd_mm", "has_axis"):
                assert getattr(together, field)[rows].tolist() == getattr(alone, field).tolist()


@bounded
@given(st.lists(charts(), min_size=1, max_size=4), st.data())
def test_some_sizes_of_a_table_are_the_table_of_some_sizes(drawn: list[BootChart], data: st.DataObject) -> None:
    kept = [
        data.draw(st.lists(st.booleans(), min_size=len(one.widths_mm), max_size=len(one.widths_mm))) for one in drawn
    ]

    def some(chart: BootChart, ones: list[bool]) -> BootChart:
        widths, lengths = (
            [interval for interval, keep in zip(axis, ones, strict=True) if keep]
            for axis in (chart.widths_mm, chart.lengths_mm)
        )
        return replace(chart, widths_mm=widths, lengths_mm=lengths)

    table = size_table(drawn).only(np.array([keep for ones in kept for keep in ones], dtype=np.bool_))
    anew = size_table([some(chart, ones) for chart, ones in zip(drawn, kept, strict=True)])
    for name in ("edges_mm", "edge_sd_mm", "near_mm", "near_sd_mm", "has_axis", "first", "closures"):
        assert np.array_equal(getattr(table, name), getattr(anew, name)), name


def test_a_chart_has_a_range_or_none_on_both_axes_for_every_size() -> None:
    with pytest.raises(ValueError, match="zip"):
        size_table([BootChart(closure=Closure.STRAP, widths_mm=[(100.0, 104.0)] * 2, lengths_mm=[None])])


def test_a_table_without_sizes_has_arrays_of_none() -> None:
    table = size_table([])
    assert (table.edges_mm.shape, table.has_axis.shape, table.has_axis.dtype.kind) == ((0, 2, 4), (0, 2), "b")
    assert table.first.tolist() == [0]
