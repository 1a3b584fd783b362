"""Covering: which sizes meet the most of a demand, or enough of it at the least cost, by a mixed-integer solver.

With x_i in {0, 1} for size i, z_d in [0, 1] for demand d of weight w_d, and W_r the sizes that meet want r of demand d,

    most:      max Σ w_d z_d   with  z_d ≤ Σ_{i in W_r} x_i for every want r of d,  Σ cost_i x_i ≤ budget,
    cheapest:  min Σ cost_i x_i  with the same, and Σ w_d z_d ≥ share.

Solved by HiGHS (Q. Huangfu, J. A. J. Hall, Parallelizing the dual revised simplex method, Math. Prog. Comp. 10 (2018),
119-142 [S]) through scipy.optimize.milp, which also gives a bound that no choice of sizes can pass. Where a limit ends
the search, the best choice found is kept and the bound tells how far from the best it can be.
"""

from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array, eye_array, hstack, vstack

from hooflast.fit.demand import Bools, Demand
from hooflast.fit.normal import Floats

EQUAL: Final = 1e-9
"""Shares that differ by less are equal."""

SLACK: Final = 1e-6
"""What the solver's own tolerances leave of a share."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Effort:
    """How long to search. `nodes` gives the same answer on every machine; `seconds` is a last resort that need not."""

    nodes: int = 2_000
    seconds: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Solved:
    """The sizes found (N,), None if the limit came first; `bound` is the most share, or the least cost, there is."""

    chosen: Bools | None
    bound: float


def most_share(demand: Demand, *, costs: Floats, budget: float, effort: Effort) -> Solved:
    """The sizes within a budget that meet the most."""
    sizes, demands = demand.wants.shape[1], len(demand.weights)
    if not demands:
        return Solved(chosen=np.zeros(sizes, dtype=np.bool_), bound=0.0)
    objective = np.concatenate([np.zeros(sizes), -demand.weights])
    spent = np.concatenate([costs, np.zeros(demands)])
    limits = [
        LinearConstraint(_wants_and_demands(demand), ub=0.0),
        LinearConstraint(spent[np.newaxis], ub=budget),
    ]
    found = _solve(objective, limits, sizes=sizes, effort=effort)
    bound = demand.attainable if found.mip_dual_bound is None else -float(found.mip_dual_bound)
    return Solved(chosen=_chosen(found, sizes=sizes), bound=min(demand.attainable, bound))


def least_cost(demand: Demand, *, costs: Floats, share: float, effort: Effort) -> Solved:
    """The cheapest sizes that meet a share, to SLACK; all sizes together must be able to."""
    sizes, demands = demand.wants.shape[1], len(demand.weights)
    if share <= EQUAL:
        return Solved(chosen=np.zeros(sizes, dtype=np.bool_), bound=0.0)
    in_smallest = demand.weights / demand.weights.min()
    least = share / demand.weights.min()
    enough = np.concatenate([np.zeros(sizes), in_smallest])
    limits = [
        LinearConstraint(_wants_and_demands(demand), ub=0.0),
        LinearConstraint(enough[np.newaxis], lb=least * (1.0 - SLACK)),
    ]
    found = _solve(np.concatenate([costs, np.zeros(demands)]), limits, sizes=sizes, effort=effort)
    return Solved(
        chosen=_chosen(found, sizes=sizes), bound=0.0 if found.mip_dual_bound is None else float(found.mip_dual_bound)
    )


def share_ceilings(demand: Demand, *, at: int, counts: Floats) -> Floats:
    """What no choice of so many sizes can pass, for each of `counts`, from the problem without whole numbers at `at`.

    Its best value V is concave in the number of sizes k, so V(k) ≤ V(at) + price · (k − at), the price being that of
    one size more at `at`: one linear program bounds every k, and best near `at`.
    """
    sizes, demands = demand.wants.shape[1], len(demand.weights)
    if not demands:
        return np.zeros_like(counts)
    taken = np.concatenate([np.ones(sizes), np.zeros(demands)])[np.newaxis]
    wants = _wants_and_demands(demand)
    solve: Any = linprog
    found = solve(
        np.concatenate([np.zeros(sizes), -demand.weights]),
        A_ub=vstack([wants, csr_array(taken)]),
        b_ub=np.concatenate([np.zeros(wants.shape[0]), [at]]),
        bounds=(0.0, 1.0),
    )
    price = -float(found.ineqlin.marginals[-1])
    ceilings: Floats = np.minimum(demand.attainable, -float(found.fun) + price * (counts - at))
    return ceilings


def _wants_and_demands(demand: Demand) -> Any:
    """z_d − Σ_{i in W_r} x_i for every want r of a demand d, as a sparse matrix (R, N + D)."""
    meets: Any = csr_array(demand.wants, dtype=np.float64)
    belongs = csr_array(eye_array(len(demand.weights)))[demand.demand_of]
    return hstack([-meets, belongs])


def _solve(objective: Floats, limits: list[LinearConstraint], *, sizes: int, effort: Effort) -> Any:
    whole = np.zeros(len(objective))
    whole[:sizes] = 1
    options: dict[str, Any] = {"mip_rel_gap": 0.0, "node_limit": effort.nodes}
    if effort.seconds is not None:
        options["time_limit"] = effort.seconds
    solve: Any = milp
    return solve(objective, constraints=limits, integrality=whole, bounds=Bounds(0.0, 1.0), options=options)


def _chosen(found: Any, *, sizes: int) -> Bools | None:
    return None if found.x is None else np.asarray(found.x[:sizes] > 0.5)
