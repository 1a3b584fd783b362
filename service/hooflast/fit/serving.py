"""Serving: how likely each size of a table fits each hoof of a herd, worked out for all of them together.

The chance is the fit chance of `chances`, E[a_W(W) a_L(L)], in closed form. An axis that a size's chart leaves out
counts as UNKNOWN, one half, as it does in the ranking: what is not known of a size is no reason to carry it [C].
"""

from collections.abc import Sequence
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats, bivariate_normal_cdf
from hooflast.fit.ranking import UNKNOWN
from hooflast.fit.sizes import SizeTable

NEGLIGIBLE: Final = 1e-4
"""What a part of the hoof could add to a size's chance, by one axis alone, below which it is left out."""

AT_A_TIME: Final = 256
"""Hooves worked out together: bounds the memory, changes no number."""

_LOOSE_AND_TIGHT: Final = [0, 3]


def serving_chances(estimates: Sequence[Estimate], table: SizeTable) -> Floats:
    """Fit chance of every size for every hoof, shape (H, N), in [0, 1]."""
    chances = np.zeros((len(estimates), len(table.edges_mm)))
    for start in range(0, len(estimates), AT_A_TIME):
        _add_chances(chances[start : start + AT_A_TIME], estimates[start : start + AT_A_TIME], table=table)
    trusted = np.where(table.has_axis, 1.0, UNKNOWN).prod(axis=1)
    known: Floats = np.clip(chances, 0.0, 1.0) * trusted
    return known


def _add_chances(chances: Floats, estimates: Sequence[Estimate], *, table: SizeTable) -> None:
    """Adds every part of every hoof to `chances` (h, N)."""
    hoof_of = np.repeat(np.arange(len(estimates)), [len(estimate.weights) for estimate in estimates])
    weights = np.concatenate([estimate.weights for estimate in estimates])
    means = np.concatenate([estimate.means for estimate in estimates])
    covariances = np.concatenate([estimate.covariances for estimate in estimates])
    edges, deviations = (values[:, :, _LOOSE_AND_TIGHT] for values in (table.edges_mm, table.edge_sd_mm))
    variances = np.diagonal(covariances, axis1=1, axis2=2)
    spread = np.sqrt(variances[:, None, :, None] + deviations**2)
    standard = (means[:, None, :, None] - edges) / spread
    along = ndtr(standard[..., 0]) - ndtr(standard[..., 1])
    part, size = np.nonzero(weights[:, None] * along.min(axis=2) >= NEGLIGIBLE)
    width, length = standard[part, size, 0, :, None], standard[part, size, 1, None, :]
    together = spread[part, size, 0, :, None] * spread[part, size, 1, None, :]
    corners = bivariate_normal_cdf(width, length, correlation=covariances[part, 0, 1, None, None] / together)
    accepted = corners[:, 0, 0] - corners[:, 0, 1] - corners[:, 1, 0] + corners[:, 1, 1]
    np.add.at(chances, (hoof_of[part], size), weights[part] * accepted)
