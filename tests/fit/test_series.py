"""The series: the closed form over every pair of edges, to its stated error, for hooves of every kind."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate, estimate_hoof, estimates_if_read
from hooflast.fit.hoof import AnimalType
from hooflast.fit.normal import Floats
from hooflast.fit.series import ERROR, MOST_TERMS, expected_worths, terms_needed
from hooflast.fit.sizes import BootChart, SizeTable, size_table

from .reference import expectation
from .strategies import animal_types, bounded, charts, hoof, known, mixture, mixtures, readings, single

some_charts = st.lists(charts(), min_size=1, max_size=4)


def kinds_of_steps(table: SizeTable) -> Floats:
    """Acceptance, and the preference of each size's closure."""
    preferred = np.array([preference(closure) for closure in table.closures])[table.boot_of]
    return np.stack([np.broadcast_to(ACCEPTED, preferred.shape), preferred])


def by_series(estimate: Estimate, table: SizeTable) -> Floats:
    return expected_worths(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm, steps=kinds_of_steps(table))


def by_pairs(estimate: Estimate, table: SizeTable) -> Floats:
    corners = corner_chances(estimate, edges_mm=table.edges_mm, edge_sd_mm=table.edge_sd_mm)
    return np.stack([expected_worth(corners, steps=steps) for steps in kinds_of_steps(table)])


class TestAgainstOtherComputations:
    @bounded
    @given(mixtures(), some_charts)
    def test_it_is_the_closed_form_to_its_error(self, mixed: Estimate, boots: list[BootChart]) -> None:
        table = size_table(boots)
        assert by_series(mixed, table) == pytest.approx(by_pairs(mixed, table), abs=ERROR)

    @bounded
    @given(readings(), animal_types, some_charts)
    def test_it_is_the_closed_form_for_hooves_as_they_are_read(self, reading, animal_type, boots) -> None:
        estimate, table = estimate_hoof(reading, animal_type=animal_type), size_table(boots)
        assert by_series(estimate, table) == pytest.approx(by_pairs(estimate, table), abs=ERROR)

    @pytest.mark.parametrize("correlation", [-0.9, -0.3, 0.0, 0.5, 0.85])
    def test_it_agrees_with_quadrature(self, correlation: float) -> None:
        """A hoof on the corner of a range, where width and length matter together."""
        part = hoof(121.0, 110.0, sd=(2.6, 3.7), correlation=correlation)
        table = size_table([single((112.0, 121.0), (110.0, 120.0), closure=Closure.STRAP)])

        def accepts(axis: int):
            edges, spreads = (values[0, axis, [0, 3]] for values in (table.edges_mm, table.edge_sd_mm))
            return lambda x: float(np.diff(-_passed(x, edges, spreads))[0])

        exact = expectation(part, (accepts(0), accepts(1)))
        assert by_series(part, table)[0, 0] == pytest.approx(exact, abs=2e-6)


def _passed(x: float, edges: Floats, spreads: Floats) -> Floats:
    return ndtr((x - edges) / spreads)


