"""Demand: what a herd asks of a set of sizes, as weighted demands that are each met or not.

A hoof h is served by a set S of sizes as far as its best size fits, v_h(S) = max over i in S of p_hi. Either that must
reach a threshold t, or it counts by chance. Both are one form, since a maximum is a sum of yes and no over levels,

    v_h(S) = ∫₀¹ 1[some i in S has p_hi ≥ t] dt,

which by chance is taken over the middles of ten steps (so v_h counts to the nearest tenth), and at a threshold is
that one level alone. A horse is served as far as the worst served of its hooves: at each level all of them must be.
So every demand is a set of wants, all to be met, each by any one of its sizes; demands with the same wants are one.
The share served is the weight of the demands that are met: a maximum-coverage objective (R. L. Church, C. ReVelle, The
maximal covering location problem, Papers of the Regional Science Association 32 (1974), 101-118 [M]).
"""

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.normal import Floats

STEPS: Final = 10
"""Levels that a chance counts in: to the nearest tenth, so that a share by chance is within 0.05 [C]."""

Bools = NDArray[np.bool_]


class Counting(StrEnum):
    """What is counted as served: each hoof by itself, or a horse by the worst served of its hooves."""

    HOOVES = "hooves"
    HORSES = "horses"


@dataclass(frozen=True, slots=True, kw_only=True)
class Demand:
    """D demands with R wants among N sizes.

    weights (D,): each demand's share of the herd; together at most 1, what no size meets being left out
    wants (R, N): which sizes meet a want; every want has at least one, and wants of one demand lie together
    first (D,): where each demand's wants begin
    """

    weights: Floats
    wants: Bools
    first: NDArray[np.intp]

    @property
    def attainable(self) -> float:
        """The share that all sizes together serve."""
        return float(self.weights.sum())

    @property
    def demand_of(self) -> NDArray[np.intp]:
        """The demand each want belongs to, shape (R,)."""
        return np.repeat(np.arange(len(self.weights)), np.diff([*self.first, len(self.wants)]))

    def share(self, chosen: Bools) -> float:
        """The share that the chosen sizes (N,) serve."""
        if not len(self.weights):
            return 0.0
        met = np.logical_and.reduceat(self.wants[:, chosen].any(axis=1), self.first)
        return float(self.weights[met].sum())


def demand(
    chances: Floats, *, horse_of: NDArray[np.intp], horse_weights: Floats, threshold: float | None, counting: Counting
) -> Demand:
    """The demand of H hooves with fit chances (H, N); `threshold` None counts by chance.

    horse_of (H,): each hoof's horse. horse_weights (G,): how much each horse counts, in any unit above 0. Counting
    hooves, each hoof counts as its horse does.
    """
    levels = (np.arange(STEPS) + 0.5) / STEPS if threshold is None else np.array([threshold])
    owners = np.arange(len(chances)) if counting is Counting.HOOVES else horse_of
    weights = horse_weights[horse_of] if counting is Counting.HOOVES else horse_weights
    shares = weights / (weights.sum() * len(levels))
    found: dict[tuple[bytes, ...], float] = defaultdict(float)
    for level in levels:
        for owner, wants in _wants(np.packbits(chances >= level, axis=1), owners):
            found[wants] += float(shares[owner])
    kept = sorted((wants, weight) for wants, weight in found.items() if all(map(any, wants)))
    return Demand(
        weights=np.array([weight for _, weight in kept]),
        wants=_unpacked([want for wants, _ in kept for want in wants], sizes=chances.shape[1]),
        first=np.cumsum([0, *(len(wants) for wants, _ in kept)])[:-1],
    )


def _wants(packed: NDArray[np.uint8], owners: NDArray[np.intp]) -> Iterator[tuple[int, tuple[bytes, ...]]]:
    """Each owner's wants at one level, in an order of their own, each once."""
    by_owner: dict[int, set[bytes]] = defaultdict(set)
    for owner, row in zip(owners, packed, strict=True):
        by_owner[int(owner)].add(row.tobytes())
    for owner, wants in by_owner.items():
        yield owner, tuple(sorted(wants))


def _unpacked(wants: list[bytes], *, sizes: int) -> Bools:
    packed = np.frombuffer(b"".join(wants), dtype=np.uint8).reshape(len(wants), -(-sizes // 8))
    return np.unpackbits(packed, axis=1, count=sizes).astype(np.bool_)
