"""What learning says: intervals, sizes in order, and what outcomes could not tell apart."""

from dataclasses import replace
from types import MappingProxyType

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.optimize import LinearConstraint, minimize
from scipy.special import logit
from tests.fit.selling import CLINIC, WEB
from tests.fit.strategies import bounded, charts, hoof, known, ladder, single

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import Axis, Method
from hooflast.fit.learned import HowFar, Learned, LearnedAll, Unclear, _unclear, in_order, learned_all, size_gaps
from hooflast.fit.learning import Posterior, learn
from hooflast.fit.offset_prior import Priors, design
from hooflast.fit.outcome import OF_FIT, SIDES, USUALLY_KEPT, Outcome, ReadingGroup, Side
from hooflast.fit.sale import Sale, lay_out_sales
from hooflast.fit.sizes import SizeTable, size_table

offsets_mm = st.lists(st.floats(-6.0, 6.0), min_size=1, max_size=6)
BOTH = size_table([single((110.0, 116.0), (112.0, 118.0))])


def sold(
    estimate: Estimate, *, outcome: Outcome, size: int = 0, group: ReadingGroup = CLINIC, gain: float = 0.9
) -> Sale:
    gains = np.broadcast_to(gain * np.eye(2), (len(estimate.weights), 2, 2))
    return Sale(estimate=estimate, gains=gains, size=size, group=group, outcome=outcome)


def after(sales: list[Sale], table: SizeTable, *, priors: Priors | None = None) -> Posterior:
    makers = list(range(len(table.closures)))
    return learn(design(lay_out_sales(sales, table), table, makers=makers, priors=priors or Priors()))


def found(sales: list[Sale], table: SizeTable, *, priors: Priors | None = None) -> LearnedAll:
    return learned_all(after(sales, table, priors=priors), table)


class TestSizesInOrder:
    @given(offsets_mm, st.data())
    def test_sizes_are_in_order_afterwards(self, given_mm: list[float], data: st.DataObject) -> None:
        gaps = np.array(
            data.draw(st.lists(st.floats(0.0, 8.0), min_size=len(given_mm) - 1, max_size=len(given_mm) - 1))
        )
        weights = np.array(data.draw(st.lists(st.floats(0.1, 5.0), min_size=len(given_mm), max_size=len(given_mm))))
        ordered = in_order(np.array(given_mm), gaps=gaps, weights=weights)
        assert (np.diff(ordered) >= -gaps - 1e-9).all()
        again = in_order(ordered, gaps=gaps, weights=weights)
        assert again == pytest.approx(ordered)
        assert np.average(ordered, weights=weights) == pytest.approx(np.average(given_mm, weights=weights), abs=1e-9)

    @given(offsets_mm)
    def test_what_is_in_order_stays_as_it_is(self, given_mm: list[float]) -> None:
        rising = np.sort(given_mm)
        ordered = in_order(rising, gaps=np.zeros(len(rising) - 1), weights=np.ones(len(rising)))
        assert ordered == pytest.approx(rising)

    def test_they_are_the_nearest_for_which_this_holds(self) -> None:
        given_mm, gaps, weights = np.array([3.0, -2.0, 1.0, -4.0]), np.array([2.0, 1.0, 3.0]), np.array([1, 3, 2, 0.5])
        ordered = in_order(given_mm, gaps=gaps, weights=weights)

        def off(each: np.ndarray) -> float:
            return float(weights @ (each - given_mm) ** 2)

        in_line = LinearConstraint(np.diff(np.eye(4), axis=0), lb=-gaps)
        nearest = minimize(off, np.zeros(4), constraints=in_line, method="SLSQP", options={"ftol": 1e-14})
        assert nearest.success
        assert ordered == pytest.approx(nearest.x, abs=1e-5)

    def test_gaps_are_the_least_between_edges_and_never_below_nothing(self) -> None:
        edges = np.array([[100.0, 102.0, 104.0, 106.0], [105.0, 106.0, 107.0, 108.0], [101.0, 110.0, 112.0, 114.0]])
        assert size_gaps(edges).tolist() == [2.0, 0.0]
        assert size_gaps(edges[:1]).tolist() == []

    @bounded
    @given(charts(complete=True), st.lists(st.tuples(st.sampled_from(OF_FIT), st.floats(0, 1)), max_size=12))
    def test_learning_never_puts_a_larger_size_below_a_smaller_one(self, chart, told) -> None:
        table = size_table([chart])
        count = len(chart.widths_mm)
        sales = [
            sold(hoof(*table.edges_mm[(size := int(at * (count - 1)))].mean(axis=1), sd=2.0), outcome=word, size=size)
            for word, at in told
        ]
        for boot in found(sales, table).boots:
            for at, axis in enumerate((Axis.WIDTH, Axis.LENGTH)):
                for end in ("value", "low", "high"):
                    moved = [table.edges_mm[size, at] + getattr(by[axis], end) for size, by in boot.sizes.items()]
                    assert (np.diff(moved, axis=0) >= -1e-6).all()

    def test_sizes_that_contradict_their_order_meet(self) -> None:
        """Two sizes with one range: the smaller is told to run large, the larger to run small."""
        chart = ladder(count=2, step=0.0)
        table = size_table([chart])
        sales = [sold(known(106.0, 102.0), outcome=Outcome.KEPT, size=0) for _ in range(60)]
        sales += [sold(known(102.0, 102.0), outcome=Outcome.TOO_SMALL, size=1) for _ in range(60)]
        small, large = (by[Axis.WIDTH] for by in found(sales, table).boots[0].sizes.values())
        assert small.value == pytest.approx(large.value)
        assert small.low <= small.value <= small.high
        assert small.share != large.share

    def test_where_they_meet_goes_by_how_well_each_is_known(self) -> None:
        chart = ladder(count=2, step=0.0)
        table = size_table([chart])
        sales = [sold(known(106.0, 102.0), outcome=Outcome.KEPT, size=0) for _ in range(60)]
        sales += [sold(known(102.0, 102.0), outcome=Outcome.TOO_SMALL, size=1) for _ in range(4)]
        posterior = after(sales, table)
        (boot,) = learned_all(posterior, table).boots
        rows = posterior.design.offset_rows(np.arange(2))[:, 0]
        values, variances = rows @ posterior.mode, np.diagonal(rows @ posterior.covariance @ rows.T)
        assert values[0] > values[1]
        assert variances[1] > 1.1 * variances[0]
        meeting = np.average(values, weights=1.0 / variances)
        assert [by[Axis.WIDTH].value for by in boot.sizes.values()] == pytest.approx([meeting, meeting])


