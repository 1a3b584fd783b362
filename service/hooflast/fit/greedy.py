"""Greedy: sizes taken one by one, each the one that adds most, and a bound on what any others could have met.

The step looks at F + F̄, F being the share served and F̄ the same with every want counted by itself: a horse's second
boot is worth taking even though the first alone served no horse. Where every demand is one want, F = F̄ is monotone and
submodular, and the first k sizes serve at least 1 − (1 − 1/k)^k ≥ 1 − 1/e of what the best k do (G. L. Nemhauser,
L. A. Wolsey, M. L. Fisher, Math. Programming 14 (1978), 265-294 [S]). Counting horses there is no such floor.

Ceiling: F ≤ F̄, and for any sizes S taken so far no k sizes serve more than F̄(S) + the k largest gains of F̄ at S (the
data-dependent bound of the same paper); the least of these over the steps is kept, and it holds for horses too.
"""

from dataclasses import dataclass

import numpy as np

from hooflast.fit.covering import EQUAL
from hooflast.fit.demand import Bools, Demand
from hooflast.fit.normal import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Greedy:
    """The sizes in the order they were taken; shares (K + 1,) after each, beginning with none; bounds for each k."""

    order: tuple[int, ...]
    shares: Floats
    bounds: Floats


def take_greedily(demand: Demand, *, at_most: int, costs: Floats | None = None) -> Greedy:
    """Take up to `at_most` sizes, ending early once nothing is added; with costs, by what is added for the cost.

    The bounds count sizes, not costs. Ties go to the size that comes first.
    """
    sizes = demand.wants.shape[1]
    each_costs = np.ones(sizes) if costs is None else costs
    wants_of = np.diff([*demand.first, len(demand.wants)])
    by_want = demand.weights[demand.demand_of] / wants_of[demand.demand_of]
    chosen = np.zeros(sizes, dtype=np.bool_)
    open_wants = np.ones(len(demand.wants), dtype=np.bool_)
    order: list[int] = []
    shares = [0.0]
    bounds = np.full(at_most + 1, demand.attainable)
    while True:
        gains = (by_want * open_wants) @ demand.wants
        met = float(by_want[~open_wants].sum())
        bounds = np.minimum(bounds, met + _largest_sums(gains, count=at_most))
        if len(order) == at_most or gains.max(initial=0.0) <= EQUAL:
            break
        worth = (gains + _completed(demand, open_wants)) / each_costs
        size = int(np.argmax(worth >= worth.max() * (1.0 - EQUAL)))
        chosen[size] = True
        open_wants &= ~demand.wants[:, size]
        order.append(size)
        shares.append(demand.share(chosen))
    return Greedy(order=tuple(order), shares=np.array(shares), bounds=bounds)


def _completed(demand: Demand, open_wants: Bools) -> Floats:
    """The share that each size alone would add: demands whose last open wants it meets, shape (N,)."""
    still_open = np.add.reduceat(open_wants, demand.first)
    meets = np.add.reduceat(demand.wants & open_wants[:, None], demand.first)
    completes = (still_open[:, None] > 0) & (meets == still_open[:, None])
    added: Floats = demand.weights @ completes
    return added


def _largest_sums(gains: Floats, *, count: int) -> Floats:
    """Sum of the k largest gains, for k = 0 … count."""
    largest = np.sort(gains)[::-1][:count]
    sums = np.concatenate([[0.0], np.cumsum(largest)])
    return np.concatenate([sums, np.full(count + 1 - len(sums), sums[-1])])
