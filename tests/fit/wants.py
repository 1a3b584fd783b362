"""Wants: short ways to write down what a herd asks of a set of sizes."""

import numpy as np

from hooflast.fit.demand import Bools, Counting, Demand, demand
from hooflast.fit.normal import Floats


def asked(
    chances: Floats,
    *,
    threshold: float | None = 0.5,
    counting: Counting = Counting.HOOVES,
    horse_of: list[int] | None = None,
    weights: list[float] | None = None,
) -> Demand:
    horses = list(range(len(chances))) if horse_of is None else horse_of
    return demand(
        chances,
        horse_of=np.array(horses),
        horse_weights=np.array([1.0] * (max(horses) + 1) if weights is None else weights),
        threshold=threshold,
        counting=counting,
    )


def mask(*sizes: int, of: int) -> Bools:
    chosen = np.zeros(of, dtype=np.bool_)
    chosen[list(sizes)] = True
    return chosen


def scattered(hooves: int, *, sizes: int) -> Demand:
    """Hooves and sizes strewn over a plane, each hoof served by sizes near it."""
    rng = np.random.default_rng(5)
    hoof, size = rng.uniform(0.0, 10.0, (hooves, 2)), rng.uniform(0.0, 10.0, (sizes, 2))
    apart = np.abs(hoof[:, None] - size[None]).max(axis=2)
    return asked(np.clip(1.2 - apart / 3.0, 0.0, 1.0))
