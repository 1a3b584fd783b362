"""Learning from outcomes: truth comes back, and does not where something is left out (fit-model, section 12)."""

from dataclasses import replace
from functools import cache
from itertools import pairwise
from types import MappingProxyType

import numpy as np
import pytest
from scipy.optimize import minimize_scalar
from scipy.special import expit, logit
from statsmodels.miscmodels.ordinal_model import OrderedModel
from tests.fit.selling import CLINIC, KNOWN_READINGS, OBSERVERS, WEB, Shop, alike, posterior, sold
from tests.fit.strategies import known, ladder, single

from hooflast.fit import outcome
from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import AnimalType, Axis, Limb, Method, Observer
from hooflast.fit.learned import Learned, learned_all
from hooflast.fit.learning import foretell, learn
from hooflast.fit.offset_prior import (
    OFFSET_SD_MM,
    Priors,
    design,
)
from hooflast.fit.outcome import OF_FIT, Channel, Outcome, ReadingGroup, Side
from hooflast.fit.outcome_chances import log_chances
from hooflast.fit.population import population
from hooflast.fit.sale import Sale, lay_out_sales
from hooflast.fit.sizes import SizeTable, size_table

ROUGH = ReadingGroup(method=Method.UNKNOWN, channel=Channel.COUNTER)
OBSERVERS[ROUGH] = Observer.PROFESSIONAL

WIDE = size_table([ladder(first=(130.0, 112.0), count=8)])
"""A boot model for wide hooves: those whose readings say so are, on average, less wide than they were read."""

TRUTH = (2.0, -1.0)


def offsets(sales: list[Sale], table: SizeTable, *, priors: Priors = KNOWN_READINGS) -> list[Learned]:
    """What is learned of the first boot model's width and length."""
    return list(learned_all(posterior(sales, table, priors=priors), table).boots[0].offsets.values())


@cache
def wide_hooves(count: int, *, seed: int) -> list[Sale]:
    """Boots sold for wide hooves in the size that was recommended, of a boot model whose sizes are off by TRUTH."""
    return Shop(table=WIDE, offsets=alike(WIDE, TRUTH), groups=(ROUGH,)).sell(count, seed=seed)


@cache
def both_groups() -> list[Sale]:
    return Shop(table=WIDE, offsets=alike(WIDE, TRUTH), groups=(CLINIC, WEB), biases={WEB: (1.0, 1.0)}).sell(60, seed=3)


def holds(learned: Learned, truth: float) -> bool:
    return learned.low <= truth <= learned.high