class TestTerms:
    def test_independent_axes_need_none(self) -> None:
        assert terms_needed(hoof(120.0, 118.0, sd=(2.0, 3.0))) == 0

    @pytest.mark.parametrize(("correlation", "terms"), [(0.5, 16), (0.71, MOST_TERMS)])
    def test_they_are_as_many_as_the_bound_says(self, correlation: float, terms: int) -> None:
        """0.7516 ρⁿ / (n (1 − ρ)) is 1e-6 or less from n = 17 on for ρ = 0.5, from n = 33 on for ρ = 0.71."""
        assert terms_needed(hoof(120.0, 118.0, sd=(2.0, 3.0), correlation=correlation)) == terms

    @bounded
    @given(st.floats(0.0, 0.99), st.floats(0.0, 0.99))
    def test_more_correlation_of_either_sign_never_needs_fewer(self, one: float, other: float) -> None:
        less, more = (hoof(120.0, 118.0, correlation=correlation) for correlation in sorted([one, other]))
        assert terms_needed(less) <= terms_needed(more)
        assert terms_needed(hoof(120.0, 118.0, correlation=-one)) == terms_needed(hoof(120.0, 118.0, correlation=one))

    def test_a_part_that_hardly_weighs_asks_for_fewer(self) -> None:
        sound, slanting = hoof(120.0, 118.0, correlation=0.2), hoof(120.0, 118.0, correlation=0.7)
        needed = [terms_needed(mixture([sound, slanting], weights=[1.0 - share, share])) for share in (0.001, 0.1, 0.9)]
        assert terms_needed(sound) < needed[0] < needed[1] < needed[2]

    @bounded
    @given(mixtures(), st.floats(1e-9, 1e-2), st.floats(1e-9, 1e-2))
    def test_more_error_allowed_never_needs_more(self, mixed, one, other) -> None:
        sharp, blunt = (terms_needed(mixed, within=within) for within in sorted([one, other]))
        assert blunt <= sharp

    @bounded
    @given(mixtures(), some_charts, st.floats(1e-8, 1e-2))
    def test_what_is_allowed_is_kept(self, mixed, boots, within) -> None:
        table = size_table(boots)
        found = expected_worths(
            mixed,
            edges_mm=table.edges_mm,
            edge_sd_mm=table.edge_sd_mm,
            steps=kinds_of_steps(table),
            within=within,
        )
        assert found == pytest.approx(by_pairs(mixed, table), abs=within)

    @pytest.mark.parametrize("correlation", [0.97, -0.999, 1.0 - 1e-12, 1.0, -1.0 - 1e-13])
    def test_a_hoof_that_slants_too_much_has_its_pairs_evaluated(self, correlation: float) -> None:
        slanting = hoof(117.0, 114.0, sd=(3.0, 4.0), correlation=correlation)
        table = size_table([single((112.0, 120.0), (110.0, 118.0)), single(None, (110.0, 118.0))])
        assert terms_needed(slanting) > MOST_TERMS
        assert by_series(slanting, table).tolist() == by_pairs(slanting, table).tolist()


class TestLaws:
    @bounded
    @given(mixtures(), some_charts)
    def test_a_worth_is_no_more_than_the_acceptance_and_never_below_nought(self, mixed, boots) -> None:
        accepted, worth = by_series(mixed, size_table(boots))
        assert np.all(worth >= 0.0)
        assert np.all(worth <= accepted + 2.0 * ERROR)
        assert np.all(accepted <= 1.0)

    def test_a_worth_next_to_nothing_is_not_below_nought_for_few_terms(self) -> None:
        table = size_table([single((110.0, 120.0), (110.0, 120.0))])
        steps = kinds_of_steps(table)
        for width in np.arange(100.0, 131.0, 1.5):
            for length in np.arange(100.0, 131.0, 1.5):
                found = expected_worths(
                    hoof(width, length, correlation=0.5),
                    edges_mm=table.edges_mm,
                    edge_sd_mm=table.edge_sd_mm,
                    steps=steps,
                    within=0.01,
                )
                assert np.all(found >= 0.0)

    @bounded
    @given(mixtures(), some_charts)
    def test_changing_width_and_length_over_changes_nothing(self, mixed, boots) -> None:
        table = size_table(boots)
        turned = Estimate(
            weights=mixed.weights, means=mixed.means[:, ::-1], covariances=mixed.covariances[:, ::-1, ::-1]
        )
        straight = by_series(mixed, table)
        steps = kinds_of_steps(table)
        found = expected_worths(
            turned, edges_mm=table.edges_mm[:, ::-1], edge_sd_mm=table.edge_sd_mm[:, ::-1], steps=steps
        )
        assert found == pytest.approx(straight, abs=1e-12)

    @bounded
    @given(readings(), some_charts)
    def test_several_estimates_in_one_are_each_as_alone(self, reading, boots) -> None:
        table = size_table(boots)
        changes = np.array([[0.0, 0.0], [2.5, 0.0], [0.0, -7.0]])
        together = estimates_if_read(reading, animal_type=AnimalType.PONY, changes_mm=changes)
        alone = np.stack([by_series(each, table) for each in together.apart()])
        assert by_series(together, table) == pytest.approx(alone, abs=2.0 * ERROR)

    def test_several_that_slant_too_much_are_evaluated_each(self) -> None:
        one, other = (hoof(width, 114.0, correlation=0.99) for width in (113.0, 117.0))
        both = Estimate(weights=np.ones((2, 1)), means=np.stack([one.means, other.means]), covariances=one.covariances)
        table = size_table([single((112.0, 120.0), (110.0, 118.0))])
        assert by_series(both, table).tolist() == [by_pairs(each, table).tolist() for each in (one, other)]

    def test_a_known_hoof_is_surely_in_or_out(self) -> None:
        table = size_table([single((110.0, 130.0), (110.0, 130.0))])
        assert by_series(known(120.0, 120.0), table)[0, 0] == pytest.approx(1.0)
        assert by_series(known(150.0, 120.0), table)[0, 0] == pytest.approx(0.0)
