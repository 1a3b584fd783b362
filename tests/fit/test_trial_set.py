"""Trial sets: held against trying every choice, with what must hold of shares, bounds and sizes already settled."""

from itertools import combinations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit import trial_set as trial_sets
from hooflast.fit.covering import Effort, Solved, least_cost, most_share, share_ceilings
from hooflast.fit.demand import STEPS, Counting, Demand
from hooflast.fit.greedy import take_greedily
from hooflast.fit.normal import Floats
from hooflast.fit.trial_set import Given, nothing_given, share_curve, trial_set

from .strategies import bounded
from .wants import asked, mask, scattered

CLOSE = 1e-6
EFFORT = Effort()
STRAIGHT_AWAY = Effort(seconds=0.0)


def given_for(sizes: int, *, at_hand: tuple[int, ...] = (), must: tuple[int, ...] = (), costs: object = 1.0) -> Given:
    return Given(
        at_hand=mask(*at_hand, of=sizes),
        must=mask(*must, of=sizes),
        costs=np.broadcast_to(np.asarray(costs, dtype=float), sizes).copy(),
    )


def every_choice(wanted: Demand, *, given: Given) -> list[tuple[float, float]]:
    """Cost and share of every choice of sizes that holds what is settled."""
    sizes = wanted.wants.shape[1]
    free = np.flatnonzero(~given.settled)
    found = []
    for count in range(len(free) + 1):
        for some in combinations(free, count):
            chosen = given.settled | mask(*some, of=sizes)
            found.append((float(given.costs[chosen & ~given.at_hand].sum()), wanted.share(chosen)))
    return found


@st.composite
def demands(draw: st.DrawFn, *, most_sizes: int = 6) -> Demand:
    """A demand of up to eight hooves of up to four horses."""
    hooves, sizes = draw(st.integers(1, 8)), draw(st.integers(1, most_sizes))
    row = st.lists(st.sampled_from([0.0, 0.3, 0.55, 0.8, 0.97]), min_size=sizes, max_size=sizes)
    chances = np.array(draw(st.lists(row, min_size=hooves, max_size=hooves)))
    horses = min(hooves, draw(st.integers(1, 4)))
    return asked(
        chances,
        threshold=draw(st.sampled_from([None, 0.5, 0.9])),
        counting=draw(st.sampled_from(Counting)),
        horse_of=[hoof % horses for hoof in range(hooves)],
        weights=draw(st.lists(st.sampled_from([1.0, 2.0, 0.5]), min_size=horses, max_size=horses)),
    )


@st.composite
def settled(draw: st.DrawFn, *, sizes: int) -> Given:
    """Sizes at hand, sizes that must be in, and costs."""
    flags = st.lists(st.sampled_from([False, False, True]), min_size=sizes, max_size=sizes)
    costs = st.lists(st.sampled_from([1.0, 1.5, 4.0]), min_size=sizes, max_size=sizes)
    return Given(at_hand=np.array(draw(flags)), must=np.array(draw(flags)), costs=np.array(draw(costs)))


@bounded
@given(st.data(), demands(), st.sampled_from([0.0, 0.3, 0.6, 0.9, 1.0]))
def test_the_cheapest_set_is_the_cheapest_of_all_choices(data: st.DataObject, wanted: Demand, share: float) -> None:
    given = data.draw(settled(sizes=wanted.wants.shape[1]))
    found = trial_set(wanted, share=share, given=given, effort=EFFORT)
    choices = every_choice(wanted, given=given)
    aim = min(share, max(served for _, served in choices))
    least = min(cost for cost, served in choices if served >= aim - CLOSE)
    assert found.cost == pytest.approx(least)
    assert found.least_cost == pytest.approx(least)
    assert found.is_exact
    assert found.share == pytest.approx(max(served for cost, served in choices if cost <= least + CLOSE))
    assert found.attainable == pytest.approx(max(served for _, served in choices))


@bounded
@given(st.data(), demands())
def test_every_point_of_the_curve_is_the_best_of_all_choices(data: st.DataObject, wanted: Demand) -> None:
    sizes = wanted.wants.shape[1]
    given = data.draw(settled(sizes=sizes))
    unit = Given(at_hand=given.at_hand, must=given.must, costs=np.ones(sizes))
    curve = share_curve(wanted, most=sizes, given=unit, effort=EFFORT)
    choices = every_choice(wanted, given=unit)
    first = int(given.counted.sum())
    for count, point in enumerate(curve, start=first):
        assert point.is_exact
        assert len(point.sizes) <= max(count, first)
        assert not set(point.sizes) & set(np.flatnonzero(given.at_hand).tolist())
        assert point.share == pytest.approx(max(served for cost, served in choices if cost <= count))
    assert curve[-1].share == pytest.approx(wanted.attainable)