class TestIntervals:
    @bounded
    @given(charts(), st.lists(st.sampled_from(OF_FIT), min_size=1, max_size=8))
    def test_values_lie_in_their_intervals_and_outcomes_tell_something(self, chart, words) -> None:
        table = size_table([chart])
        middle = [np.where(np.isfinite(edges[0]), edges.clip(0.0, 300.0).mean(), 120.0) for edges in table.edges_mm[0]]
        everything = found([sold(hoof(*middle, sd=2.0), outcome=word) for word in words], table)
        for boot in everything.boots:
            each = [*boot.offsets.values(), *(one for by in boot.sizes.values() for one in by.values())]
            assert all(one.low <= one.value <= one.high for one in each)
            assert all(one.share < 1.0 for one in each)
        for kept in everything.keeping.values():
            assert 0.0 < kept.low < kept.value < kept.high < 1.0

    def test_with_nothing_told_they_are_the_priors(self) -> None:
        nothing = found([], BOTH)
        assert nothing.boots == ()
        assert dict(nothing.biases) == {}
        for side in SIDES:
            assert nothing.keeping[side].value == pytest.approx(USUALLY_KEPT[side])
            assert nothing.keeping[side].share == pytest.approx(0.0)
        logits = [np.log(p / (1 - p)) for p in (nothing.keeping[Side.TIGHT].low, nothing.keeping[Side.TIGHT].high)]
        assert (logits[1] - logits[0]) / 2.0 == pytest.approx(1.959964 * 0.5)

    def test_what_has_no_room_to_be_learned_is_hardly_told(self) -> None:
        sure = Priors(bias_sd_mm=MappingProxyType(dict.fromkeys(Method, 0.0)))
        everything = found([sold(known(113.0, 115.0), outcome=Outcome.KEPT)], BOTH, priors=sure)
        for bias in everything.biases[CLINIC].values():
            assert (bias.value, bias.low, bias.high, bias.share) == (0.0, 0.0, 0.0, 0.0)
            assert bias.how_far is HowFar.HARDLY

    @pytest.mark.parametrize(
        ("share", "how_far"),
        [
            (0.0, HowFar.HARDLY),
            (0.0999, HowFar.HARDLY),
            (0.1, HowFar.PARTLY),
            (0.4999, HowFar.PARTLY),
            (0.5, HowFar.TOLD),
        ],
    )
    def test_how_far_goes_by_the_share_of_variance_removed(self, share: float, how_far: HowFar) -> None:
        assert Learned(value=0.0, low=-1.0, high=1.0, share=share).how_far is how_far

    def test_a_boot_models_offset_is_the_mean_over_what_was_sold(self) -> None:
        table = size_table([ladder(count=3)])
        sales = [sold(known(98.5, 102.0), outcome=Outcome.KEPT, size=0)]
        sales += [sold(known(113.0, 112.0), outcome=Outcome.KEPT, size=2)] * 3
        posterior = after(sales, table)
        (boot,) = learned_all(posterior, table).boots
        rows = posterior.design.offset_rows(np.arange(3))
        expected = (rows[0] + 3.0 * rows[2]) / 4.0
        for at, axis in enumerate((Axis.WIDTH, Axis.LENGTH)):
            variance = expected[at] @ posterior.covariance @ expected[at]
            learned = boot.offsets[axis]
            assert learned.value == pytest.approx(expected[at] @ posterior.mode)
            assert (learned.high - learned.low) / 2.0 == pytest.approx(1.959964 * np.sqrt(variance))
            assert learned.share == pytest.approx(1.0 - variance / (expected[at] @ expected[at]))
        assert list(boot.sizes) == [0, 1, 2]

    def test_biases_are_those_of_their_groups(self) -> None:
        posterior = after(
            [sold(known(118.5, 115.0), outcome=Outcome.KEPT, group=group) for group in (CLINIC, WEB, WEB)], BOTH
        )
        biases = learned_all(posterior, BOTH).biases
        layout = posterior.design
        for place, group in enumerate(layout.groups):
            mode = layout.group_loads[place] @ posterior.mode[layout.group_columns[place]]
            assert [biases[group][axis].value for axis in (Axis.WIDTH, Axis.LENGTH)] == pytest.approx(mode)
            own = posterior.covariance[np.ix_(layout.group_columns[place], layout.group_columns[place])]
            spread = layout.group_loads[place] @ own @ layout.group_loads[place].T
            reach = [(biases[group][axis].high - biases[group][axis].low) / 2.0 for axis in (Axis.WIDTH, Axis.LENGTH)]
            assert reach == pytest.approx(1.959964 * np.sqrt(np.diagonal(spread)))
            prior = layout.group_loads[place] @ layout.group_loads[place].T
            shares = 1.0 - np.diagonal(spread) / np.diagonal(prior)
            assert [biases[group][axis].share for axis in (Axis.WIDTH, Axis.LENGTH)] == pytest.approx(shares)


