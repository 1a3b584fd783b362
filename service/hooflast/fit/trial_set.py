"""Trial set: the fewest or cheapest sizes that serve a share of a herd, and how the share grows with their number.

Sizes at hand serve without counting; sizes that must be in count and are taken first. Every result is the best choice
found with a bound beside it, and is exact where the two meet: the solver looks for the choice until it is proved the
best or its effort is spent, greedy choices stand in elsewhere.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np

from hooflast.fit.covering import EQUAL, SLACK, Effort, least_cost, most_share, share_ceilings
from hooflast.fit.demand import Bools, Demand
from hooflast.fit.greedy import Greedy, take_greedily
from hooflast.fit.normal import Floats

MOST_SOLVED: Final = 40
"""Points of a curve that are given to the solver, from the first on; beyond them the greedy choice stands [C]."""

BETWEEN_CEILINGS: Final = 4
"""Beyond the points given to the solver, a linear program bounds every so many [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """Some sizes, as indices in ascending order, the share they serve and the most that as many could (`bound`)."""

    sizes: tuple[int, ...]
    share: float
    bound: float

    @property
    def is_exact(self) -> bool:
        """Whether no other choice of as many sizes can serve more."""
        return self.bound <= self.share + SLACK


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSet:
    """The sizes that serve a share, what they cost, and the least that any that do can cost.

    `wished` is the share asked for, `attainable` what all sizes together serve: where that is less, it was the aim.
    """

    sizes: tuple[int, ...]
    share: float
    cost: float
    least_cost: float
    wished: float
    attainable: float

    @property
    def is_exact(self) -> bool:
        """Whether nothing cheaper serves the share."""
        return self.least_cost >= self.cost - SLACK


@dataclass(frozen=True, slots=True, kw_only=True)
class Given:
    """What is settled before choosing: sizes at hand, sizes that must be in (N,), and what each size costs, above 0.

    A size that is at hand costs nothing and is not counted, whether it must be in or not.
    """

    at_hand: Bools
    must: Bools
    costs: Floats

    @property
    def settled(self) -> Bools:
        return self.at_hand | self.must

    @property
    def counted(self) -> Bools:
        return self.must & ~self.at_hand


def nothing_given(sizes: int) -> Given:
    """Nothing is settled, and every size costs one."""
    none = np.zeros(sizes, dtype=np.bool_)
    return Given(at_hand=none, must=none, costs=np.ones(sizes))


def trial_set(demand: Demand, *, share: float, given: Given, effort: Effort | None) -> TrialSet:
    """The cheapest sizes that serve a share of the herd, or as much of it as all sizes can; greedy ones without effort.

    Of several that cost the same, the one found to serve most. With all costs one, the cheapest are the fewest.
    """
    rest = _left_over(demand, given.settled)
    served = demand.attainable - rest.attainable
    wanted = max(0.0, min(share, demand.attainable) - served)
    chosen = _enough(rest, share=wanted, costs=given.costs)
    bound = _fewest_cost(rest, share=wanted, costs=given.costs)
    if effort is not None:
        solved = least_cost(rest, costs=given.costs, share=wanted, effort=effort)
        bound = max(bound, solved.bound)
        chosen = _cheapest(rest, (chosen, solved.chosen), share=wanted, costs=given.costs)
        budget = float(given.costs[chosen].sum())
        fuller = most_share(rest, costs=given.costs, budget=budget, effort=effort).chosen
        chosen = max([chosen, *([] if fuller is None else [fuller])], key=rest.share)
    settled_cost = float(given.costs[given.counted].sum())
    cost = float(given.costs[chosen].sum())
    return TrialSet(
        sizes=_indices(chosen | given.counted),
        share=served + rest.share(chosen),
        cost=settled_cost + cost,
        least_cost=settled_cost + min(bound, cost),
        wished=share,
        attainable=demand.attainable,
    )


def share_curve(
    demand: Demand, *, most: int, given: Given, effort: Effort | None, most_solved: int = MOST_SOLVED
) -> tuple[Chosen, ...]:
    """The best share found for every number of sizes, from those that must be in up to `most`.

    It ends early at the number that serves all that can be served. Costs play no part. Without effort it is greedy.
    """
    rest = _left_over(demand, given.settled)
    served = demand.attainable - rest.attainable
    settled = int(given.counted.sum())
    greedy = take_greedily(rest, at_most=max(0, most - settled))
    points = [_greedy_point(greedy, count=0)]
    for count in range(1, len(greedy.bounds)):
        if points[-1].share >= rest.attainable - EQUAL:
            break
        point = _with(rest, _one_more(rest, points[-1]), point=_greedy_point(greedy, count=count))
        if effort is not None and count <= most_solved and not point.is_exact:
            point = _solved(rest, point, count=count, effort=effort)
        points.append(point)
    if effort is not None:
        points = _under_ceilings(rest, points, first=most_solved + 1)
    counted = np.flatnonzero(given.counted).tolist()
    return tuple(
        Chosen(sizes=tuple(sorted([*point.sizes, *counted])), share=served + point.share, bound=served + point.bound)
        for point in _bounds_rising(points)
    )


def _left_over(demand: Demand, settled: Bools) -> Demand:
    """The demand that settled sizes leave open; a want is gone once one of them meets it."""
    if not len(demand.weights):
        return demand
    is_open = ~demand.wants[:, settled].any(axis=1)
    open_wants = np.add.reduceat(is_open, demand.first)
    kept = open_wants > 0
    return Demand(
        weights=demand.weights[kept],
        wants=demand.wants[is_open],
        first=np.cumsum(np.concatenate([[0], open_wants[kept]]))[:-1],
    )


def _enough(rest: Demand, *, share: float, costs: Floats) -> Bools:
    """Sizes taken greedily until they serve the share."""
    greedy = take_greedily(rest, at_most=rest.wants.shape[1], costs=costs)
    taken = int(np.argmax(greedy.shares >= share - EQUAL))
    return _mask(greedy.order[:taken], of=rest.wants.shape[1])


def _cheapest(rest: Demand, found: Iterable[Bools | None], *, share: float, costs: Floats) -> Bools:
    """The cheapest of some choices that serve the share, of which one at least does."""
    enough = [one for one in found if one is not None and rest.share(one) >= share - SLACK]
    return min(enough, key=lambda one: float(costs[one].sum()))


def _fewest_cost(rest: Demand, *, share: float, costs: Floats) -> float:
    """What the fewest sizes that may serve the share cost at least: so many of the cheapest."""
    bounds = take_greedily(rest, at_most=len(costs)).bounds
    return float(np.sort(costs)[: int(np.argmax(bounds >= share - EQUAL))].sum())


def _greedy_point(greedy: Greedy, /, *, count: int) -> Chosen:
    sizes = greedy.order[:count]
    return Chosen(sizes=sizes, share=float(greedy.shares[len(sizes)]), bound=float(greedy.bounds[count]))


def _one_more(rest: Demand, point: Chosen) -> tuple[int, ...]:
    """The sizes of a point and the one that then adds most."""
    chosen = _mask(point.sizes, of=rest.wants.shape[1])
    return (*point.sizes, *take_greedily(_left_over(rest, chosen), at_most=1).order)


def _with(rest: Demand, sizes: Iterable[int], *, point: Chosen) -> Chosen:
    """The point with other sizes, if they serve more."""
    sizes = tuple(sizes)
    share = rest.share(_mask(sizes, of=rest.wants.shape[1]))
    return replace(point, sizes=sizes, share=share) if share > point.share + EQUAL else point


def _solved(rest: Demand, point: Chosen, *, count: int, effort: Effort) -> Chosen:
    """The point after the solver has looked for a better choice and a lower bound."""
    found = most_share(rest, costs=np.ones(rest.wants.shape[1]), budget=count, effort=effort)
    better = point if found.chosen is None else _with(rest, _indices(found.chosen), point=point)
    return replace(better, bound=max(better.share, min(better.bound, found.bound)))


def _under_ceilings(rest: Demand, points: Sequence[Chosen], *, first: int) -> list[Chosen]:
    """The points with bounds from linear programs at every BETWEEN_CEILINGS-th from `first` on."""
    counts = np.arange(float(len(points)))
    ceilings = [share_ceilings(rest, at=at, counts=counts) for at in range(first, len(points), BETWEEN_CEILINGS)]
    least = np.min([np.full(len(points), rest.attainable), *ceilings], axis=0)
    return [
        replace(point, bound=max(point.share, min(point.bound, float(bound))))
        for point, bound in zip(points, least, strict=True)
    ]


def _bounds_rising(points: Sequence[Chosen]) -> list[Chosen]:
    """No number of sizes can serve more than a larger number can."""
    bounds = np.minimum.accumulate([point.bound for point in points][::-1])[::-1]
    return [replace(point, bound=float(bound)) for point, bound in zip(points, bounds, strict=True)]


def _mask(sizes: Sequence[int], *, of: int) -> Bools:
    mask = np.zeros(of, dtype=np.bool_)
    mask[list(sizes)] = True
    return mask


def _indices(chosen: Bools) -> tuple[int, ...]:
    return tuple(np.flatnonzero(chosen).tolist())
