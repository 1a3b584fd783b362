"""Series: expected worth of many sizes as a sum of products, with one factor for width and one for length.

The bivariate normal distribution function is a series in its correlation (the tetrachoric series),

    Φ₂(h, k; ρ) = Φ(h) Φ(k) + Σ_{n ≥ 1} ρⁿ/n! · He_{n−1}(h) φ(h) · He_{n−1}(k) φ(k),

He_n being Hermite's polynomials and φ the normal density. Put into the closed form of `chances`, where every pair of
edges has a correlation σ_WL / (s_j t_l), the sums over the edges of either axis come apart:

    E[Σ_j c_j step_j(W) · Σ_l c_l step_l(L)] = Σ_{n ≥ 0} σ_WLⁿ/n! · U_n V_n,
    U_0 = Σ_j c_j Φ(h_j),  U_n = Σ_j c_j He_{n−1}(h_j) φ(h_j) / s_jⁿ,  V_n likewise,

so that a size costs its edges, not their pairs.

References: K. Pearson, Phil. Trans. R. Soc. A 195 (1900) 1-47; M. G. Kendall, Biometrika 32 (1941) 196-198 [S].
"""

from math import sqrt
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.chances import corner_chances, expected_worth
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats

ERROR: Final = 1e-6
"""Largest difference from the closed form, unless more is allowed."""

MOST_TERMS: Final = 32
"""A hoof of which width and length are so nearly one thing that more terms were needed has its pairs evaluated."""

_FARTHEST: Final = 30.0
_PER_TERM: Final = 4.0 * 1.0865**2 / (2.0 * np.pi)
"""|He_m(x)| φ(x) ≤ 1.0865 √(m!) / √(2π) (H. Cramér) [M], and the weights of a size's edges add up to 2 on each axis."""


def expected_worths(
    estimate: Estimate, *, edges_mm: Floats, edge_sd_mm: Floats, steps: Floats, within: float = ERROR
) -> Floats:
    """Expected worth of N sizes under S sets of step weights, `within` so much of `chances.expected_worth`.

    edges_mm, edge_sd_mm (N, 2, J), steps (S, N, J), whose absolute values add up to at most 2; result (S, N). With a
    leading axis of D in the estimate's weights and means, the result is (D, S, N).
    """
    terms = max(1, terms_needed(estimate, within=within))
    if terms > MOST_TERMS:
        return _by_pairs(estimate, edges_mm=edges_mm, edge_sd_mm=edge_sd_mm, steps=steps)
    edges, edge_sd = edges_mm.T[:, None, None], edge_sd_mm.T[:, None, None]
    weights, means = np.atleast_2d(estimate.weights), estimate.means.reshape(-1, *estimate.means.shape[-2:])
    variances = np.diagonal(estimate.covariances, axis1=-2, axis2=-1)[:, :, None]
    narrow = 1.0 / np.sqrt(variances + edge_sd**2)
    h = np.clip((means[..., None] - edges) * narrow, -_FARTHEST, _FARTHEST)
    passed = np.empty((terms + 1, *h.shape))
    passed[0] = ndtr(h)
    passed[1] = np.exp(-0.5 * h**2) * (narrow / sqrt(2.0 * np.pi))
    h *= narrow
    squared = narrow**2
    for term in range(1, terms):
        np.multiply(h, passed[term], out=passed[term + 1])
        if term > 1:
            passed[term + 1] -= (term - 1) * squared * passed[term - 1]
    shared = estimate.covariances[:, 0, 1]
    factors = np.cumprod([np.ones_like(shared), *(shared / term for term in range(1, terms + 1))], axis=0)
    weighed = factors[:, None] * weights
    worth = np.stack([_expected(passed, steps=each.T, weighed=weighed) for each in steps], axis=1)
    worth = np.clip(worth, 0.0, 1.0)
    return worth if estimate.weights.ndim > 1 else worth[0]


def _expected(passed: Floats, *, steps: Floats, weighed: Floats) -> Floats:
    """Both axes' sums over the edges, multiplied and weighed: (T, J, D, K, 2, N) to (D, N)."""
    sums = steps[0] * passed[:, 0]
    for edge in range(1, len(steps)):
        sums += steps[edge] * passed[:, edge]
    expected: Floats = np.einsum("tdk,tdkn->dn", weighed, sums[..., 0, :] * sums[..., 1, :])
    return expected


def terms_needed(estimate: Estimate, *, within: float = ERROR) -> int:
    """The number of terms after which less than `within` is left; more than MOST_TERMS if that many do not do.

    The edges' own spread only lowers a correlation, so the hoof's own bounds it.
    """
    variances = np.diagonal(estimate.covariances, axis1=-2, axis2=-1)
    correlation = np.minimum(1.0, np.abs(estimate.covariances[:, 0, 1]) / np.sqrt(variances.prod(axis=1)))
    count = np.arange(1, MOST_TERMS + 2)
    with np.errstate(divide="ignore"):
        left = _PER_TERM * correlation[:, None] ** count / (count * (1.0 - correlation[:, None]))
    enough = np.max(np.atleast_2d(estimate.weights @ left), axis=0) <= within
    return int(np.argmax(enough)) if enough.any() else MOST_TERMS + 1


def _by_pairs(estimate: Estimate, *, edges_mm: Floats, edge_sd_mm: Floats, steps: Floats) -> Floats:
    if estimate.weights.ndim > 1:
        single = estimate.apart()
        return np.stack([_by_pairs(each, edges_mm=edges_mm, edge_sd_mm=edge_sd_mm, steps=steps) for each in single])
    corners = corner_chances(estimate, edges_mm=edges_mm, edge_sd_mm=edge_sd_mm)
    return np.stack([expected_worth(corners, steps=each) for each in steps])