class TestMissingAxes:
    def test_nothing_is_said_of_an_axis_that_the_chart_leaves_out(self) -> None:
        table = size_table([single((110.0, 116.0), None), single(None, (112.0, 118.0))])
        sales = [sold(known(113.0, 115.0), outcome=Outcome.KEPT, size=size) for size in (0, 1)]
        by_width, by_length = found(sales, table).boots
        assert (by_width.boot, by_length.boot) == (0, 1)
        assert set(by_width.offsets) == set(by_width.sizes[0]) == {Axis.WIDTH}
        assert set(by_length.offsets) == set(by_length.sizes[1]) == {Axis.LENGTH}

    def test_an_axis_of_unsold_sizes_alone_is_not_told_for_the_boot_model(self) -> None:
        chart = ladder(count=2)
        widths = [None, chart.widths_mm[1]]
        table = size_table([type(chart)(closure=Closure.PULL_ON, widths_mm=widths, lengths_mm=chart.lengths_mm)])
        (boot,) = found([sold(known(102.0, 102.0), outcome=Outcome.KEPT)], table).boots
        assert set(boot.offsets) == {Axis.LENGTH}
        assert [set(by) for by in boot.sizes.values()] == [{Axis.LENGTH}, {Axis.WIDTH, Axis.LENGTH}]


