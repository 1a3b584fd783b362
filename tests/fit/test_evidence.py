"""Evidence on held-out outcomes: scores, the bar, and chances against what came about."""

from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fit.selling import CLINIC, Shop
from tests.fit.strategies import known, ladder, single

from hooflast.fit.evidence import (
    FOLDS,
    LEAST_IN_BIN,
    LEAST_OUTCOMES,
    LEAST_RETURNS,
    MOST_BINS,
    UNLIKELY,
    Bar,
    Evidence,
    HeldOut,
    Reliability,
    evidence,
    folds,
    hold_out,
    reliability,
)
from hooflast.fit.learning import foretell, learn
from hooflast.fit.offset_prior import Priors, design
from hooflast.fit.outcome import Outcome
from hooflast.fit.sale import Sale, Sales, lay_out_sales
from hooflast.fit.sizes import size_table

THREE = size_table([ladder(first=(105.0 + at, 105.0 + at), count=9) for at in range(3)])
OFF = np.where(THREE.boot_of[:, None] == 0, (3.0, -2.0), (0.0, 0.0))


@cache
def shop_sales() -> Sales:
    """One boot model in three is off its chart."""
    return lay_out_sales(Shop(table=THREE, offsets=OFF, boots=range(3)).sell(450, seed=5), THREE)


@cache
def shop_held_out() -> HeldOut:
    sales = shop_sales()
    return hold_out(sales, THREE, makers=(0, 1, 2), priors=Priors(), orders=range(len(sales.sizes)))


def told(*words: Outcome) -> Sales:
    table = size_table([single((110.0, 116.0), None)])
    gains = np.zeros((1, 2, 2))
    return lay_out_sales(
        [Sale(estimate=known(113.0, 115.0), gains=gains, size=0, group=CLINIC, outcome=word) for word in words], table
    )


def seen(*, outcomes: int = 100, returns: int = 20, gain: float = 0.05, error: float = 0.01) -> Evidence:
    return Evidence(outcomes=outcomes, returns=returns, gain=gain, error=error)


class TestFolds:
    @given(st.lists(st.integers(0, 12), max_size=40))
    def test_an_order_is_never_parted(self, orders: list[int]) -> None:
        fold = folds(orders)
        for order in set(orders):
            assert len({fold[row] for row, one in enumerate(orders) if one == order}) == 1
        assert all(0 <= one < FOLDS for one in fold)

    def test_orders_are_dealt_out_in_turn(self) -> None:
        assert folds(range(12)).tolist() == [0, 1, 2, 3, 4, 0, 1, 2, 3, 4, 0, 1]
        assert folds(["a", "b", "a", "c"]).tolist() == [0, 1, 0, 2]
        assert folds(()).dtype == np.intp


class TestHoldingOut:
    def test_offsets_that_are_true_foretell_better_and_those_that_are_not_do_not(self) -> None:
        sales, held_out = shop_sales(), shop_held_out()
        boot_of = THREE.boot_of[sales.sizes]
        orders = range(len(boot_of))
        off, *right = (
            evidence(held_out, sales, rows=np.flatnonzero(boot_of == boot), orders=orders) for boot in range(3)
        )
        assert off.bar is Bar.OVER
        assert off.error > 0.0
        assert all(one.gain < off.gain / 3.0 for one in right)

    def test_an_outcome_has_no_part_in_its_own_forecast(self) -> None:
        words = [Outcome.KEPT, Outcome.TOO_SMALL, Outcome.KEPT, Outcome.TOO_LARGE, Outcome.KEPT, Outcome.RUBBED] * 3
        table = size_table([single((110.0, 116.0), None)])

        def foretold(*each: Outcome) -> np.ndarray:
            orders = range(len(each))
            return hold_out(told(*each), table, makers=(0,), priors=Priors(), orders=orders).kept

        plain, changed = foretold(*words), foretold(Outcome.TURNED, *words[1:])
        assert changed[0] == pytest.approx(plain[0], abs=1e-6)
        assert changed[5] == pytest.approx(plain[5], abs=1e-6)
        assert abs(changed[1] - plain[1]) > 1e-4

    def test_gains_are_log_chances_with_offsets_less_those_without(self) -> None:
        words = [Outcome.KEPT, Outcome.TOO_SMALL, Outcome.TOO_SMALL, Outcome.TOO_SMALL, Outcome.KEPT] * 2
        table = size_table([single((110.0, 116.0), None)])
        sales = told(*words)
        held_out = hold_out(sales, table, makers=(0,), priors=Priors(), orders=range(len(words)))
        asked, taught = np.array([1, 6]), np.setdiff1d(np.arange(len(words)), [1, 6])
        by_offset = []
        for spread in (2.0, 0.0):
            layout = design(sales, table, makers=(0,), priors=Priors(offset_sd_mm=spread))
            by_offset.append(foretell(learn(layout.only(taught)), layout.only(asked)))
        expected = np.log(by_offset[0].came_about) - np.log(by_offset[1].came_about)
        assert held_out.gains[asked] == pytest.approx(expected, abs=1e-6)
        assert held_out.kept[asked] == pytest.approx(by_offset[0].kept, abs=1e-6)

    def test_nothing_can_be_held_out_of_nothing(self) -> None:
        table = size_table([single((110.0, 116.0), None)])
        held_out = hold_out(told(), table, makers=(0,), priors=Priors(), orders=())
        assert len(held_out.gains) == len(held_out.kept) == 0