@bounded
@given(demands(most_sizes=5))
def test_without_the_solver_the_curve_still_rises_below_its_bounds(wanted: Demand) -> None:
    sizes = wanted.wants.shape[1]
    given = nothing_given(sizes)
    curve = share_curve(wanted, most=sizes, given=given, effort=EFFORT, most_solved=0)
    choices = every_choice(wanted, given=given)
    shares, bounds = ([getattr(point, name) for point in curve] for name in ("share", "bound"))
    assert shares == sorted(shares)
    assert bounds == sorted(bounds)
    for count, point in enumerate(curve):
        best = max(served for cost, served in choices if cost <= count)
        assert point.share <= best + CLOSE
        assert point.bound >= best - CLOSE


@bounded
@given(demands(), st.integers(0, 6), st.integers(0, 6))
def test_one_linear_program_bounds_every_number_of_sizes(wanted: Demand, at: int, count: int) -> None:
    ceiling = float(share_ceilings(wanted, at=at, counts=np.array([float(count)]))[0])
    best = max(
        served for cost, served in every_choice(wanted, given=nothing_given(wanted.wants.shape[1])) if cost <= count
    )
    assert best - CLOSE <= ceiling <= wanted.attainable + CLOSE


@bounded
@given(demands())
def test_greedy_serves_its_floor_of_the_best_where_hooves_are_counted(wanted: Demand) -> None:
    sizes = wanted.wants.shape[1]
    greedy = take_greedily(wanted, at_most=sizes)
    choices = every_choice(wanted, given=nothing_given(sizes))
    single = np.array_equal(wanted.demand_of, np.arange(len(wanted.weights)))
    for count, share in enumerate(greedy.shares):
        best = max(served for cost, served in choices if cost <= count)
        assert share <= best + CLOSE
        assert greedy.bounds[count] >= best - CLOSE
        if single:
            assert share >= (1.0 - (1.0 - 1.0 / max(count, 1)) ** count) * best - CLOSE


@bounded
@given(st.data(), demands())
def test_adding_a_size_never_lowers_the_share(data: st.DataObject, wanted: Demand) -> None:
    sizes = wanted.wants.shape[1]
    chosen = np.array(data.draw(st.lists(st.booleans(), min_size=sizes, max_size=sizes)))
    more = chosen | mask(data.draw(st.integers(0, sizes - 1)), of=sizes)
    assert wanted.share(more) >= wanted.share(chosen) - CLOSE


