"""Normal: the bivariate normal distribution function, for arrays."""

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, owens_t

Floats = NDArray[np.float64]

_FARTHEST = 38.0
_SMALLEST = 1e-300


def bivariate_normal_cdf(h: Floats, k: Floats, *, correlation: Floats) -> Floats:
    """P(X ≤ h, Y ≤ k) for standard normal X, Y with the given correlation, −1 and 1 included.

    Φ₂(h, k; ρ) = ½Φ(h) + ½Φ(k) − T(h, a_h) − T(k, a_k) − δ, with a_h = (k − ρh) / (h√(1 − ρ²)), a_k likewise,
    δ = 0 where h and k have one sign and ½ elsewhere, and T Owen's function. Arguments broadcast; absolute error below
    1e-14.

    References: D. B. Owen, Tables for computing bivariate normal probabilities, Ann. Math. Stat. 27 (1956),
    1075-1090, equation 2.1 [S].
    """
    h = _off_zero(np.clip(h, -_FARTHEST, _FARTHEST))
    k = _off_zero(np.clip(k, -_FARTHEST, _FARTHEST))
    apart = owens_t(h, _slope(h, k, correlation=correlation)) + owens_t(k, _slope(k, h, correlation=correlation))
    opposite = np.where((h > 0.0) == (k > 0.0), 0.0, 0.5)
    both: Floats = np.clip(0.5 * (ndtr(h) + ndtr(k)) - apart - opposite, 0.0, 1.0)
    return both


def _slope(h: Floats, k: Floats, *, correlation: Floats) -> Floats:
    """(k − ρh) / (h√(1 − ρ²)), with the difference taken before the product so that ρ near ±1 costs no digits."""
    to_one, to_minus_one = 1.0 - correlation, 1.0 + correlation
    rise = np.where(correlation > 0.0, (k - h) + to_one * h, (k + h) - to_minus_one * h)
    with np.errstate(over="ignore", divide="ignore", invalid="ignore"):
        slope = rise / (h * np.sqrt(to_one * to_minus_one))
    return np.where(rise == 0.0, 0.0, slope)


def _off_zero(x: Floats) -> Floats:
    """Zero has no finite slope k/h; the smallest number beside it has the same value to every digit."""
    return np.where(np.abs(x) < _SMALLEST, _SMALLEST, x)
