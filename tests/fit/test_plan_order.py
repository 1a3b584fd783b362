"""The order of plans: what comes before what, the bands, and the frontier, on values written down by hand."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.plan_order import PARTS, Aim, Goal, Integers, Value, bands, column, first, frontier, keys, parts

from .strategies import bounded

SMALLER = {"wish", "unpriced", "price", "spares"}
"""What is better when it is less."""

ORDER = {
    Aim.SUREST: ("fores", "fitting", "wish", "unpriced", "price", "spares", "closeness", "worth"),
    Aim.CHEAPEST: ("hinds", "unpriced", "price", "wish", "fitting", "spares", "closeness", "worth"),
}
IDEAL = 10 * PARTS
MIDDLE = Value(*[5 * PARTS] * len(Value._fields))


def changed(value: Value, name: str, *, better: bool) -> Value:
    """A value that is better or worse by a whole hoof, cent or boot in one respect."""
    step = PARTS if better is (name not in SMALLER) else -PARTS
    return value._replace(**{name: getattr(value, name) + step})


def values_of(*values: Value) -> Integers:
    return np.array(values, dtype=np.int64)


@pytest.mark.parametrize("aim", Aim)
def test_what_comes_first_decides_whatever_comes_after(aim: Aim) -> None:
    goal = Goal(least_fit_chance=0.0, band_width=0.5, aim=aim)
    for place, name in enumerate(ORDER[aim]):
        better = changed(MIDDLE, name, better=True)
        for later in ORDER[aim][place + 1 :]:
            better = changed(better, later, better=False)
        assert first(keys(values_of(MIDDLE, better), goal=goal, ideal=IDEAL)) == 1
        assert first(keys(values_of(better, MIDDLE), goal=goal, ideal=IDEAL)) == 0


def test_within_a_band_the_better_fit_is_the_last_to_decide() -> None:
    goal = Goal(least_fit_chance=0.0, band_width=4.0)
    better = changed(MIDDLE, "fitting", better=True)
    assert first(keys(values_of(MIDDLE, better), goal=goal, ideal=IDEAL)) == 1
    closer = changed(MIDDLE, "worth", better=True)
    assert first(keys(values_of(better, closer), goal=goal, ideal=IDEAL)) == 1


def test_of_equals_the_first_is_taken() -> None:
    goal = Goal(least_fit_chance=0.0, band_width=0.5)
    worse = changed(MIDDLE, "price", better=False)
    assert first(keys(values_of(worse, MIDDLE, MIDDLE), goal=goal, ideal=IDEAL)) == 1


def test_bands_are_counted_from_the_ideal() -> None:
    fits = [4.0, 3.9, 3.75, 3.5, 3.49, 0.0]
    values = values_of(*(MIDDLE._replace(fitting=parts(fit)) for fit in fits))
    goal = Goal(least_fit_chance=0.0, band_width=0.25)
    assert bands(values, goal=goal, ideal=parts(4.0)).tolist() == [0, 0, 1, 2, 2, 16]


def test_without_a_band_the_smallest_part_of_a_hoof_decides() -> None:
    values = values_of(*(MIDDLE._replace(fitting=fitting) for fitting in (7, 6, 5)))
    assert bands(values, goal=Goal(least_fit_chance=0.0, band_width=0.0), ideal=7).tolist() == [0, 1, 2]


def test_a_column_is_found_by_its_name() -> None:
    values = values_of(Value(*range(9)), Value(*range(9, 18)))
    assert [column(values, name).tolist() for name in Value._fields] == [[at, at + 9] for at in range(9)]


def test_chances_are_counted_in_billionths() -> None:
    assert (parts(0.0), parts(1e-9), parts(0.3), parts(4.0)) == (0, 1, 300_000_000, 4_000_000_000)


@bounded
@given(points=st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), min_size=1, max_size=12))
def test_the_frontier_is_what_no_other_point_beats(points: list[tuple[int, int]]) -> None:
    values = values_of(*(MIDDLE._replace(price=price, fitting=fitting) for price, fitting in points))
    goal = Goal(least_fit_chance=0.0, band_width=0.0)
    rows = frontier(values, keys(values, goal=goal, ideal=10))
    beaten = {
        (price, fitting)
        for price, fitting in points
        for other_price, other_fitting in points
        if other_price <= price and other_fitting >= fitting and (other_price, other_fitting) != (price, fitting)
    }
    assert [points[row] for row in rows] == sorted(set(points) - beaten)


def test_of_points_that_fit_and_cost_alike_the_frontier_has_the_better_plan() -> None:
    worse = MIDDLE._replace(spares=MIDDLE.spares + 1)
    goal = Goal(least_fit_chance=0.0, band_width=0.0)
    for values, better in ((values_of(worse, MIDDLE), 1), (values_of(MIDDLE, worse), 0)):
        assert frontier(values, keys(values, goal=goal, ideal=IDEAL)) == [better]
    closer = changed(MIDDLE, "closeness", better=True)._replace(spares=MIDDLE.spares + 1)
    values = values_of(closer, MIDDLE)
    assert frontier(values, keys(values, goal=goal, ideal=IDEAL)) == [1]


def test_the_frontier_of_no_plans_has_no_steps() -> None:
    values = values_of(MIDDLE)[:0]
    assert frontier(values, keys(values, goal=Goal(least_fit_chance=0.0, band_width=0.0), ideal=0)) == []


def test_a_plan_that_fits_nothing_still_stands_on_the_frontier() -> None:
    values = values_of(MIDDLE._replace(fitting=0))
    assert frontier(values, keys(values, goal=Goal(least_fit_chance=0.0, band_width=0.0), ideal=0)) == [0]
