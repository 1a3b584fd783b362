"""How likely outcomes are, in closed form: against quadrature, simulation and differences."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr
from tests.fit.selling import CLINIC
from tests.fit.strategies import bounded, charts, hoof, known, ladder, mixtures, normals, read, single

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.grid import hoof_grids
from hooflast.fit.hoof import AnimalType, Method, Observer
from hooflast.fit.outcome import IN_RANGE, LOOSE, OF_FIT, TIGHT, USUALLY_KEPT_LOGITS, Outcome, told_by
from hooflast.fit.outcome_chances import EFFECTS, LEAST_CHANCE, log_chances, place_chances
from hooflast.fit.population import population
from hooflast.fit.sale import Sale, Sales, estimate_gains, lay_out_sales, reading_gains
from hooflast.fit.sizes import SizeTable, size_table

NOWHERE = np.zeros(EFFECTS) + np.concatenate([np.zeros(4), USUALLY_KEPT_LOGITS])
outcomes = st.sampled_from(OF_FIT)
shifts_mm = st.lists(st.floats(-4.0, 4.0), min_size=2, max_size=2).map(np.array)
gains = st.lists(st.floats(-0.3, 1.0), min_size=4, max_size=4).map(lambda each: np.array(each).reshape(2, 2))


def sold(estimate: Estimate, *, outcome: Outcome = Outcome.KEPT, size: int = 0, gain: np.ndarray | None = None) -> Sale:
    parts = len(estimate.weights)
    given_gain = np.eye(2) if gain is None else gain
    return Sale(
        estimate=estimate,
        gains=np.broadcast_to(given_gain, (parts, 2, 2)),
        size=size,
        group=CLINIC,
        outcome=outcome,
    )


def chances(estimate: Estimate, table: SizeTable, *, effects: np.ndarray = NOWHERE) -> dict[Outcome, float]:
    """The chance of every outcome of the table's first size."""
    sales = lay_out_sales([sold(estimate, outcome=outcome) for outcome in OF_FIT], table)
    values = log_chances(sales, np.broadcast_to(effects, (len(OF_FIT), EFFECTS))).values
    return dict(zip(OF_FIT, np.exp(values), strict=True))


def places(sales: Sales, *, shift: np.ndarray, spread: np.ndarray) -> np.ndarray:
    parts = sales.weights.shape
    return place_chances(
        sales, shifts=np.broadcast_to(shift, (*parts, 2)), spreads=np.broadcast_to(spread, (*parts, 2, 2))
    )


@bounded
@given(mixtures(), charts())
def test_one_outcome_comes_about(estimate: Estimate, chart) -> None:
    assert sum(chances(estimate, size_table([chart])).values()) == pytest.approx(1.0, abs=1e-9)


@bounded
@given(mixtures(), charts(complete=True), shifts_mm)
def test_outcomes_agree_with_quadrature(estimate: Estimate, chart, offset: np.ndarray) -> None:
    table = size_table([chart])
    effects = NOWHERE + np.concatenate([offset, np.zeros(5)])
    edges, deviations = table.edges_mm[0][:, [0, 3]], table.edge_sd_mm[0][:, [0, 3]]
    told = told_by(np.arange(len(OF_FIT)), logits=np.broadcast_to(USUALLY_KEPT_LOGITS, (len(OF_FIT), 3)))
    expected = np.zeros(len(OF_FIT))
    for grid in hoof_grids(estimate):
        by_axis = []
        for axis, points in enumerate((grid.widths_mm, grid.lengths_mm)):
            past = ndtr((points[:, None] - offset[axis] - edges[axis]) / deviations[axis])
            by_axis.append(np.stack([1.0 - past[:, 0], past[:, 0] - past[:, 1], past[:, 1]]))
        expected += np.einsum("gh,ag,bh,oab->o", grid.mass, *by_axis, told)
    found = np.array(list(chances(estimate, table, effects=effects).values()))
    assert found == pytest.approx(expected, abs=2e-3)


