"""Lattices: they carry the hoof's distribution, and expectations of a maximum on them hold as stated."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.grid import MOST_POINTS, NEGLIGIBLE, hoof_grids, steps_on
from hooflast.fit.hoof import AnimalType, HoofState, Method, Observer
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import compare_boots
from hooflast.fit.sizes import BootChart, SizeTable, size_table

from .reference import expectation_along, sample
from .strategies import animal_types, bounded, closures, hoof, known, ladder, mixture, mixtures, read, readings, single

WITHIN = 1e-3
"""The accuracy stated for expectations of a maximum."""

WITHIN_ALONG_ONE_AXIS = 5e-3
"""The same for a chart of one axis."""

HOOVES = {
    "calliper": estimate_hoof(read(124.0, 127.0), animal_type=AnimalType.HORSE),
    "tape": estimate_hoof(read(122.3, 126.1, method=Method.TAPE), animal_type=AnimalType.HORSE),
    "owner": estimate_hoof(
        read(124.0, 127.0, method=Method.UNKNOWN, observer=Observer.OWNER), animal_type=AnimalType.HORSE
    ),
    "owner with a calliper": estimate_hoof(read(117.0, 119.0, observer=Observer.OWNER), animal_type=AnimalType.PONY),
    "stale and flared": estimate_hoof(
        read(124.0, 127.0, states=[HoofState.FLARE, HoofState.LONG_TOE], age_weeks=16.0), animal_type=AnimalType.HORSE
    ),
    "slip": estimate_hoof(
        read(160.0, 126.0, method=Method.RULER, observer=Observer.OWNER), animal_type=AnimalType.HORSE
    ),
}
hooves = pytest.mark.parametrize("mixed", HOOVES.values(), ids=HOOVES.keys())


def some_fits(mixed: Estimate, table: SizeTable) -> float:
    return float(compare_boots(mixed, table, boots=np.array([0])).some_fits[0])


def acceptance(table: SizeTable, points: Floats, *, axis: int) -> Floats:
    """Acceptance of each size at some points along one axis, (N, G)."""
    edges, spreads = table.edges_mm[:, axis, [0, 3], None], table.edge_sd_mm[:, axis, [0, 3], None]
    passed = ndtr((points - edges) / spreads)
    return np.maximum(passed[:, 0] - passed[:, 1], 0.0)


def handovers(table: SizeTable, *, axis: int) -> list[float]:
    """Where one size's acceptance gives way to the next one's."""
    fine = np.linspace(90.0, 180.0, 9001)
    return fine[np.flatnonzero(np.diff(acceptance(table, fine, axis=axis).argmax(axis=0)))].tolist()


class TestDistribution:
    @bounded
    @given(readings(), animal_types)
    def test_the_masses_of_all_lattices_add_up_to_one(self, reading, animal_type):
        grids = hoof_grids(estimate_hoof(reading, animal_type=animal_type))
        assert sum(grid.mass.sum() for grid in grids) == pytest.approx(1.0)
        assert all(grid.mass.min() >= 0.0 for grid in grids)

    @bounded
    @given(readings(), animal_types)
    def test_the_moments_are_those_of_the_hoof(self, reading, animal_type):
        """Mean to 0.02 mm, covariance to half a per cent: what is cut off beyond 4.5 standard deviations, and of parts
        that weigh next to nothing."""
        mixed = estimate_hoof(reading, animal_type=animal_type)
        mean, second = np.zeros(2), np.zeros((2, 2))
        for grid in hoof_grids(mixed):
            points = np.stack(np.meshgrid(grid.widths_mm, grid.lengths_mm, indexing="ij"), axis=-1) - mixed.mean
            mean += np.einsum("gh,ghi->i", grid.mass, points)
            second += np.einsum("gh,ghi,ghj->ij", grid.mass, points, points)
        assert mean == pytest.approx([0.0, 0.0], abs=0.02)
        spread = np.sqrt(np.diag(mixed.covariance))
        assert (second - mixed.covariance) / np.outer(spread, spread) == pytest.approx(np.zeros((2, 2)), abs=5e-3)

    @bounded
    @given(mixtures())
    def test_points_are_evenly_spaced_around_each_part(self, mixed):
        for grid, mean in zip(hoof_grids(mixed), mixed.means, strict=True):
            for points, middle in ((grid.widths_mm, mean[0]), (grid.lengths_mm, mean[1])):
                assert np.ptp(np.diff(points)) == pytest.approx(0.0, abs=1e-9)
                assert points.mean() == pytest.approx(middle)

    @pytest.mark.parametrize(("weight", "count"), [(1.0, 61), (0.25, 31)])
    def test_the_spacing_is_as_stated_for_a_part_s_spread_and_weight(self, weight, count):
        """0.3 √(4 / weight) over nine standard deviations of 4."""
        parts = [hoof(120.0, 120.0, sd=4.0), hoof(140.0, 140.0, sd=4.0)]
        grid = hoof_grids(mixture(parts, weights=[weight, 1.0 - weight]))[0]
        assert grid.mass.shape == (count, count)

    def test_a_slanting_hoof_has_two_points_for_each_standard_deviation_of_one_axis_given_the_other(self):
        """4 √(1 − 0.99²) is 0.564, half of it 0.282, which goes 127.6 times into nine standard deviations of 4."""
        (grid,) = hoof_grids(hoof(120.0, 120.0, sd=4.0, correlation=0.99))
        assert grid.mass.shape == (129, 129)

    def test_a_part_that_weighs_next_to_nothing_is_left_out(self):
        parts = [hoof(120.0, 120.0), hoof(160.0, 160.0)]
        (grid,) = hoof_grids(mixture(parts, weights=[1.0, NEGLIGIBLE / 2.0]))
        assert grid.mass.sum() == pytest.approx(1.0)
        assert grid.widths_mm.max() < 130.0

    def test_a_hoof_known_along_a_slanting_line_keeps_its_lattice_within_bounds(self):
        (grid,) = hoof_grids(hoof(120.0, 120.0, sd=8.0, correlation=0.99999))
        assert grid.mass.shape == (MOST_POINTS, MOST_POINTS)
        assert grid.mass.sum() == pytest.approx(1.0)


class TestSharpSteps:
    def test_a_step_sharper_than_the_lattice_is_its_mean_over_one_spacing(self):
        """An even distribution over a spacing of 2 has the standard deviation 2/√12 (JCGM 100:2008, 4.3.7)."""
        points = np.array([100.0, 102.0, 104.0])
        found = steps_on(points, edges_mm=np.array([[101.5, 103.0]]), edge_sd_mm=np.array([[0.0, 5.0]]))
        assert found[0, :, 0] == pytest.approx(ndtr((points - 101.5) / (2.0 / np.sqrt(12.0))))
        assert found[0, :, 1] == pytest.approx(ndtr((points - 103.0) / 5.0))


class TestExpectedMaximum:
    """Each size's chance is one closed form; their maximum has none, but for the cases here."""

    @hooves
    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.STRAP])
    def test_for_one_size_it_is_the_fit_chance(self, mixed, closure):
        for start in np.linspace(110.0, 124.0, 8):
            table = size_table([ladder(closure=closure, first=(start, start + 2.0), count=1)])
            corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
            chance = float(expected_worth(corners, steps=ACCEPTED)[0])
            assert some_fits(mixed, table) == pytest.approx(chance, abs=WITHIN)

    @hooves
    @pytest.mark.parametrize("axis", [0, 1], ids=["width", "length"])
    @pytest.mark.parametrize("offset", [0.0, 1.3, 2.9])
    def test_along_one_axis_it_agrees_with_quadrature(self, mixed, axis, offset):
        full = ladder(first=(95.0 + offset, 95.0 + offset), count=14)
        none = [None] * 14
        chart = BootChart(
            closure=full.closure,
            widths_mm=full.widths_mm if axis == 0 else none,
            lengths_mm=full.lengths_mm if axis == 1 else none,
        )
        table = size_table([chart])
        exact = expectation_along(
            mixed,
            lambda x: float(acceptance(table, np.array([x]), axis=axis).max()),
            axis=axis,
            breaks=handovers(table, axis=axis),
        )
        assert some_fits(mixed, table) == pytest.approx(exact, abs=WITHIN_ALONG_ONE_AXIS)

    @hooves
    @pytest.mark.parametrize("closure", [Closure.PULL_ON, Closure.CABLE])
    def test_over_both_axes_it_agrees_with_simulated_hooves(self, mixed, closure):
        """200 000 hooves: within 1e-3 and four standard errors of the simulation."""
        table = size_table([ladder(closure=closure, first=(96.3, 98.1), count=14)])
        drawn = sample(mixed, count=200_000, rng=np.random.default_rng(5))
        accepted = acceptance(table, drawn[:, 0], axis=0) * acceptance(table, drawn[:, 1], axis=1)
        best = accepted.max(axis=0)
        error = 4.0 * best.std() / np.sqrt(len(best))
        assert some_fits(mixed, table) == pytest.approx(best.mean(), abs=WITHIN + error)

    @bounded
    @given(st.floats(100.0, 140.0), closures)
    def test_of_a_known_hoof_it_is_the_largest_acceptance_there(self, width, closure):
        table = size_table([ladder(closure=closure, first=(95.0, 95.0), count=10)])
        both = acceptance(table, np.array([width]), axis=0) * acceptance(table, np.array([width]), axis=1)
        assert some_fits(known(width, width), table) == pytest.approx(float(both.max()), abs=1e-6)

    @hooves
    def test_boots_made_all_alike_have_edges_that_no_lattice_may_miss(self, mixed):
        """The tight side in length is then a step without any width; its place between two points must count."""
        for start in np.linspace(118.0, 122.0, 9):
            chart = replace(single(None, (start - 9.0, start)), make_sd_mm=0.0)
            table = size_table([chart])
            corners = corner_chances(mixed, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
            chance = float(expected_worth(corners, steps=ACCEPTED)[0])
            assert some_fits(mixed, table) == pytest.approx(chance, abs=5e-3)
