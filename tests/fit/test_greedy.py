"""Greedy choices and their bounds, worked out by hand."""

import numpy as np
import pytest

from hooflast.fit.demand import Counting
from hooflast.fit.greedy import take_greedily

from .wants import asked

SURE = 0.9


def test_the_size_that_adds_most_is_taken_first_and_it_ends_once_nothing_is_added() -> None:
    """Three hooves, of which size 1 serves two and size 2 the third; size 0 serves what size 1 does, in part."""
    wanted = asked(SURE * np.array([[1, 1, 0], [0, 1, 0], [0, 0, 1]]))
    greedy = take_greedily(wanted, at_most=3)
    assert greedy.order == (1, 2)
    assert greedy.shares == pytest.approx([0.0, 2 / 3, 1.0])


def test_of_sizes_that_add_as_much_the_first_is_taken() -> None:
    assert take_greedily(asked(SURE * np.array([[0, 1, 0], [0, 0, 1]])), at_most=2).order == (1, 2)


def test_with_costs_what_is_added_for_the_cost_decides() -> None:
    """Size 0 serves three hooves at 4, size 1 two of the others at 1."""
    wanted = asked(SURE * np.array([[1, 0], [1, 0], [1, 0], [0, 1], [0, 1]]))
    assert take_greedily(wanted, at_most=2).order == (0, 1)
    assert take_greedily(wanted, at_most=2, costs=np.array([4.0, 1.0])).order == (1, 0)


def test_a_demand_already_met_adds_nothing_to_any_size() -> None:
    """After size 0, size 1 adds 0.3 at 2 and size 2 adds 0.1 at 1."""
    wanted = asked(SURE * np.eye(3), weights=[0.6, 0.3, 0.1])
    assert take_greedily(wanted, at_most=3, costs=np.array([1.0, 2.0, 1.0])).order == (0, 1, 2)


def test_the_boot_that_completes_a_horse_comes_before_one_that_serves_a_lighter_horse() -> None:
    """Horses of weight 1, 1 and 0.6: the first needs sizes 0 and 1, the second size 0 and the third size 2.

    Counted by wants alone, the third's size would add 0.6 to the 0.5 of the first's second boot.
    """
    wanted = asked(
        SURE * np.array([[1, 0, 0], [0, 1, 0], [1, 0, 0], [0, 0, 1]]),
        counting=Counting.HORSES,
        horse_of=[0, 0, 1, 2],
        weights=[1.0, 1.0, 0.6],
    )
    greedy = take_greedily(wanted, at_most=3)
    assert greedy.order == (0, 1, 2)
    assert greedy.shares == pytest.approx([0.0, 1 / 2.6, 2 / 2.6, 1.0])


def test_half_a_horses_wants_bound_what_one_size_can_serve() -> None:
    """One horse that needs two sizes: none serves nothing, one by the bound half of it, two all."""
    wanted = asked(SURE * np.eye(2), counting=Counting.HORSES, horse_of=[0, 0])
    assert take_greedily(wanted, at_most=2).bounds == pytest.approx([0.0, 0.5, 1.0])


def test_more_sizes_than_there_are_serve_no_more_than_all_of_them() -> None:
    wanted = asked(np.array([[SURE, 0.0], [0.0, SURE], [0.0, 0.0]]))
    assert take_greedily(wanted, at_most=4).bounds == pytest.approx([0.0, 1 / 3, 2 / 3, 2 / 3, 2 / 3])


def test_a_bound_is_the_least_over_all_steps() -> None:
    """Two sizes serve three of six hooves each, two of them the same; two more serve one each.

    Before the first step two sizes might add 3 + 3; once one is taken, two might add 1 + 1 to its 3.
    """
    wanted = asked(
        SURE * np.array([[1, 1, 0, 0], [1, 1, 0, 0], [1, 0, 0, 0], [0, 1, 0, 0], [0, 0, 1, 0], [0, 0, 0, 1]])
    )
    assert take_greedily(wanted, at_most=4).bounds == pytest.approx([0.0, 3 / 6, 5 / 6, 1.0, 1.0])


@pytest.mark.parametrize("sizes", [0, 2])
def test_where_nothing_is_to_be_served_no_size_is_taken(sizes: int) -> None:
    greedy = take_greedily(asked(np.zeros((3, sizes))), at_most=2)
    assert (greedy.order, greedy.shares.tolist(), greedy.bounds.tolist()) == ((), [0.0], [0.0, 0.0, 0.0])
