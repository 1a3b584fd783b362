"""The screen: near enough to the exact comparison, and never the cause of another result."""

from typing import Final

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.fit.strategies import bounded, charts, hoof, known, mixtures

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.match import match_hoof
from hooflast.fit.ranking import compare_boots
from hooflast.fit.screen import ERROR, SHARPEST_MM, screen_of
from hooflast.fit.sizes import BootChart, size_table

MANY: Final = 60


def catalog(seed: int) -> list[BootChart]:
    """Boot models of every closure, shape and step, most of them around an ordinary hoof."""
    rng = np.random.default_rng(seed)
    closures = list(Closure)
    made = []
    for number in range(MANY):
        step, first, ratio = rng.integers(3, 9), rng.integers(80, 120), rng.uniform(0.88, 1.12)
        widths = [(float(first + size * step), float(first + (size + 1) * step - 1)) for size in range(6)]
        lengths = [(low / ratio, high / ratio) for low, high in widths]
        made.append(
            BootChart(
                closure=closures[number % len(closures)],
                widths_mm=widths,
                lengths_mm=[None] * 6 if number % 11 == 0 else lengths,
            )
        )
    return made


@bounded
@given(st.lists(charts(), min_size=1, max_size=4), mixtures())
def test_a_screened_closeness_is_within_its_error_of_the_exact_one(drawn: list[BootChart], estimate: Estimate) -> None:
    table = size_table(drawn)
    screened = screen_of(table).closeness(estimate)
    if screened is not None:
        exact = compare_boots(estimate, table, boots=np.arange(len(drawn))).expected
        assert np.abs(screened - exact).max() <= ERROR


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("sd", [0.5, 1.5, 4.0])
def test_offering_a_few_with_a_screen_is_the_head_of_offering_all_without(seed: int, sd: float) -> None:
    rng = np.random.default_rng(100 + seed)
    table = size_table(catalog(seed))
    boots = np.sort(rng.choice(MANY, size=45, replace=False))
    wishes = rng.integers(0, 3, MANY).tolist()
    width = rng.uniform(95.0, 150.0)
    estimate = hoof(width, width / rng.uniform(0.9, 1.1), sd=(sd, 1.4 * sd), correlation=0.3)
    everything = match_hoof(estimate, table, boots=boots, wish_rank=wishes)
    few = match_hoof(estimate, table, boots=boots, wish_rank=wishes, at_most=5, screen=screen_of(table))
    assert few.boots == everything.boots[:5]
    for match in few.boots:
        sizes = slice(*table.first[match.boot : match.boot + 2])
        assert few.fit_chances[sizes] == pytest.approx(everything.fit_chances[sizes], abs=1e-12)


def test_a_hoof_too_sharp_for_the_points_is_not_screened() -> None:
    screen = screen_of(size_table(catalog(1)))
    assert screen.closeness(known(124.0, 126.0)) is None
    assert screen.closeness(hoof(124.0, 126.0, sd=SHARPEST_MM / 1.01)) is None
    assert screen.closeness(hoof(124.0, 126.0, sd=SHARPEST_MM * 1.01)) is not None


def test_a_screen_of_nothing_says_nothing() -> None:
    screened = screen_of(size_table([])).closeness(hoof(124.0, 126.0, sd=2.0))
    assert screened is not None
    assert screened.shape == (0,)