class TestTruthComesBack:
    @pytest.mark.parametrize("seed", range(3))
    def test_from_recommended_sizes_alone(self, seed: int) -> None:
        for found, truth in zip(offsets(wide_hooves(250, seed=seed), WIDE), TRUTH, strict=True):
            assert holds(found, truth)
            assert found.share > 0.8
            assert found.high - found.low < 3.0

    @pytest.mark.parametrize("left_out", ["spread of the reading", "population", "reading"])
    def test_but_not_where_something_is_left_out(self, left_out: str) -> None:
        kind = population(AnimalType.HORSE, limb=Limb.LF)

        def blind(sale: Sale) -> Sale:
            gain, estimate = sale.gains[0], sale.estimate
            read = kind.mean + np.linalg.solve(gain, estimate.means[0] - kind.mean)
            error = np.linalg.solve(gain, kind.covariance) - kind.covariance
            mean, covariance = {
                "spread of the reading": (read, 1e-6 * np.eye(2)),
                "population": (read, error),
                "reading": (kind.mean, kind.covariance),
            }[left_out]
            believed = Estimate(weights=np.ones(1), means=mean[None], covariances=covariance[None])
            return replace(sale, estimate=believed)

        sales = wide_hooves(250, seed=0)
        assert all(holds(found, truth) for found, truth in zip(offsets(sales, WIDE), TRUTH, strict=True))
        misled = offsets([blind(sale) for sale in sales], WIDE)
        assert not all(holds(found, truth) for found, truth in zip(misled, TRUTH, strict=True))
        assert max(abs(found.value - truth) for found, truth in zip(misled, TRUTH, strict=True)) > 1.0

    def test_of_what_readings_are_off_by_which_would_hide_a_boot_that_runs_small(self) -> None:
        table = size_table([ladder(first=(105.0 + at, 105.0 + at), count=9) for at in range(3)])
        small = np.where(table.boot_of[:, None] == 0, -2.0, 0.0) * np.ones(2)
        shop = Shop(
            table=table, offsets=small, boots=range(3), groups=(CLINIC, WEB, WEB, WEB), biases={WEB: (2.0, 2.0)}
        )
        sales = shop.sell(1200, seed=0)
        found = learned_all(posterior(sales, table, priors=Priors(), makers=(0, 1, 2)), table)
        for boot in found.boots:
            for learned in boot.offsets.values():
                assert holds(learned, -2.0 if boot.boot == 0 else 0.0)
        for learned in found.biases[WEB].values():
            assert holds(learned, 2.0)
            assert not holds(learned, 0.0)
        for learned in found.biases[CLINIC].values():
            assert holds(learned, 0.0)
        blind = learned_all(posterior(sales, table, priors=KNOWN_READINGS, makers=(0, 1, 2)), table)
        hidden, *others = ([learned.value for learned in boot.offsets.values()] for boot in blind.boots)
        assert np.mean(hidden) > -1.5
        assert np.mean(others) > 0.5
        assert not holds(blind.boots[0].offsets[Axis.WIDTH], -2.0)
        assert not any(holds(boot.offsets[Axis.WIDTH], 0.0) for boot in blind.boots[1:])

    def test_of_how_often_boots_are_kept_by_side(self) -> None:
        kept = {Side.FINE: 0.97, Side.LOOSE: 0.85, Side.TIGHT: 0.3}
        table = size_table([ladder(count=9)])
        shop = Shop(table=table, offsets=alike(table, (0.0, 0.0)), logits=logit(list(kept.values())))
        sales = shop.sell(700, seed=1)
        found = learned_all(posterior(sales, table, priors=Priors()), table).keeping
        assert all(holds(found[side], chance) for side, chance in kept.items())
        assert found[Side.LOOSE].low > outcome.USUALLY_KEPT[Side.LOOSE]
        assert found[Side.TIGHT].value > outcome.USUALLY_KEPT[Side.TIGHT]


class TestOrderedProbit:
    """With one axis, known clearance and returns that name their side, learning is an ordered probit."""

    RANGE = (110.0, 116.0)

    @pytest.fixture
    def verdicts(self, monkeypatch: pytest.MonkeyPatch):
        """Widths and verdicts (loose, in range, tight) of a size that runs 1.5 large, and the same as sales."""
        told = np.zeros((3, 3, 6))
        told[outcome.LOOSE, :, 1] = told[outcome.IN_RANGE, :, 2] = told[outcome.TIGHT, :, 0] = 1.0
        monkeypatch.setattr(outcome, "REASONS", told)
        table = size_table([single(self.RANGE, None)])
        assert table.edge_sd_mm[0, 0, 0] == table.edge_sd_mm[0, 0, 3]
        generator = np.random.default_rng(4)
        widths = generator.uniform(107.0, 122.0, size=300)
        made = table.edges_mm[0, 0, [0, 3]] + 1.5 + table.edge_sd_mm[0, 0, 0] * generator.standard_normal((300, 1))
        places = (widths[:, None] > made).sum(axis=1)
        words = (Outcome.TOO_LARGE, Outcome.KEPT, Outcome.TOO_SMALL)
        sales = [sold(known(width, 120.0), outcome=words[place]) for width, place in zip(widths, places, strict=True)]
        return table, widths, places, sales

    PRIORS = Priors(
        offset_sd_mm=1e3,
        bias_sd_mm=MappingProxyType(dict.fromkeys(Method, 0.0)),
        keeping_logit_sd=0.0,
        usually_kept_logits=(40.0, -40.0, -40.0),
    )

    def params(self, table: SizeTable, offset: float) -> np.ndarray:
        """Slope, first threshold and logarithm of the step to the second, as the model takes them."""
        sd, edges = table.edge_sd_mm[0, 0, 0], table.edges_mm[0, 0, [0, 3]] + offset
        return np.array([1.0 / sd, edges[0] / sd, np.log((edges[1] - edges[0]) / sd)])

    def test_its_log_likelihood_is_the_same(self, verdicts) -> None:
        table, widths, places, sales = verdicts
        model = OrderedModel(places, widths[:, None], distr="probit")
        for offset in (-1.0, 0.0, 1.5, 3.0):
            effects = np.array([offset, 0.0, 0.0, 0.0, *self.PRIORS.usually_kept_logits])
            found = log_chances(lay_out_sales(sales, table), np.broadcast_to(effects, (len(sales), 7)))
            assert found.values.sum() == pytest.approx(model.loglike(self.params(table, offset)), rel=1e-6)

    def test_its_offset_and_standard_error_are_the_same(self, verdicts) -> None:
        table, widths, places, sales = verdicts
        model = OrderedModel(places, widths[:, None], distr="probit")

        def cost(offset: float) -> float:
            return -model.loglike(self.params(table, offset))

        best = minimize_scalar(cost, bounds=(-5.0, 5.0), method="bounded", options={"xatol": 1e-8}).x
        step = 1e-3
        error = ((cost(best + step) - 2.0 * cost(best) + cost(best - step)) / step**2) ** -0.5
        (found,) = offsets(sales, table, priors=self.PRIORS)
        assert found.value == pytest.approx(best, abs=1e-4)
        assert (found.high - found.low) / (2.0 * 1.959964) == pytest.approx(error, rel=1e-3)

    def test_its_free_fit_finds_the_same_edges(self, verdicts) -> None:
        table, widths, places, sales = verdicts
        model = OrderedModel(places, widths[:, None], distr="probit")
        fitted = model.fit(method="bfgs", disp=False, start_params=self.params(table, 0.0))
        edges = model.transform_threshold_params(fitted.params)[1:-1] / fitted.params[0]
        (found,) = offsets(sales, table, priors=self.PRIORS)
        assert edges.mean() == pytest.approx(table.edges_mm[0, 0, [0, 3]].mean() + found.value, abs=0.3)
        assert 1.0 / fitted.params[0] == pytest.approx(table.edge_sd_mm[0, 0, 0], rel=0.25)