def test_outcomes_agree_with_boots_and_hooves_drawn_one_by_one() -> None:
    table = size_table([single((110.0, 116.0), (112.0, 120.0), closure=Closure.STRAP)])
    estimate = hoof(112.0, 119.0, sd=(3.0, 4.0), correlation=0.4)
    generator = np.random.default_rng(0)
    count = 200_000
    hooves = generator.multivariate_normal(estimate.means[0], estimate.covariances[0], size=count)
    edges, deviations = table.edges_mm[0][:, [0, 3]], table.edge_sd_mm[0][:, [0, 3]]
    past = hooves[:, :, None] > edges + deviations * generator.standard_normal((count, 2, 2))
    width, length = past.sum(axis=2).T
    simulated = np.zeros((3, 3))
    np.add.at(simulated, (width, length), 1.0 / count)
    found = places(lay_out_sales([sold(estimate)], table), shift=np.zeros(2), spread=np.zeros((2, 2)))[0]
    assert found == pytest.approx(simulated, abs=4.0 * 0.5 / np.sqrt(count))


@bounded
@given(mixtures(), charts(), outcomes, gains, st.lists(st.floats(-3.0, 3.0), min_size=7, max_size=7))
def test_slopes_are_those_of_the_log_chances(estimate: Estimate, chart, outcome, gain, moved) -> None:
    sales = lay_out_sales([sold(estimate, outcome=outcome, gain=gain)], size_table([chart]))
    effects = NOWHERE + np.array(moved)
    found = log_chances(sales, effects[None])
    if found.values[0] < np.log(1e-4):
        return
    assert_slopes(sales, effects)


@pytest.mark.parametrize("correlation", [-0.6, 0.8])
@pytest.mark.parametrize("outcome", [Outcome.TOO_SMALL, Outcome.TOO_LARGE, Outcome.KEPT])
def test_slopes_hold_where_width_and_length_belong_together(correlation: float, outcome: Outcome) -> None:
    """A hoof at the corner of a range."""
    estimate = hoof(115.5, 119.0, sd=(2.0, 3.0), correlation=correlation)
    table = size_table([single((110.0, 116.0), (112.0, 120.0))])
    sales = lay_out_sales([sold(estimate, outcome=outcome, gain=np.array([[0.8, 0.1], [-0.2, 0.7]]))], table)
    assert_slopes(sales, NOWHERE)


def assert_slopes(sales: Sales, effects: np.ndarray) -> None:
    """Gradients and Hessians are the differences of values and gradients."""
    found = log_chances(sales, effects[None])
    step = 1e-4
    for effect in range(EFFECTS):
        aside = step * np.eye(EFFECTS)[effect]
        above, below = (log_chances(sales, (effects + sign * aside)[None]) for sign in (1, -1))
        numeric = (above.values - below.values) / (2.0 * step)
        assert found.gradients[:, effect] == pytest.approx(numeric, abs=1e-5, rel=1e-4)
        numeric = (above.gradients - below.gradients) / (2.0 * step)
        assert found.hessians[:, effect] == pytest.approx(numeric, abs=1e-4, rel=1e-3)


@bounded
@given(normals(), charts(complete=True), shifts_mm, outcomes)
def test_only_the_hoof_less_the_offset_matters(estimate: Estimate, chart, offset: np.ndarray, outcome) -> None:
    table = size_table([chart])
    moved = estimate.changed(by_mm=offset, covariance=np.zeros((2, 2)))
    effects = NOWHERE + np.concatenate([offset, np.zeros(5)])
    assert chances(moved, table, effects=effects)[outcome] == pytest.approx(chances(estimate, table)[outcome], abs=1e-9)


@bounded
@given(normals(), charts(), gains, shifts_mm, outcomes)
def test_readings_that_run_high_act_like_an_offset_by_what_they_weigh(estimate, chart, gain, bias, outcome) -> None:
    sales = lay_out_sales([sold(estimate, outcome=outcome, gain=gain)], size_table([chart]))
    by_bias = NOWHERE + np.concatenate([np.zeros(2), bias, np.zeros(3)])
    by_offset = NOWHERE + np.concatenate([gain @ bias, np.zeros(5)])
    assert log_chances(sales, by_bias[None]).values == pytest.approx(log_chances(sales, by_offset[None]).values)


