"""Demand: how hooves and horses become weighted demands."""

import numpy as np
import pytest

from hooflast.fit.demand import Counting, demand

from .wants import asked, mask


def test_every_hoof_has_its_horse() -> None:
    with pytest.raises(ValueError, match="zip"):
        demand(
            np.full((3, 2), 0.9),
            horse_of=np.array([0, 0]),
            horse_weights=np.ones(1),
            threshold=0.5,
            counting=Counting.HORSES,
        )


def test_hooves_that_the_same_sizes_serve_are_one_demand() -> None:
    wanted = asked(np.array([[0.9, 0.9, 0.0], [0.8, 0.7, 0.1], [0.0, 0.9, 0.0], [0.1, 0.2, 0.3]]))
    assert sorted(zip(wanted.wants.tolist(), wanted.weights.tolist(), strict=True)) == [
        ([False, True, False], 0.25),
        ([True, True, False], 0.5),
    ]
    assert wanted.attainable == 0.75


def test_two_hooves_of_a_horse_that_the_same_sizes_serve_are_one_want() -> None:
    chances = np.array([[0.9, 0.0], [0.9, 0.0], [0.0, 0.9]])
    wanted = asked(chances, counting=Counting.HORSES, horse_of=[0, 0, 0])
    assert wanted.wants.shape == (2, 2)
    assert wanted.first.tolist() == [0]
    assert wanted.demand_of.tolist() == [0, 0]
    assert wanted.share(mask(0, of=2)) == 0.0
    assert wanted.share(mask(0, 1, of=2)) == 1.0