class TestPosterior:
    @pytest.fixture
    def sales(self) -> list[Sale]:
        return both_groups()

    def test_its_mode_is_its_highest_point(self, sales: list[Sale]) -> None:
        found = posterior(sales, WIDE, priors=Priors())

        def height(normals: np.ndarray) -> float:
            return log_chances(found.design.sales, found.design.effects(normals)).values.sum() - normals @ normals / 2

        generator = np.random.default_rng(0)
        top = height(found.mode)
        for _ in range(20):
            aside = 0.01 * generator.standard_normal(len(found.mode))
            fall = top - height(found.mode + aside)
            assert fall > 0.0
            assert fall == pytest.approx(0.5 * aside @ found.precision @ aside, rel=0.05)
        assert found.covariance @ found.precision == pytest.approx(np.eye(len(found.mode)), abs=1e-8)

    def test_the_order_of_sales_does_not_matter(self, sales: list[Sale]) -> None:
        plain, turned = (posterior(each, WIDE, priors=Priors()) for each in (sales, sales[::-1]))
        assert plain.mode == pytest.approx(turned.mode, abs=1e-6)
        assert plain.covariance == pytest.approx(turned.covariance, abs=1e-6)

    def test_it_is_the_same_every_time(self, sales: list[Sale]) -> None:
        one, other = (posterior(sales, WIDE, priors=Priors()) for _ in range(2))
        assert np.array_equal(one.mode, other.mode)

    def test_where_its_mode_is_looked_for_first_does_not_matter(self, sales: list[Sale]) -> None:
        found = posterior(sales, WIDE, priors=Priors())
        again = learn(found.design, start=found.mode + 0.3)
        assert again.mode == pytest.approx(found.mode, abs=1e-6)

    def test_where_its_mode_is_looked_for_first_it_stays_if_that_is_as_good(self, sales: list[Sale]) -> None:
        found = posterior(sales, WIDE, priors=Priors())
        near = found.mode + 1e-9
        assert learn(found.design, start=near).mode.tolist() == near.tolist()

    def test_more_outcomes_tell_more(self, sales: list[Sale]) -> None:
        shares = [min(found.share for found in offsets(sales[:count], WIDE, priors=Priors())) for count in (5, 20, 60)]
        assert all(fewer < more for fewer, more in pairwise(shares))

    def test_it_agrees_with_the_posterior_on_a_lattice(self) -> None:
        """One width offset: mean and spread by Laplace's method against summing over a fine lattice."""
        table = size_table([single((110.0, 116.0), None)])
        priors = replace(KNOWN_READINGS, keeping_logit_sd=0.0)
        words = [Outcome.KEPT] * 12 + [Outcome.TOO_SMALL] * 5 + [Outcome.TURNED] * 2
        sales = [
            sold(known(110.0 + at % 9, 100.0).changed(by_mm=np.zeros(2), covariance=4.0 * np.eye(2)), outcome=word)
            for at, word in enumerate(words)
        ]
        lattice = np.linspace(-8.0, 8.0, 801)
        laid = lay_out_sales(sales, table)
        height = np.array(
            [
                log_chances(
                    laid,
                    np.broadcast_to(np.array([at, 0, 0, 0, *outcome.USUALLY_KEPT_LOGITS]), (len(sales), 7)),
                ).values.sum()
                for at in lattice
            ]
        ) - lattice**2 / (2.0 * OFFSET_SD_MM**2)
        mass = np.exp(height - height.max())
        mass /= mass.sum()
        mean = mass @ lattice
        deviation = np.sqrt(mass @ (lattice - mean) ** 2)
        (found,) = offsets(sales, table, priors=priors)
        assert found.value == pytest.approx(lattice[np.argmax(height)], abs=0.02)
        assert found.value == pytest.approx(mean, abs=0.1)
        assert (found.high - found.low) / (2.0 * 1.959964) == pytest.approx(deviation, rel=0.05)


