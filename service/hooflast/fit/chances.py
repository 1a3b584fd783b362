"""Chances: expectations of one hoof against many sizes, in closed form.

A size's worth to a hoof is a step function along each axis, w(x) = Σ_j c_j Φ((x − e_j)/s_j), and the product of both.
For (W, L) ~ N(μ, Σ) each pair of steps has the expectation

    E[Φ((W − e)/s) Φ((L − f)/t)] = Φ₂((μ_W − e)/√(σ_W² + s²), (μ_L − f)/√(σ_L² + t²); σ_WL / (√… √…)),

since a step passes when an independent N(0, s²) stays below W − e. A mixture adds its parts by weight.
"""

from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats, bivariate_normal_cdf
from hooflast.fit.verdict import Verdict

VERDICTS: Final = tuple(Verdict)
"""In the order of the last axis of `verdict_chances`: from tight to loose."""

ACCEPTED: Final = np.array([1.0, 0.0, 0.0, -1.0])
"""Step weights c_j of mere acceptance: in at the loose edge, out at the tight one."""

_SNUG_PREFERRED: Final = (0.75, 0.9, 1.0)
_MIDDLE_PREFERRED: Final = (0.85, 1.0, 0.9)


def preference(closure: Closure) -> Floats:
    """Step weights of acceptance times the place in the range, shape (4,).

    What cannot be tightened should sit in the snug third, what can in the middle; the worth of (roomy, even, snug) is
    (0.75, 0.9, 1) for a pull-on and (0.85, 1, 0.9) for every other closure [C].
    """
    roomy, even, snug = _SNUG_PREFERRED if closure is Closure.PULL_ON else _MIDDLE_PREFERRED
    return np.array([roomy, even - roomy, snug - even, -snug])


def step_chances(estimate: Estimate, *, edges_mm: Floats, edge_sd_mm: Floats) -> Floats:
    """Chance that the hoof lies past each edge; edges (..., 2, J) in mm, result likewise, axes (width, length)."""
    means, variances = estimate.means, np.diagonal(estimate.covariances, axis1=-2, axis2=-1)
    spread = np.sqrt(variances[:, :, None] + edge_sd_mm[..., None, :, :] ** 2)
    past = ndtr((means[:, :, None] - edges_mm[..., None, :, :]) / spread)
    chances: Floats = np.minimum(np.einsum("k,...kaj->...aj", estimate.weights, past), 1.0)
    return chances


def verdict_chances(estimate: Estimate, *, edges_mm: Floats, edge_sd_mm: Floats) -> Floats:
    """Chance of each verdict per axis, shape (..., 2, 5) in the order of VERDICTS; each row adds up to one."""
    return verdicts_from(step_chances(estimate, edges_mm=edges_mm, edge_sd_mm=edge_sd_mm))


def verdicts_from(past: Floats) -> Floats:
    """Chance of each verdict from the chances of being past each edge, (..., 2, 4) to (..., 2, 5)."""
    falling = np.minimum.accumulate(past, axis=-1)
    ends = np.ones((*falling.shape[:-1], 1))
    bounds = np.concatenate([ends, falling, np.zeros_like(ends)], axis=-1)
    loose_to_tight: Floats = bounds[..., :-1] - bounds[..., 1:]
    return loose_to_tight[..., ::-1]


def corner_chances(estimate: Estimate, *, edges_mm: Floats, edge_sd_mm: Floats) -> Floats:
    """Chance that the hoof is past edge j in width and past edge l in length; edges (N, 2, J), result (N, J, J)."""
    means, covariances = estimate.means[:, :, None], estimate.covariances
    spread = np.sqrt(np.diagonal(covariances, axis1=-2, axis2=-1)[..., None] + edge_sd_mm[:, None] ** 2)
    standard = (means - edges_mm[:, None]) / spread
    width, length = standard[:, :, 0, :, None], standard[:, :, 1, None, :]
    together = spread[:, :, 0, :, None] * spread[:, :, 1, None, :]
    both = bivariate_normal_cdf(width, length, correlation=covariances[:, 0, 1, None, None] / together)
    chances: Floats = np.einsum("k,nkjl->njl", estimate.weights, both)
    return chances


def expected_worth(corners: Floats, *, steps: Floats) -> Floats:
    """E[Σ_j c_j step_j(W) · Σ_l c_l step_l(L)] from corners (N, 4, 4) and step weights (4,) or (N, 4); shape (N,)."""
    steps = np.broadcast_to(steps, corners.shape[:2])
    worth: Floats = np.clip(np.einsum("nj,njl,nl->n", steps, corners, steps), 0.0, 1.0)
    return worth