class TestUnclear:
    KNOWN_READINGS = Priors(bias_sd_mm=MappingProxyType(dict.fromkeys(Method, 1e-6)))

    @pytest.mark.parametrize("small", [5, 20, 40])
    def test_too_small_alone_does_not_say_on_which_axis(self, small: int) -> None:
        """Hooves that are as near the tight edge on one axis as on the other."""
        words = [Outcome.TOO_SMALL] * small + [Outcome.KEPT] * (40 - small)
        sales = [sold(hoof(114.5, 116.5, sd=0.5), outcome=word) for word in words]
        (boot,) = found(sales, BOTH, priors=self.KNOWN_READINGS).boots
        assert boot.unclear == (Unclear.AXES,)
        assert min(learned.share for learned in boot.offsets.values()) < 0.2

    def test_an_axis_of_which_nothing_is_told_is_not_mistaken_for_the_other(self) -> None:
        table = size_table([single((110.0, 116.0), (50.0, 240.0))])
        words = [Outcome.KEPT, Outcome.KEPT, Outcome.TOO_SMALL, Outcome.KEPT, Outcome.TOO_LARGE] * 6
        sales = [sold(hoof(109.0 + at % 9, 120.0, sd=0.5), outcome=word) for at, word in enumerate(words)]
        (boot,) = found(sales, table, priors=self.KNOWN_READINGS).boots
        assert boot.unclear == ()
        assert boot.offsets[Axis.WIDTH].how_far is HowFar.TOLD
        assert boot.offsets[Axis.LENGTH].how_far is HowFar.HARDLY

    @pytest.mark.parametrize(
        ("shares", "unclear"),
        [
            ([[0.4, 0.28], [0.28, 0.4]], (Unclear.AXES,)),
            ([[0.4, -0.28], [-0.28, 0.4]], (Unclear.AXES,)),
            ([[0.4, 0.20], [0.20, 0.4]], ()),
            ([[0.2, 0.14], [0.14, 0.2]], ()),
            ([[0.2, 0.21], [0.21, 0.45]], (Unclear.AXES,)),
            ([[1.1, 0.0], [0.0, 0.3]], (Unclear.AXES,)),
            ([[1.04, 0.0], [0.0, 0.3]], ()),
        ],
    )
    def test_axes_are_unclear_where_they_go_together_and_one_way_is_hardly_told(
        self, shares: list[list[float]], unclear: tuple[Unclear, ...]
    ) -> None:
        """By hand: shares of the prior variance left. Going together from 0.6 of the most there can be, the widest way,
        of which a share λ is left, must be told by half; otherwise only not be wider than it was by a twentieth."""
        told = replace(after([], size_table([single((110.0, 116.0), None)])), covariance=np.array(shares))
        assert _unclear(2.0 * np.eye(2), told, biases_known=told.covariance) == unclear

    def test_outcomes_narrow_how_often_boots_are_kept(self) -> None:
        sales = [sold(hoof(113.0, 115.0, sd=0.5), outcome=Outcome.KEPT)] * 40
        few, many = (found(some, BOTH).keeping[Side.FINE] for some in (sales[:1], sales))
        assert logit(many.high) - logit(many.low) < logit(few.high) - logit(few.low) - 0.1

    def test_axes_that_are_both_told_are_not_unclear_for_going_together(self) -> None:
        words = [Outcome.TOO_SMALL] * 5 + [Outcome.KEPT] * 35
        sales = [sold(hoof(118.0, 120.0, sd=0.5), outcome=word) for word in words]
        posterior = after(sales, BOTH, priors=self.KNOWN_READINGS)
        (boot,) = learned_all(posterior, BOTH).boots
        width, length = posterior.design.offset_rows(np.array([0]))[0]
        variances = [row @ posterior.covariance @ row for row in (width, length)]
        assert abs(width @ posterior.covariance @ length) > 0.6 * np.sqrt(np.prod(variances))
        assert boot.unclear == ()

    def test_hooves_that_are_tight_on_one_axis_only_tell_the_axes_apart(self) -> None:
        sales = [sold(hoof(113.0, length, sd=0.5), outcome=Outcome.KEPT) for length in (112.0, 115.0, 117.5)] * 8
        sales += [sold(hoof(width, 115.0, sd=0.5), outcome=Outcome.KEPT) for width in (110.5, 113.0, 116.0)] * 8
        (boot,) = found(sales, BOTH, priors=self.KNOWN_READINGS).boots
        assert boot.unclear == ()

    def test_one_group_of_rough_readings_hides_the_offset_and_a_sure_one_shows_it(self) -> None:
        rough = Priors(bias_sd_mm=MappingProxyType({**dict.fromkeys(Method, 0.01), WEB.method: 3.0}))
        hooves = [hoof(width, 115.0, sd=1.0) for width in (109.0, 111.0, 113.0, 115.0, 117.0)] * 10
        words = [Outcome.TOO_LARGE, Outcome.KEPT, Outcome.KEPT, Outcome.KEPT, Outcome.TOO_SMALL] * 10
        for group, unclear in ((WEB, (Unclear.READINGS,)), (CLINIC, ())):
            sales = [sold(each, outcome=word, group=group) for each, word in zip(hooves, words, strict=True)]
            (boot,) = found(sales, BOTH, priors=rough).boots
            assert boot.unclear == unclear
