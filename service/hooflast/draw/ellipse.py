"""Ellipse: a hoof's doubt over (width, length), as half axes and turn from its covariance's eigenvectors."""

from dataclasses import dataclass
from math import atan2, degrees

import numpy as np

from hooflast.draw.values import DrawnHoof


@dataclass(frozen=True, slots=True, kw_only=True)
class Ellipse:
    """Half axes of the one-sigma ellipse, mm; `turn_deg` leads from the width axis to the longer, towards length."""

    longer_mm: float
    shorter_mm: float
    turn_deg: float


def ellipse_of(hoof: DrawnHoof) -> Ellipse:
    """With covariance Σ = Q diag(λ) Qᵀ the one-sigma ellipse has the half axes √λ along the columns of Q."""
    shared = hoof.correlation * hoof.width_sd_mm * hoof.length_sd_mm
    variances, directions = np.linalg.eigh(np.array([[hoof.width_sd_mm**2, shared], [shared, hoof.length_sd_mm**2]]))
    across, along = directions[:, 1]
    turn_deg = degrees(atan2(along, across))
    return Ellipse(
        longer_mm=float(np.sqrt(variances[1])),
        shorter_mm=float(np.sqrt(max(variances[0], 0.0))),
        turn_deg=(turn_deg + 90.0) % 180.0 - 90.0,
    )