@bounded
@given(
    st.lists(st.lists(st.floats(0.0, 1.0), min_size=4, max_size=4), min_size=2, max_size=6),
    st.sampled_from([None, 0.5]),
    st.sampled_from(Counting),
    st.randoms(use_true_random=False),
)
def test_neither_order_nor_doubling_of_horses_matters(
    rows: list[list[float]], threshold: float | None, counting: Counting, shuffler: object
) -> None:
    chances = np.array(rows)
    horse_of = [place // 2 for place in range(len(rows))]
    order = list(range(len(rows)))
    shuffler.shuffle(order)  # type: ignore[attr-defined]
    one = asked(chances, threshold=threshold, counting=counting, horse_of=horse_of)
    others = (
        asked(chances[order], threshold=threshold, counting=counting, horse_of=[horse_of[place] for place in order]),
        asked(
            np.concatenate([chances, chances]),
            threshold=threshold,
            counting=counting,
            horse_of=[*horse_of, *(horse + horse_of[-1] + 1 for horse in horse_of)],
        ),
    )
    for other in others:
        for some in (mask(of=4), mask(0, of=4), mask(1, 3, of=4), mask(0, 1, 2, 3, of=4)):
            assert other.share(some) == pytest.approx(one.share(some))


@bounded
@given(st.lists(st.lists(st.floats(0.0, 1.0), min_size=3, max_size=3), min_size=1, max_size=6))
def test_by_chance_a_share_is_the_mean_of_the_best_chances_to_half_a_step(rows: list[list[float]]) -> None:
    chances = np.array(rows)
    wanted = asked(chances, threshold=None)
    for chosen in (mask(0, of=3), mask(0, 2, of=3), mask(0, 1, 2, of=3)):
        mean = float(chances[:, chosen].max(axis=1).mean())
        assert abs(wanted.share(chosen) - mean) <= 0.5 / STEPS + CLOSE


def test_a_horse_is_served_once_all_its_hooves_are() -> None:
    chances = np.array([[0.9, 0.0, 0.0], [0.0, 0.9, 0.0], [0.0, 0.0, 0.9]])
    wanted = asked(chances, counting=Counting.HORSES, horse_of=[0, 0, 1], weights=[5.0, 1.0])
    assert wanted.share(mask(0, of=3)) == 0.0
    assert wanted.share(mask(0, 1, of=3)) == pytest.approx(5 / 6)
    assert take_greedily(wanted, at_most=3).order == (0, 1, 2)


def test_the_threshold_itself_serves() -> None:
    assert asked(np.array([[0.5]]), threshold=0.5).attainable == 1.0
    assert asked(np.array([[0.5]]), threshold=0.5001).attainable == 0.0


def test_hooves_that_nothing_serves_keep_the_rest_from_the_whole_share() -> None:
    wanted = asked(np.array([[0.9, 0.1], [0.1, 0.1]]))
    found = trial_set(wanted, share=0.9, given=nothing_given(2), effort=EFFORT)
    assert (found.sizes, found.share, found.wished, found.attainable) == ((0,), 0.5, 0.9, 0.5)


def test_where_nothing_serves_no_size_is_chosen() -> None:
    wanted = asked(np.zeros((3, 2)))
    found = trial_set(wanted, share=0.9, given=nothing_given(2), effort=EFFORT)
    curve = share_curve(wanted, most=2, given=nothing_given(2), effort=EFFORT)
    assert (found.sizes, found.share, found.cost, found.is_exact) == ((), 0.0, 0.0, True)
    assert [(point.sizes, point.share, point.is_exact) for point in curve] == [((), 0.0, True)]
    assert most_share(wanted, costs=np.ones(2), budget=2.0, effort=EFFORT).bound == 0.0
    assert share_ceilings(wanted, at=1, counts=np.arange(3.0)).tolist() == [0.0, 0.0, 0.0]


def test_a_size_at_hand_serves_without_counting_and_one_that_must_be_in_counts() -> None:
    wanted = asked(np.eye(4) * 0.9)
    found = trial_set(wanted, share=1.0, given=given_for(4, at_hand=(0, 1), must=(1, 2)), effort=EFFORT)
    assert (found.sizes, found.cost, found.least_cost, found.share) == ((2, 3), 2.0, 2.0, 1.0)
    curve = share_curve(wanted, most=4, given=given_for(4, at_hand=(0, 1), must=(1, 2)), effort=EFFORT)
    assert [point.sizes for point in curve] == [(2,), (2, 3)]
    assert [point.share for point in curve] == [0.75, 1.0]


def test_a_curve_no_longer_than_what_must_be_in_is_one_point() -> None:
    curve = share_curve(asked(np.eye(3) * 0.9), most=1, given=given_for(3, must=(0, 1)), effort=EFFORT)
    assert [point.sizes for point in curve] == [(0, 1)]


def test_dear_sizes_are_left_out_where_cheap_ones_serve_as_many() -> None:
    wanted = asked(np.array([[0.9, 0.9, 0.0], [0.9, 0.0, 0.9]]))
    given = given_for(3, costs=np.array([5.0, 2.0, 2.0]))
    found = trial_set(wanted, share=1.0, given=given, effort=EFFORT)
    assert (found.sizes, found.cost, found.least_cost) == ((1, 2), 4.0, 4.0)


def test_of_sets_that_cost_the_same_the_fuller_is_taken() -> None:
    wanted = asked(np.array([[0.9, 0.0], [0.9, 0.9], [0.9, 0.9], [0.0, 0.9], [0.0, 0.9]]))
    found = trial_set(wanted, share=0.6, given=nothing_given(2), effort=EFFORT)
    assert (found.sizes, found.share) == ((1,), 0.8)


def test_the_fuller_set_is_looked_for_beyond_the_cheapest_one_found() -> None:
    """Size 0 serves four hooves of six, sizes 1 and 2 three each and together all: greedy ends with 0 and 1."""
    wanted = asked(np.array([[1, 1, 0], [1, 1, 0], [1, 0, 1], [1, 0, 1], [0, 1, 0], [0, 0, 1]]) * 0.9)
    greedy = trial_set(wanted, share=0.75, given=nothing_given(3), effort=None)
    found = trial_set(wanted, share=0.75, given=nothing_given(3), effort=EFFORT)
    assert greedy.sizes == (0, 1)
    assert greedy.share == pytest.approx(5 / 6)
    assert (found.sizes, found.share, found.cost) == ((1, 2), 1.0, 2.0)


def test_without_effort_too_what_sizes_cost_decides() -> None:
    """Size 0 serves three hooves of five, sizes 1 and 2 the same three between them."""
    wanted = asked(np.array([[1, 1, 0], [1, 1, 0], [1, 0, 1], [0, 0, 0], [0, 0, 0]]) * 0.9)
    found = trial_set(wanted, share=0.6, given=given_for(3, costs=np.array([10.0, 1.0, 1.0])), effort=None)
    assert (found.sizes, found.cost) == ((1, 2), 2.0)


def test_when_the_effort_is_spent_a_set_is_still_found_with_an_honest_bound() -> None:
    wanted = scattered(60, sizes=25)
    given = nothing_given(25)
    best = trial_set(wanted, share=0.8, given=given, effort=EFFORT)
    hasty = trial_set(wanted, share=0.8, given=given, effort=STRAIGHT_AWAY)
    assert hasty.share >= 0.8
    assert hasty.least_cost <= best.cost <= hasty.cost
    assert not hasty.is_exact


def test_when_the_effort_is_spent_the_curve_keeps_to_its_bounds() -> None:
    wanted = scattered(60, sizes=25)
    given = nothing_given(25)
    best = share_curve(wanted, most=8, given=given, effort=EFFORT)
    hasty = share_curve(wanted, most=8, given=given, effort=STRAIGHT_AWAY)
    for ours, theirs in zip(hasty, best, strict=True):
        assert ours.share <= theirs.share + CLOSE <= ours.bound + 2 * CLOSE
    assert not all(point.is_exact for point in hasty)


def test_the_same_question_has_the_same_answer() -> None:
    wanted = scattered(40, sizes=15)
    first, second = (
        (
            trial_set(wanted, share=0.7, given=nothing_given(15), effort=EFFORT),
            share_curve(wanted, most=6, given=nothing_given(15), effort=EFFORT, most_solved=3),
        )
        for _ in range(2)
    )
    assert first == second


def test_the_solver_finds_what_greedy_misses() -> None:
    chances = np.array([[1, 1, 0], [1, 1, 0], [1, 0, 1], [1, 0, 1], [0, 1, 0], [0, 0, 1]]) * 0.9
    wanted = asked(chances)
    assert take_greedily(wanted, at_most=2).shares[2] < 1.0
    assert most_share(wanted, costs=np.ones(3), budget=2.0, effort=EFFORT).bound == pytest.approx(1.0)
    assert share_curve(wanted, most=2, given=nothing_given(3), effort=EFFORT)[-1].sizes == (1, 2)
    assert least_cost(wanted, costs=np.ones(3), share=1.0, effort=EFFORT).bound == pytest.approx(2.0)


@bounded
@given(st.data(), demands(), st.sampled_from([0.0, 0.4, 0.8, 1.0]))
def test_without_effort_a_set_serves_the_share_and_its_bound_is_honest(
    data: st.DataObject, wanted: Demand, share: float
) -> None:
    given = data.draw(settled(sizes=wanted.wants.shape[1]))
    found = trial_set(wanted, share=share, given=given, effort=None)
    aim = min(share, found.attainable)
    least = min(cost for cost, served in every_choice(wanted, given=given) if served >= aim - CLOSE)
    assert found.share >= aim - CLOSE
    assert found.least_cost <= least + CLOSE <= found.cost + 2 * CLOSE


def test_without_effort_the_curve_is_greedy_and_its_bounds_stay_above() -> None:
    wanted = scattered(60, sizes=25)
    greedy = take_greedily(wanted, at_most=8)
    hasty = share_curve(wanted, most=8, given=nothing_given(25), effort=None)
    best = share_curve(wanted, most=8, given=nothing_given(25), effort=EFFORT)
    assert [point.share for point in hasty] == pytest.approx(greedy.shares)
    assert all(point.bound >= other.share - CLOSE for point, other in zip(hasty, best, strict=True))


@pytest.mark.parametrize(("chance", "counted"), [(0.04, 0.0), (0.149, 0.1), (0.151, 0.2), (0.949, 0.9), (0.951, 1.0)])
def test_by_chance_a_chance_counts_to_the_nearest_tenth(chance: float, counted: float) -> None:
    assert asked(np.array([[chance]]), threshold=None).attainable == pytest.approx(counted)


def test_counting_hooves_each_counts_as_its_horse_does() -> None:
    chances = np.array([[0.9, 0.0], [0.9, 0.0], [0.0, 0.9]])
    wanted = asked(chances, horse_of=[0, 0, 1], weights=[1.0, 6.0])
    assert wanted.share(mask(0, of=2)) == pytest.approx(0.25)
    assert wanted.share(mask(1, of=2)) == pytest.approx(0.75)


def test_without_effort_a_cost_is_bounded_by_the_fewest_sizes_that_may_do() -> None:
    """Of three sizes with a hoof each, two serve two thirds, and all of them the whole."""
    wanted = asked(np.eye(3) * 0.9)
    for share, cost in ((0.6, 2.0), (1.0, 3.0)):
        found = trial_set(wanted, share=share, given=nothing_given(3), effort=None)
        assert (found.cost, found.least_cost) == (cost, cost)


def test_the_last_number_that_is_to_be_solved_is_solved() -> None:
    wanted = asked(np.array([[1, 1, 0], [1, 1, 0], [1, 0, 1], [1, 0, 1], [0, 1, 0], [0, 0, 1]]) * 0.9)
    for most_solved, sizes in ((1, (0, 1)), (2, (1, 2))):
        curve = share_curve(wanted, most=2, given=nothing_given(3), effort=EFFORT, most_solved=most_solved)
        assert curve[-1].sizes == sizes


def test_what_the_solver_found_goes_no_further_than_it_is_better() -> None:
    """A horse of weight 1 needs sizes 0 and 1, one of weight 5 sizes 2, 3 and 4, which greedy takes first.

    Two sizes serve the lighter horse alone; three are not solved, and adding one to those two serves no more.
    """
    wanted = asked(np.eye(5) * 0.9, counting=Counting.HORSES, horse_of=[0, 0, 1, 1, 1], weights=[1.0, 5.0])
    curve = share_curve(wanted, most=3, given=nothing_given(5), effort=EFFORT, most_solved=2)
    assert [point.sizes for point in curve[2:]] == [(0, 1), (2, 3, 4)]
    assert [point.share for point in curve] == pytest.approx([0.0, 0.0, 1 / 6, 5 / 6])


def test_a_choice_that_serves_no_more_leaves_the_greedy_one_in_place() -> None:
    wanted = scattered(60, sizes=25)
    greedy = take_greedily(wanted, at_most=8)
    curve = share_curve(wanted, most=8, given=nothing_given(25), effort=EFFORT)
    as_good = [count for count, point in enumerate(curve) if point.share <= greedy.shares[count] + CLOSE]
    assert len(as_good) > 3
    for count in as_good:
        assert curve[count].sizes == tuple(sorted(greedy.order[:count]))


def test_beyond_what_is_solved_linear_programs_bound_the_curve() -> None:
    """One at the first number that is not solved, and one at every fourth after it."""
    wanted = scattered(60, sizes=25)
    curve = share_curve(wanted, most=10, given=nothing_given(25), effort=EFFORT, most_solved=2)
    counts = np.arange(11.0)
    ceilings = [share_ceilings(wanted, at=at, counts=counts) for at in (3, 7)]
    least = np.min([take_greedily(wanted, at_most=10).bounds, *ceilings], axis=0)
    for count, point in enumerate(curve[3:], start=3):
        assert point.bound == pytest.approx(max(point.share, least[count]))


def test_what_more_sizes_cannot_serve_fewer_cannot(monkeypatch: pytest.MonkeyPatch) -> None:
    """A horse needs four sizes: three serve nothing, as is proved, and so two do not, of which nothing was proved."""

    def given_up_at_two(wanted: Demand, *, costs: Floats, budget: float, effort: Effort) -> Solved:
        if budget == 2:
            return Solved(chosen=None, bound=wanted.attainable)
        return most_share(wanted, costs=costs, budget=budget, effort=effort)

    monkeypatch.setattr(trial_sets, "most_share", given_up_at_two)
    wanted = asked(np.eye(4) * 0.9, counting=Counting.HORSES, horse_of=[0, 0, 0, 0])
    curve = share_curve(wanted, most=4, given=nothing_given(4), effort=EFFORT)
    assert [point.bound for point in curve] == pytest.approx([0.0, 0.0, 0.0, 0.0, 1.0])
