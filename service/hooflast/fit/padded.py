"""Padded: one boot model's sizes on a hoof with pads of several thicknesses, and how thick a pad it takes."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.pad import Pad, room_lost
from hooflast.fit.sizes import SizeTable

THICKNESS_STEP_MM: Final = 0.5
"""Limits of thickness are looked for in half millimetres [C]."""

KEEPS: Final = 0.5
"""A boot model serves with a pad as long as this share of its best size's fit chance without one is left [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PaddedSizes:
    """One boot model with each of T pads: its best size, as index into the table (T,), and all fit chances (T, n).

    `served` (T,) is the best size's fit chance.
    """

    best: NDArray[np.intp]
    fit_chances: Floats
    served: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class ThicknessLimits:
    """The thicknesses, mm, up to which with every pad the best size stays the best, and the boot model serves."""

    same_size_mm: float
    serves_mm: float


def padded(estimate: Estimate, *, pad: Pad) -> Estimate:
    """The hoof as the padded boot sees it: larger by the room that the pad takes."""
    room = room_lost(pad, hoof_length_mm=float(estimate.mean[1]))
    return estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)


def padded_sizes(
    estimate: Estimate, table: SizeTable, *, boot: int, pad: Pad, thicknesses_mm: Sequence[float]
) -> PaddedSizes:
    """All sizes of one boot model, with pads like `pad` of each thickness."""
    sizes = table.sizes_of(boot)
    rows = slice(sizes.start, sizes.stop)
    hooves = [padded(estimate, pad=replace(pad, thickness_mm=thickness)) for thickness in thicknesses_mm]
    corners = [
        corner_chances(hoof, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows]) for hoof in hooves
    ]
    steps = preference(table.closures[boot])
    best = np.array([np.argmax(expected_worth(each, steps=steps)) for each in corners])
    fit_chances = np.array([expected_worth(each, steps=ACCEPTED) for each in corners])
    served: Floats = fit_chances[np.arange(len(best)), best]
    return PaddedSizes(best=sizes.start + best, fit_chances=fit_chances, served=served)


def thickness_limits(estimate: Estimate, table: SizeTable, *, boot: int, pad: Pad, most_mm: float) -> ThicknessLimits:
    """How thick a pad like `pad` may be, in half millimetres and never above `most_mm`.

    A boot model serves as long as its best size keeps more than KEEPS of the fit chance that the best has without a
    pad. Beyond a limit it may serve again: the padded hoof lies between two sizes first, and in the larger one then.
    """
    thicknesses = [THICKNESS_STEP_MM * steps for steps in range(int(most_mm / THICKNESS_STEP_MM) + 1)]
    found = padded_sizes(estimate, table, boot=boot, pad=pad, thicknesses_mm=thicknesses)
    return ThicknessLimits(
        same_size_mm=_unbroken_mm(found.best == found.best[0]),
        serves_mm=_unbroken_mm(found.served > KEEPS * found.served[0]),
    )


def _unbroken_mm(holds: NDArray[np.bool_]) -> float:
    """The last thickness before something holds no longer; none if it does not hold without a pad."""
    return THICKNESS_STEP_MM * max(0, int(np.minimum.accumulate(holds).sum()) - 1)
