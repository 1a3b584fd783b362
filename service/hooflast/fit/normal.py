"""Normal: the bivariate normal distribution function, for arrays."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, owens_t

Floats = NDArray[np.float64]

_FARTHEST = 38.0
_SMALLEST = 1e-300
_LARGEST_CORRELATION = 1.0 - 1e-14


def bivariate_normal_cdf(h: Floats, k: Floats, *, correlation: Floats) -> Floats:
    """P(X ≤ h, Y ≤ k) for standard normal X, Y with the given correlation.

    Φ₂(h, k; ρ) = ½Φ(h) + ½Φ(k) − T(h, a_h) − T(k, a_k) − δ, with a_h = (k − ρh) / (h√(1 − ρ²)), a_k likewise,
    δ = 0 where hk > 0 and ½ elsewhere, and T Owen's function. Arguments broadcast; absolute error below 1e-14.

    References: D. B. Owen, Tables for computing bivariate normal probabilities, Ann. Math. Stat. 27 (1956),
    1075-1090, equation 2.1 [S].
    """
    h = _off_zero(np.clip(h, -_FARTHEST, _FARTHEST))
    k = _off_zero(np.clip(k, -_FARTHEST, _FARTHEST))
    rho = np.clip(correlation, -_LARGEST_CORRELATION, _LARGEST_CORRELATION)
    root = np.sqrt((1.0 - rho) * (1.0 + rho))
    with np.errstate(over="ignore"):
        t_h = owens_t(h, (k - rho * h) / (h * root))
        t_k = owens_t(k, (h - rho * k) / (k * root))
    opposite = np.where(h * k > 0.0, 0.0, 0.5)
    both: Floats = np.clip(0.5 * (ndtr(h) + ndtr(k)) - t_h - t_k - opposite, 0.0, 1.0)
    return both


def _off_zero(x: Floats) -> Floats:
    """Zero has no finite slope k/h; the smallest number beside it has the same value to every digit."""
    return np.where(np.abs(x) < _SMALLEST, _SMALLEST, x)
