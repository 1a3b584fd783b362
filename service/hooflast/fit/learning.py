"""Learning: offsets of sizes, biases of readings and the keeping of boots, from what became of sold boots.

The posterior over the standard normals u of `offset_prior` is −log p(u) = ½|u|² − Σ_n log P(outcome_n | effects_n(u)).
Its mode is found by a trust-region Newton method with the exact Hessian, and its spread is that Hessian's inverse
(Laplace's method). Hidden width and length are integrated out exactly for every sale (`outcome_chances`).

References: J. Nocedal, S. J. Wright, Numerical Optimization, 2nd ed., Springer 2006, section 4.3 [S]; L. Tierney,
J. B. Kadane, Accurate approximations for posterior moments and marginal densities, JASA 81 (1986), 82-86 [S].
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import minimize

from hooflast.fit.normal import Floats
from hooflast.fit.offset_prior import Design
from hooflast.fit.outcome import kept_chances, told_by
from hooflast.fit.outcome_chances import LEAST_CHANCE, Slopes, log_chances, place_chances, shift_slopes

GRADIENT_TOLERANCE: Final = 1e-6
MOST_STEPS: Final = 200


@dataclass(frozen=True, slots=True, kw_only=True)
class Posterior:
    """The standard normals as far as outcomes tell: mode (P,), covariance (P, P), precision (P, P)."""

    design: Design
    mode: Floats
    covariance: Floats
    precision: Floats

    @property
    def keeping_logits(self) -> Floats:
        """The logits of keeping, in the order of SIDES, shape (3,); the same for every sale."""
        logits: Floats = self.design.usual[4:] + self.design.keeping_load * self.mode[self.design.keeping_columns]
        return logits


@dataclass(frozen=True, slots=True, kw_only=True)
class Foretold:
    """Chances that a posterior gave to outcomes: of the one that came about (N,), and of being kept (N,)."""

    came_about: Floats
    kept: Floats


def learn(design: Design, *, start: Floats | None = None) -> Posterior:
    """The posterior after all sales of a design; `start` (P,) is where the mode is looked for first.

    Standard normals on which no sale depends stay as they were.
    """
    told = np.unique(design.columns)
    mode, precision, covariance = np.zeros(design.count), np.eye(design.count), np.eye(design.count)
    if len(told):
        among = np.ix_(told, told)
        mode[told], precision[among] = _mode(_among(design, told), start=mode[told] if start is None else start[told])
        covariance[among] = np.linalg.inv(precision[among])
    return Posterior(design=design, mode=mode, covariance=covariance, precision=precision)


def _among(design: Design, told: NDArray[np.intp]) -> Design:
    """The design with only the standard normals `told`, in that order."""
    places = np.searchsorted(told, design.columns).clip(max=len(told) - 1)
    return replace(design, columns=places, count=len(told))


def _mode(design: Design, *, start: Floats) -> tuple[Floats, Floats]:
    """Where the posterior is highest, and the precision there."""

    @lru_cache(maxsize=2)
    def slopes(written: bytes) -> Slopes:
        return log_chances(design.sales, design.effects(np.frombuffer(written)))

    def cost(normals: Floats) -> float:
        return float(0.5 * normals @ normals - slopes(normals.tobytes()).values.sum())

    def slope(normals: Floats) -> Floats:
        by_column = np.einsum("nec,ne->nc", design.loads, slopes(normals.tobytes()).gradients)
        return normals - np.bincount(design.columns.ravel(), weights=by_column.ravel())

    def bend(normals: Floats) -> Floats:
        by_effect = slopes(normals.tobytes()).hessians
        by_columns = np.einsum("nec,nef,nfd->ncd", design.loads, by_effect, design.loads, optimize=True)
        places = design.columns[:, :, None] * design.count + design.columns[:, None, :]
        summed = np.bincount(places.ravel(), weights=by_columns.ravel())
        return np.eye(design.count) - summed.reshape(design.count, design.count)

    found = minimize(
        cost,
        start,
        jac=slope,
        hess=bend,
        method="trust-exact",
        options={"gtol": GRADIENT_TOLERANCE, "maxiter": MOST_STEPS},
    )
    return found.x, bend(found.x)


def foretell(posterior: Posterior, seen: Design) -> Foretold:
    """Chances of the outcomes of other sales, laid out over the same standard normals, what is unknown averaged over.

    Offsets and biases move the hoof against the edges, so their normal spread only widens the hoof's.
    """
    mean = seen.effects(posterior.mode)
    among = posterior.covariance[seen.columns[:, :, None], seen.columns[:, None, :]]
    spread = np.einsum("nec,ncd,nfd->nef", seen.loads[:, :4], among, seen.loads[:, :4], optimize=True)
    jacobian = shift_slopes(seen.sales)
    places = place_chances(
        seen.sales,
        shifts=np.einsum("nkai,ni->nka", jacobian, mean[:, :4]),
        spreads=np.einsum("nkai,nij,nkbj->nkab", jacobian, spread, jacobian, optimize=True),
    )
    logits = posterior.keeping_logits
    told = told_by(seen.sales.outcomes, logits=logits)
    return Foretold(
        came_about=np.maximum(np.einsum("nab,nab->n", places, told), LEAST_CHANCE),
        kept=np.einsum("nab,ab->n", places, kept_chances(logits)).clip(0.0, 1.0),
    )