class TestEvidence:
    def test_it_is_the_mean_gain_and_its_standard_error_over_orders(self) -> None:
        words = [Outcome.KEPT, Outcome.TOO_SMALL, Outcome.RUBBED, Outcome.KEPT, Outcome.TURNED]
        held_out = HeldOut(gains=np.array([0.1, 0.3, -0.1, 9.0, 0.5]), kept=np.full(5, 0.5))
        found = evidence(held_out, told(*words), rows=np.array([0, 1, 2, 4]), orders=["a", "a", "b", "x", "c"])
        sums = np.array([0.4, -0.1, 0.5])
        assert (found.outcomes, found.returns) == (4, 3)
        assert found.gain == pytest.approx(sums.sum() / 4.0)
        assert found.error == pytest.approx(np.sqrt(3.0) * sums.std(ddof=1) / 4.0)

    def test_boots_of_one_order_are_no_further_evidence(self) -> None:
        words = [Outcome.KEPT] * 8
        gains = np.repeat([0.1, 0.3, -0.1, 0.5], 2)
        held_out = HeldOut(gains=gains, kept=np.full(8, 0.5))
        apart, together = (
            evidence(held_out, told(*words), rows=np.arange(8), orders=orders)
            for orders in (range(8), [0, 0, 1, 1, 2, 2, 3, 3])
        )
        assert together.gain == pytest.approx(apart.gain)
        assert together.error > 1.3 * apart.error

    def test_one_order_alone_has_no_error_to_tell(self) -> None:
        held_out = HeldOut(gains=np.array([0.2, 0.4]), kept=np.full(2, 0.5))
        found = evidence(held_out, told(Outcome.KEPT, Outcome.KEPT), rows=np.arange(2), orders=["a", "a"])
        assert found.gain == pytest.approx(0.3)
        assert found.error == 0.0

    def test_two_orders_have_one(self) -> None:
        held_out = HeldOut(gains=np.array([0.2, 0.4]), kept=np.full(2, 0.5))
        found = evidence(held_out, told(Outcome.KEPT, Outcome.KEPT), rows=np.arange(2), orders=["a", "b"])
        assert found.error == pytest.approx(np.sqrt(2.0) * np.std([0.2, 0.4], ddof=1) / 2.0)

    @pytest.mark.parametrize(
        ("one", "bar"),
        [
            (seen(), Bar.OVER),
            (seen(outcomes=LEAST_OUTCOMES, returns=LEAST_RETURNS), Bar.OVER),
            (seen(outcomes=LEAST_OUTCOMES - 1), Bar.FEW_OUTCOMES),
            (seen(returns=LEAST_RETURNS - 1), Bar.FEW_RETURNS),
            (seen(outcomes=LEAST_OUTCOMES - 1, returns=LEAST_RETURNS - 1), Bar.FEW_OUTCOMES),
            (seen(gain=0.01, error=0.01), Bar.NO_GAIN),
            (seen(gain=0.0101, error=0.01), Bar.OVER),
            (seen(gain=-0.05), Bar.NO_GAIN),
            (seen(gain=0.0, error=0.0), Bar.NO_GAIN),
        ],
    )
    def test_the_bar_asks_for_outcomes_returns_and_a_gain_beyond_its_error(self, one: Evidence, bar: Bar) -> None:
        assert one.bar is bar


