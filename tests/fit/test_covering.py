"""Covering: what the solver finds and what it proves, for demands worked out by hand and one that costs it work."""

import numpy as np
import pytest

from hooflast.fit.covering import Effort, least_cost, most_share, share_ceilings
from hooflast.fit.demand import Counting

from .wants import asked, mask, scattered

SURE = 0.9
EFFORT = Effort()
STRAIGHT_AWAY = Effort(seconds=0.0)
THREE = asked(SURE * np.eye(3), weights=[0.5, 0.3, 0.2])
"""Each of three sizes serves its own hoof."""


def test_most_is_met_by_the_sizes_of_the_heaviest_demands() -> None:
    found = most_share(THREE, costs=np.ones(3), budget=2.0, effort=EFFORT)
    assert found.chosen is not None
    assert found.chosen.tolist() == [True, True, False]
    assert found.bound == pytest.approx(0.8)


def test_a_budget_may_be_spent_to_the_last() -> None:
    """0.1 + 0.2 is more than 0.3 by a rounding, and no more."""
    found = most_share(THREE, costs=np.array([0.1, 0.2, 0.3]), budget=0.3, effort=EFFORT)
    assert found.bound == pytest.approx(0.8)


def test_the_cheapest_sizes_that_serve_a_share_are_found_with_their_cost() -> None:
    found = least_cost(THREE, costs=np.array([2.0, 0.5, 1.0]), share=0.5, effort=EFFORT)
    assert found.chosen is not None
    assert found.chosen.tolist() == [False, True, True]
    assert found.bound == pytest.approx(1.5)


def test_a_share_that_sizes_serve_to_the_last_is_served_by_them() -> None:
    found = least_cost(THREE, costs=np.ones(3), share=0.5 + 1e-9, effort=EFFORT)
    assert found.bound == pytest.approx(1.0)


def test_no_share_takes_no_sizes() -> None:
    found = least_cost(THREE, costs=np.ones(3), share=0.0, effort=EFFORT)
    assert found.bound == 0.0
    assert found.chosen is not None
    assert found.chosen.tolist() == [False] * 3


def test_where_nothing_can_be_served_no_size_is_chosen() -> None:
    found = most_share(asked(np.zeros((2, 3))), costs=np.ones(3), budget=2.0, effort=EFFORT)
    assert found.bound == 0.0
    assert found.chosen is not None
    assert found.chosen.dtype == np.bool_
    assert not found.chosen.any()


def test_the_solver_goes_on_until_no_better_choice_is_left() -> None:
    """The first choice it comes upon is far from the best here."""
    wanted = scattered(60, sizes=25)
    found = most_share(wanted, costs=np.ones(25), budget=7.0, effort=EFFORT)
    assert found.chosen is not None
    assert wanted.share(found.chosen) == pytest.approx(found.bound)


def test_with_its_effort_spent_the_solver_claims_no_more_than_it_knows() -> None:
    wanted, cheap = scattered(60, sizes=25), np.full(25, 0.01)
    assert least_cost(wanted, costs=cheap, share=0.8, effort=STRAIGHT_AWAY).bound <= 0.06
    assert most_share(wanted, costs=np.ones(25), budget=6.0, effort=STRAIGHT_AWAY).bound == wanted.attainable


def test_a_ceiling_is_the_best_value_where_its_program_is_solved_and_a_size_adds_its_price() -> None:
    """Two of three sizes serve 0.8 at best; the third then adds 0.2, and the second added 0.3: the price lies between.

    No size counts twice and no hoof is served twice.
    """
    one, two, three = share_ceilings(THREE, at=2, counts=np.array([1.0, 2.0, 3.0])).tolist()
    assert two == pytest.approx(0.8)
    assert 0.5 - 1e-9 <= one <= 0.6 + 1e-9
    assert three == pytest.approx(1.0)


def test_half_a_horse_at_half_its_boots_is_what_a_ceiling_allows() -> None:
    """Without whole numbers one size halves into the two that a horse needs; it serves none of it in truth."""
    wanted = asked(SURE * np.eye(2), counting=Counting.HORSES, horse_of=[0, 0])
    assert share_ceilings(wanted, at=1, counts=np.array([0.0, 1.0, 2.0])) == pytest.approx([0.0, 0.5, 1.0])
    assert wanted.share(mask(0, of=2)) == 0.0