@bounded
@given(normals(), shifts_mm)
def test_a_size_that_runs_larger_is_tight_less_often_and_loose_more_often(estimate, offset) -> None:
    table = size_table([single((105.0, 135.0), (105.0, 135.0))])
    before, after = (
        places(lay_out_sales([sold(estimate)], table), shift=shift, spread=np.zeros((2, 2)))[0]
        for shift in (np.zeros(2), np.abs(offset))
    )
    assert after[TIGHT].sum() <= before[TIGHT].sum() + 1e-12
    assert after[LOOSE].sum() >= before[LOOSE].sum() - 1e-12
    assert after[:, TIGHT].sum() <= before[:, TIGHT].sum() + 1e-12
    assert after[:, LOOSE].sum() >= before[:, LOOSE].sum() - 1e-12


@bounded
@given(mixtures(), charts(complete=True), st.sampled_from([Outcome.KEPT, Outcome.TOO_SMALL, Outcome.WRONG_SHAPE]))
def test_width_and_length_may_change_places_where_the_words_do_not_tell_them_apart(estimate, chart, outcome) -> None:
    table = size_table([chart])
    swapped = replace(table, edges_mm=table.edges_mm[:, ::-1], edge_sd_mm=table.edge_sd_mm[:, ::-1])
    turned = Estimate(
        weights=estimate.weights, means=estimate.means[:, ::-1], covariances=estimate.covariances[:, ::-1, ::-1]
    )
    assert chances(turned, swapped)[outcome] == pytest.approx(chances(estimate, table)[outcome], abs=1e-10)


@bounded
@given(mixtures(), charts(complete=True), shifts_mm, st.floats(0.1, 3.0))
def test_what_is_unknown_of_an_offset_is_averaged_over(estimate, chart, offset, deviation) -> None:
    sales = lay_out_sales([sold(estimate)], size_table([chart]))
    whole = places(sales, shift=offset, spread=deviation**2 * np.eye(2))
    nodes, weights = np.polynomial.hermite_e.hermegauss(16)
    weights = weights / weights.sum()
    many = sales.only(np.zeros(len(nodes) ** 2, dtype=int))
    apart = np.stack(np.meshgrid(nodes, nodes, indexing="ij"), axis=-1).reshape(-1, 1, 2)
    shifts = np.broadcast_to(offset + deviation * apart, (*many.weights.shape, 2))
    at_each = place_chances(many, shifts=shifts, spreads=np.zeros((*many.weights.shape, 2, 2)))
    averaged = np.einsum("n,nab->ab", np.outer(weights, weights).ravel(), at_each)[None]
    assert whole == pytest.approx(averaged, abs=2e-3)
    assert whole.sum() == pytest.approx(1.0, abs=1e-9)


def test_a_hoof_that_is_all_but_known_has_its_place() -> None:
    table = size_table([single((110.0, 116.0), (112.0, 120.0))])
    for width, at_width in ((90.0, LOOSE), (113.0, IN_RANGE), (140.0, TIGHT)):
        for length, at_length in ((90.0, LOOSE), (116.0, IN_RANGE), (140.0, TIGHT)):
            sales = lay_out_sales([sold(known(width, length))], table)
            found = places(sales, shift=np.zeros(2), spread=np.zeros((2, 2)))[0]
            assert found[at_width, at_length] == pytest.approx(1.0, abs=0.01)


@pytest.mark.parametrize("far", [0.0, 1e3])
def test_an_axis_that_the_chart_leaves_out_is_always_in_range(far: float) -> None:
    table = size_table([single((110.0, 116.0), None)])
    sales = lay_out_sales([sold(hoof(113.0, 116.0 + far))], table)
    found = places(sales, shift=np.zeros(2), spread=np.zeros((2, 2)))[0]
    assert found[:, IN_RANGE].sum() == pytest.approx(1.0)
    slopes = log_chances(sales, NOWHERE[None])
    assert slopes.gradients[0, 1] == pytest.approx(0.0, abs=1e-300)


def test_no_outcome_is_impossible() -> None:
    """Far from every range the edges' different sharpness leaves nothing, and its logarithm stays finite."""
    table = size_table([single((110.0, 116.0), (112.0, 120.0), closure=Closure.CABLE)])
    sales = lay_out_sales([sold(known(400.0, 400.0), outcome=Outcome.CAME_OFF)], table)
    never = NOWHERE + np.concatenate([np.zeros(4), np.array([800.0, 0.0, 800.0])])
    assert log_chances(sales, never[None]).values[0] >= np.log(LEAST_CHANCE)