class TestReliability:
    def outcome(self, chances: np.ndarray, *, seed: int, truth: np.ndarray | None = None) -> Reliability:
        drawn = np.random.default_rng(seed).random(len(chances)) < (chances if truth is None else truth)
        words = [Outcome.KEPT if kept else Outcome.TOO_LARGE for kept in drawn]
        return reliability(HeldOut(gains=np.zeros(len(chances)), kept=chances), told(*words))

    def test_bins_hold_every_outcome_once_from_unlikely_to_likely(self) -> None:
        chances = np.random.default_rng(0).uniform(0.2, 0.9, 230)
        found = self.outcome(chances, seed=1)
        assert sum(one.outcomes for one in found.bins) == 230
        assert len(found.bins) == MOST_BINS
        foretold = [one.foretold for one in found.bins]
        assert foretold == sorted(foretold)
        assert np.average(foretold, weights=[one.outcomes for one in found.bins]) == pytest.approx(chances.mean())

    @pytest.mark.parametrize(("count", "bins"), [(1, 1), (LEAST_IN_BIN * 2 - 1, 1), (LEAST_IN_BIN * 2, 2), (900, 10)])
    def test_there_are_as_many_bins_as_outcomes_fill(self, count: int, bins: int) -> None:
        assert len(self.outcome(np.full(count, 0.5), seed=0).bins) == bins

    def test_one_bin_by_hand(self) -> None:
        words = [Outcome.KEPT] * 3 + [Outcome.TOO_SMALL]
        found = reliability(HeldOut(gains=np.zeros(4), kept=np.array([0.5, 0.5, 0.8, 0.8])), told(*words))
        (one,) = found.bins
        assert (one.outcomes, one.kept) == (4, 0.75)
        assert one.foretold == pytest.approx(0.65)
        statistic = (3.0 - 2.6) ** 2 / (2 * 0.25 + 2 * 0.16)
        assert found.likelihood == pytest.approx(2.0 * (1.0 - _normal(np.sqrt(statistic))), abs=1e-9)

    def test_like_chances_are_binned_as_they_come(self) -> None:
        words = [Outcome.TURNED, *([Outcome.KEPT] * 20 + [Outcome.TURNED] * 20) * 2]
        chances = np.concatenate([[0.9], np.full(80, 0.5)])
        found = reliability(HeldOut(gains=np.zeros(81), kept=chances), told(*words))
        assert [one.kept for one in found.bins] == [pytest.approx(20 / 21), pytest.approx(0.05), 0.95, 0.0]

    def test_like_chances_are_binned_as_they_come_whatever_comes_before_them(self) -> None:
        words = ([Outcome.KEPT] * 25 + [Outcome.TURNED] * 25) * 2
        found = reliability(HeldOut(gains=np.zeros(100), kept=np.repeat([0.5, 0.4], 50)), told(*words))
        assert [one.outcomes for one in found.bins] == [20] * 5
        assert [one.kept for one in found.bins] == pytest.approx([1.0, 0.25, 0.5, 0.75, 0.0])

    def test_a_bin_counts_for_one_degree_of_freedom_whatever_is_left_over(self) -> None:
        words = [Outcome.KEPT] * 20 + [Outcome.TURNED] * 15
        found = reliability(HeldOut(gains=np.zeros(35), kept=np.full(35, 0.5)), told(*words))
        assert found.likelihood == pytest.approx(2.0 * (1.0 - _normal(2.5 / np.sqrt(35 * 0.25))), abs=1e-9)

    def test_chances_that_hold_are_borne_out_as_often_as_they_should(self) -> None:
        chances = np.random.default_rng(0).uniform(0.3, 0.95, 300)
        likelihoods = np.array([self.outcome(chances, seed=seed).likelihood for seed in range(150)])
        assert likelihoods.mean() == pytest.approx(0.5, abs=0.1)
        assert (likelihoods < 0.1).mean() == pytest.approx(0.1, abs=0.08)

    def test_chances_that_do_not_hold_are_found_out(self) -> None:
        chances = np.random.default_rng(0).uniform(0.3, 0.95, 300)
        found = self.outcome(chances, seed=1, truth=chances - 0.2)
        assert not found.borne_out
        assert self.outcome(chances, seed=1).borne_out

    @pytest.mark.parametrize(("likelihood", "borne_out"), [(UNLIKELY, True), (UNLIKELY * 0.99, False)])
    def test_only_unlikely_gaps_count(self, likelihood: float, borne_out: bool) -> None:
        assert Reliability(bins=(), likelihood=likelihood).borne_out is borne_out

    def test_a_sure_chance_that_fails_is_found_out(self) -> None:
        found = reliability(HeldOut(gains=np.zeros(2), kept=np.ones(2)), told(Outcome.KEPT, Outcome.TOO_SMALL))
        assert found.likelihood == 0.0

    def test_what_was_learned_is_borne_out(self) -> None:
        assert reliability(shop_held_out(), shop_sales()).borne_out


def _normal(x: float) -> float:
    from scipy.stats import norm

    return float(norm.cdf(x))
