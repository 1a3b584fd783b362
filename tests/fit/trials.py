"""Trials worked out by hand: hooves that fit one size each, or lie between two, and findings that mislead or not."""

from collections.abc import Sequence

import numpy as np
from hypothesis import strategies as st

from hooflast.fit.findings import CLEAR, Sight
from hooflast.fit.trial import Trial, TryOn


def by_hand(
    fits: Sequence[float], *, between: Sequence[float] = (), sight: Sight = CLEAR, tried: Sequence[TryOn] = ()
) -> Trial:
    """A trial of sizes 0, 1, 2 …: `fits` is the weight of the hooves that each of them is right for, `between` that of
    hooves below the first, between two, and above the last one. To any of these every larger size is too large and
    every smaller one too narrow.
    """
    count = len(fits)
    gaps = [place - 0.5 for place in range(count + 1)]
    hooves = np.array([*range(count), *gaps])
    weights = np.array([*fits, *(between or [0.0] * (count + 1))])
    sizes = np.arange(count)[:, None]
    standing = np.zeros((count, 4, len(hooves)))
    standing[:, 0], standing[:, 1], standing[:, 2] = sizes == hooves, sizes > hooves, sizes < hooves
    return Trial(
        sizes=range(count),
        before=weights / weights.sum(),
        standing=standing,
        larger=np.arange(count) >= sizes,
        tried=tuple(tried),
        sight=sight,
    )


def weights(count: int, *, least: float = 0.01) -> st.SearchStrategy[list[float]]:
    return st.lists(st.floats(least, 1.0), min_size=count, max_size=count)


def least_loss(fits: Sequence[float], between: Sequence[float], *, tries: int, left_costs: float) -> float:
    """The least loss where nothing misleads: Knuth's optimal search tree with gaps, of at most `tries` levels, each
    hoof that is not found at `left_costs` (D. E. Knuth, Optimum binary search trees, Acta Informatica 1 (1971), 14-25).
    """
    total = sum(fits) + sum(between)

    def least(low: int, high: int, tries: int) -> float:
        """For the hooves that fit one of the sizes from `low` up to, not including, `high`, or lie around them."""
        inside = sum(fits[low:high]) + sum(between[low : high + 1])
        roots = range(low, high) if tries else ()
        searched = [inside + least(low, root, tries - 1) + least(root + 1, high, tries - 1) for root in roots]
        return min([left_costs * inside, *searched])

    return least(0, len(fits), tries) / total