def test_parts_that_a_hoof_lacks_change_nothing() -> None:
    table = size_table([ladder(count=3)])
    plain, mixed = (
        hoof(104.0, 106.0),
        estimate_hoof(read(104.0, 106.0, observer=Observer.OWNER, method=Method.TAPE), animal_type=AnimalType.PONY),
    )
    alone = lay_out_sales([sold(plain)], table)
    beside = lay_out_sales([sold(plain), sold(mixed)], table)
    assert beside.weights.shape == (2, 4)
    effects = np.broadcast_to(NOWHERE, (2, EFFECTS))
    assert log_chances(beside, effects).values[0] == pytest.approx(log_chances(alone, effects[:1]).values[0])


@bounded
@given(st.permutations(range(6)))
def test_every_sale_is_foretold_by_itself(order: list[int]) -> None:
    table = size_table([ladder(count=3)])
    each = [
        sold(hoof(102.0 + at, 104.0 + at), outcome=OF_FIT[at], size=at % 3, gain=0.1 * at * np.eye(2))
        for at in range(6)
    ]
    effects = NOWHERE + np.random.default_rng(0).normal(size=(6, EFFECTS))
    plain = log_chances(lay_out_sales(each, table), effects)
    turned = log_chances(lay_out_sales([each[at] for at in order], table), effects[order])
    assert turned.values == pytest.approx(plain.values[order])
    assert lay_out_sales(each, table).only(np.array(order)).sizes.tolist() == [each[at].size for at in order]


def test_some_of_the_sales_are_those_sales() -> None:
    table = size_table([ladder(count=3)])
    each = [sold(hoof(102.0 + at, 104.0), outcome=OF_FIT[at], size=at, gain=at * np.eye(2)) for at in range(3)]
    some, those = lay_out_sales(each, table).only(np.array([2, 0])), lay_out_sales([each[2], each[0]], table)
    for name in Sales.__slots__:
        assert np.array_equal(getattr(some, name), getattr(those, name)), name


@given(st.floats(95.0, 150.0), st.floats(95.0, 150.0), st.sampled_from(Method), st.sampled_from(Observer))
def test_a_reading_weighs_as_much_as_its_estimate_moves(width, length, method, observer) -> None:
    """∂mean/∂reading of every part is its gain, by differences."""
    step = 0.5
    reading = read(width, length, method=method, observer=observer)
    found = reading_gains(reading, animal_type=AnimalType.HORSE)
    plain = estimate_hoof(reading, animal_type=AnimalType.HORSE)
    for axis, moved in enumerate(
        (
            read(width + step, length, method=method, observer=observer),
            read(width, length + step, method=method, observer=observer),
        )
    ):
        change = estimate_hoof(moved, animal_type=AnimalType.HORSE).means - plain.means
        assert found[:, :, axis] == pytest.approx(change / step, abs=1e-8)
    from_estimate = estimate_gains(plain, animal_type=AnimalType.HORSE, limb=reading.limb)
    assert from_estimate == pytest.approx(found, abs=1e-9)


def test_a_hoof_of_which_nothing_was_read_weighs_no_reading() -> None:
    kind = population(AnimalType.HORSE, limb=read(1.0, 1.0).limb)
    unread = Estimate(weights=np.ones(1), means=kind.mean[None], covariances=kind.covariance[None])
    found = estimate_gains(unread, animal_type=AnimalType.HORSE, limb=read(1.0, 1.0).limb)
    assert found == pytest.approx(np.zeros((1, 2, 2)), abs=1e-12)


def test_no_sales_are_laid_out_as_none() -> None:
    nothing = lay_out_sales([], size_table([ladder(count=3)]))
    assert nothing.weights.shape == (0, 1)
    assert nothing.edges_mm.shape == (0, 2, 3)
    assert nothing.sizes.dtype == nothing.outcomes.dtype == np.intp
    assert log_chances(nothing, np.empty((0, EFFECTS))).values.shape == (0,)
