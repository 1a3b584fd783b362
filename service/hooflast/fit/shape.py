"""Shape: the chance that a hoof is narrow, round or wide, by its width against its length."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.boot import ShapeClass
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import Limb

FORE_CUTS: Final = (0.96, 1.06)
HIND_CUTS: Final = (0.93, 1.03)
"""Width / length below which a hoof is narrow and above which it is wide: the outer fifths of the population [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """Width / length at the hoof's mean, and the chance of each shape class; the chances add up to one."""

    ratio: float
    chances: Mapping[ShapeClass, float]

    @property
    def likeliest(self) -> ShapeClass:
        """The class with the largest chance."""
        return max(self.chances, key=self.chances.__getitem__)


def hoof_shape(estimate: Estimate, *, limb: Limb) -> Shape:
    """Chances of the shape classes, per fore or hind, since hinds are narrower.

    P(W/L < c) = P(W − cL < 0) for a hoof of positive length, and W − cL is normal in each part of the mixture.
    """
    below_narrow, below_wide = (_ratio_below(cut, estimate) for cut in (FORE_CUTS if limb.is_fore else HIND_CUTS))
    width, length = estimate.mean
    return Shape(
        ratio=float(width / length),
        chances={
            ShapeClass.NARROW: below_narrow,
            ShapeClass.ROUND: max(0.0, below_wide - below_narrow),
            ShapeClass.WIDE: 1.0 - below_wide,
        },
    )


def _ratio_below(cut: float, estimate: Estimate) -> float:
    direction = np.array([1.0, -cut])
    middle = estimate.means @ direction
    spread = np.sqrt(np.einsum("i,kij,j->k", direction, estimate.covariances, direction))
    return min(1.0, float(estimate.weights @ ndtr(-middle / spread)))