class TestForetelling:
    def test_before_any_outcome_it_averages_over_the_prior(self) -> None:
        table = size_table([single((110.0, 116.0), None)])
        sales = [sold(known(111.0, 100.0), outcome=word) for word in OF_FIT]
        layout = design(lay_out_sales(sales, table), table, makers=(0,), priors=KNOWN_READINGS)
        nothing = learn(layout.only(np.empty(0, dtype=int)))
        found = foretell(nothing, layout)
        generator = np.random.default_rng(2)
        drawn = generator.normal(0.0, OFFSET_SD_MM, size=4000)
        many = layout.sales.only(np.zeros(4000, dtype=int))
        effects = np.zeros((4000, 7)) + np.array([0, 0, 0, 0, *outcome.USUALLY_KEPT_LOGITS])
        effects[:, 0] = drawn
        assert found.kept[0] == pytest.approx(np.exp(log_chances(many, effects).values).mean(), abs=0.02)
        assert found.came_about.sum() == pytest.approx(1.0)
        assert found.came_about[0] == pytest.approx(found.kept[0])

    def test_readings_that_may_be_off_are_foretold_less_surely(self) -> None:
        table = size_table([single((110.0, 116.0), None)])
        wide = MappingProxyType(dict.fromkeys(Method, 3.0))
        chances = []
        for weight in (0.0, 1.0):
            sales = [sold(known(113.0, 100.0), outcome=Outcome.KEPT, gain=weight)]
            layout = design(lay_out_sales(sales, table), table, makers=(0,), priors=Priors(bias_sd_mm=wide))
            nothing = learn(layout.only(np.empty(0, dtype=int)))
            chances.append(foretell(nothing, layout).kept[0])
        assert chances[1] < chances[0] - 0.02

    def test_what_was_learned_is_foretold(self) -> None:
        table = size_table([single((110.0, 116.0), None)])

        def few(word: Outcome) -> list[Sale]:
            return [sold(known(113.0, 100.0), outcome=word)] * 30

        kept, small = (posterior(few(word), table, priors=KNOWN_READINGS) for word in (Outcome.KEPT, Outcome.TOO_SMALL))
        ask = design(lay_out_sales(few(Outcome.KEPT)[:1], table), table, makers=(0,), priors=KNOWN_READINGS)
        assert foretell(kept, ask).kept[0] > 0.9 > 0.5 > foretell(small, ask).kept[0]

    def test_keeping_is_told_by_its_logits(self) -> None:
        table = size_table([single((110.0, 116.0), None)])
        found = posterior([sold(known(113.0, 100.0), outcome=Outcome.KEPT)] * 50, table, priors=KNOWN_READINGS)
        effects = found.design.effects(found.mode)
        assert found.keeping_logits == pytest.approx(effects[0, 4:])
        assert expit(found.keeping_logits[0]) > outcome.USUALLY_KEPT[Side.FINE]


def test_outcomes_name_axes_in_one_order() -> None:
    found = learned_all(posterior([sold(known(132.0, 114.0), outcome=Outcome.KEPT)], WIDE, priors=Priors()), WIDE)
    assert list(found.boots[0].offsets) == [Axis.WIDTH, Axis.LENGTH]
    assert WIDE.closures == (Closure.PULL_ON,)
