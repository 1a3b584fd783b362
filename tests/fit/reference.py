"""Reference: slow, independent ways to the numbers that `fit` has in closed form or on lattices."""

from collections.abc import Callable
from itertools import pairwise
from warnings import catch_warnings, simplefilter

import numpy as np
from scipy.integrate import IntegrationWarning, dblquad, quad
from scipy.special import ndtr

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import GIVE, MAKE_SD_MM, TIGHT_LENGTH_GIVE_MM, Interval

Curve = Callable[[float], float]


def cdf_by_quadrature(h: float, k: float, *, correlation: float) -> float:
    """∫ φ(x) Φ((k − ρx)/√(1 − ρ²)) dx up to h, for finite h, k and |ρ| < 1, in pieces round the bend.

    More digits are asked of the quadrature than doubles have, so that it goes as far as it can.
    """
    root = np.sqrt((1.0 - correlation) * (1.0 + correlation))
    bend = k / correlation if correlation else 0.0
    around = [bend + turns * root / max(abs(correlation), 1e-9) for turns in (-10, -3, 0, 3, 10)]
    top = min(h, 9.5)
    pieces = sorted({-9.5, top, *(min(max(point, -9.5), top) for point in around)})

    def density(x: float) -> float:
        rise = (k - x) + (1.0 - correlation) * x if correlation > 0 else (k + x) - (1.0 + correlation) * x
        return float(np.exp(-0.5 * x * x) / np.sqrt(2.0 * np.pi) * ndtr(rise / root))

    with catch_warnings():
        simplefilter("ignore", IntegrationWarning)
        return sum(quad(density, low, high, epsabs=1e-16, epsrel=1e-13, limit=200)[0] for low, high in pairwise(pieces))


def expectation(part: Estimate, worth: tuple[Curve, Curve]) -> float:
    """E[f(W) g(L)] over a single normal by two-dimensional quadrature to seven standard deviations."""
    (mean,), (covariance,) = part.means, part.covariances
    precision = np.linalg.inv(covariance)
    scale = np.sqrt(np.linalg.det(precision)) / (2.0 * np.pi)
    along_width, along_length = worth

    def integrand(length: float, width: float) -> float:
        apart = np.array([width, length]) - mean
        return float(scale * np.exp(-0.5 * apart @ precision @ apart) * along_width(width) * along_length(length))

    width_reach, length_reach = 7.0 * np.sqrt(np.diag(covariance))
    found, _ = dblquad(
        integrand,
        mean[0] - width_reach,
        mean[0] + width_reach,
        mean[1] - length_reach,
        mean[1] + length_reach,
        epsabs=1e-7,
    )
    return float(found)


def expectation_along(mixed: Estimate, worth: Curve, *, axis: int, breaks: list[float]) -> float:
    """E[f(X)] of one dimension over a mixture by quadrature, cut at the places where f bends."""
    means, sds = mixed.means[:, axis], np.sqrt(mixed.covariances[:, axis, axis])

    def integrand(x: float) -> float:
        densities = np.exp(-0.5 * ((x - means) / sds) ** 2) / (sds * np.sqrt(2.0 * np.pi))
        return float(mixed.weights @ densities) * worth(x)

    low, high = float(np.min(means - 8 * sds)), float(np.max(means + 8 * sds))
    cuts = sorted({low, high, *means.tolist(), *(point for point in breaks if low < point < high)})
    return sum(quad(integrand, a, b, epsabs=1e-10, limit=200)[0] for a, b in pairwise(cuts))


def sample(mixed: Estimate, *, count: int, rng: np.random.Generator) -> Floats:
    """Hooves drawn from a mixture, shape (count, 2)."""
    part = rng.choice(len(mixed.weights), size=count, p=mixed.weights)
    roots = np.linalg.cholesky(mixed.covariances)
    drawn: Floats = mixed.means[part] + np.einsum("nij,nj->ni", roots[part], rng.standard_normal((count, 2)))
    return drawn


def simulate_wearing(
    hooves: Floats, *, width: Interval, length: Interval, closure: Closure, rng: np.random.Generator
) -> float:
    """Share of hooves that a boot takes: each boot is made a little off its chart, and its closure gives a little more
    or less than the next one, evenly between nothing and all of its give."""
    give, count = GIVE[closure], len(hooves)
    taken = np.ones(count, dtype=bool)
    for axis, (low, high), tight in ((0, width, give.tight_width_mm), (1, length, TIGHT_LENGTH_GIVE_MM)):
        seen = hooves[:, axis] + MAKE_SD_MM * rng.standard_normal(count)
        taken &= seen > low - give.loose_mm * rng.random(count)
        taken &= seen < high + tight * rng.random(count)
    return float(taken.mean())
