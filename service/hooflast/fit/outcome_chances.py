"""Outcome chances: how likely each sale's outcome was, in closed form, with first and second derivatives.

A size that runs δ large takes hooves δ larger than its chart says, and readings that run β high belong to hooves
smaller by Gβ, G being the weight that Bayes' rule gave the reading. With (W, L) the hoof as its reading and its
population left it, one sale's places are those of (W, L) − z, z = δ + Gβ, against the chart's own outer edges through
the link of `sizes`, so that each is a difference of

    C_jl(z) = Φ₂(h_j, k_l; ρ_jl),   h_j = (μ_W − z_W − e_j) / S_j,   S_j² = σ_W² + s_j²,   k_l likewise,

and P(outcome) = Σ_places P(places) · P(outcome | places), whose size was chosen by what is conditioned on, so that
selling only what was recommended is ignorable. How many of a group's readings are large is left out: it would blame
their method for a shop's large horses. The chances of a gross error are held at those of the readings as told.

With a = φ(h) Φ((k − ρh)/√(1 − ρ²)), b likewise and f the density φ₂: ∂C/∂h = a, ∂²C/∂h² = −ha − ρf, ∂²C/∂h∂k = f.
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from scipy.special import ndtr

from hooflast.fit.normal import Floats, bivariate_normal_cdf
from hooflast.fit.outcome import told_by, told_by_slopes
from hooflast.fit.sale import Sales

EFFECTS: Final = 7
"""What a sale depends on: δ_W, δ_L, β_W, β_L, and the three logits of keeping."""

LEAST_CHANCE: Final = 1e-12
"""No outcome is taken to be less likely: edges of different sharpness may cost a place a little less than nothing."""

_FARTHEST: Final = 38.0
_PLACES: Final[Floats] = np.array([[1.0, -1.0, 0.0], [0.0, 1.0, -1.0], [0.0, 0.0, 1.0]])
"""Each place (loose, in range, tight) from the chances of being anywhere, past the loose edge, past the tight one."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """Log chances of N outcomes (N,), their gradients (N, 7) and Hessians (N, 7, 7), in the order of EFFECTS."""

    values: Floats
    gradients: Floats
    hessians: Floats


def log_chances(sales: Sales, effects: Floats) -> Slopes:
    """Log chance of every outcome at effects (N, 7), with its derivatives in them."""
    jacobian = shift_slopes(sales)
    corners, slopes, bends = _corners(sales, shifts=np.einsum("nkai,ni->nka", jacobian, effects[:, :4]))
    logits = effects[:, 4:]
    told_slopes, told_bends = told_by_slopes(sales.outcomes, logits=logits)
    by_corner, slopes_by_corner, bends_by_corner = (
        _PLACES.T @ each @ _PLACES for each in (told_by(sales.outcomes, logits=logits), told_slopes, told_bends)
    )
    whole = np.einsum("nk,nkjl->njl", sales.weights, corners)
    chances = np.maximum(np.einsum("njl,njl->n", by_corner, whole), LEAST_CHANCE)
    weighted = sales.weights[:, :, None, None] * jacobian
    gradients, hessians = np.empty((len(effects), EFFECTS)), np.empty((len(effects), EFFECTS, EFFECTS))
    gradients[:, :4] = np.einsum("nka,nkai->ni", np.einsum("njl,nkajl->nka", by_corner, slopes), weighted)
    gradients[:, 4:] = np.einsum("nijl,njl->ni", slopes_by_corner, whole)
    by_shift = np.einsum("njl,nkabjl->nkab", by_corner, bends)
    hessians[:, :4, :4] = (weighted.swapaxes(2, 3) @ by_shift @ jacobian).sum(axis=1)
    mixed = np.einsum("nijl,nkajl->nkia", slopes_by_corner, slopes)
    hessians[:, 4:, :4] = (mixed @ weighted).sum(axis=1)
    hessians[:, :4, 4:] = hessians[:, 4:, :4].swapaxes(1, 2)
    hessians[:, 4:, 4:] = np.einsum("nimjl,njl->nim", bends_by_corner, whole)
    relative = gradients / chances[:, None]
    return Slopes(
        values=np.log(chances),
        gradients=relative,
        hessians=hessians / chances[:, None, None] - relative[:, :, None] * relative[:, None, :],
    )


def shift_slopes(sales: Sales) -> Floats:
    """∂z / ∂(δ_W, δ_L, β_W, β_L) for every part of every hoof: (1, G), shape (N, K, 2, 4)."""
    return np.concatenate([np.broadcast_to(np.eye(2), sales.gains.shape), sales.gains], axis=-1)


def place_chances(sales: Sales, *, shifts: Floats, spreads: Floats) -> Floats:
    """Chance of every place in width and length (N, 3, 3), with z ~ N(shifts (N, K, 2), spreads (N, K, 2, 2))."""
    h, k, rho, _ = _standard(sales, shifts=shifts, covariances=sales.covariances + spreads)
    corners = _both(h, k, correlation=rho)
    places: Floats = np.einsum("nk,aj,nkjl,bl->nab", sales.weights, _PLACES, corners, _PLACES)
    return np.maximum(places, 0.0)


def _corners(sales: Sales, *, shifts: Floats) -> tuple[Floats, Floats, Floats]:
    """C_jl (N, K, 3, 3) at z (N, K, 2), its gradients (N, K, 2, 3, 3) and Hessians (N, K, 2, 2, 3, 3) in z."""
    h, k, rho, spread = _standard(sales, shifts=shifts, covariances=sales.covariances)
    root = np.sqrt(1.0 - rho**2)
    density = np.exp(-0.5 * (h**2 - 2.0 * rho * h * k + k**2) / root**2) / (2.0 * np.pi * root)
    by_h, by_k = _density(h) * ndtr((k - rho * h) / root), _density(k) * ndtr((h - rho * k) / root)
    width, length = spread[:, :, 0, :, None], spread[:, :, 1, None, :]
    second = np.empty((*h.shape[:2], 2, 2, 3, 3))
    second[:, :, 0, 0] = (-h * by_h - rho * density) / width**2
    second[:, :, 1, 1] = (-k * by_k - rho * density) / length**2
    second[:, :, 0, 1] = second[:, :, 1, 0] = density / (width * length)
    first: Floats = -np.stack([by_h / width, by_k / length], axis=2)
    return _both(h, k, correlation=rho), first, second


def _standard(sales: Sales, *, shifts: Floats, covariances: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """h and k (N, K, 3, 3), their correlation, and the spreads S (N, K, 2, 3)."""
    variances = np.diagonal(covariances, axis1=-2, axis2=-1)[..., None]
    spread = np.sqrt(variances + sales.edge_sd_mm[:, None] ** 2)
    standard = (((sales.means - shifts)[..., None] - sales.edges_mm[:, None]) / spread).clip(-_FARTHEST, _FARTHEST)
    both = np.broadcast_arrays(standard[:, :, 0, :, None], standard[:, :, 1, None, :])
    rho = covariances[..., 0, 1, None, None] / (spread[:, :, 0, :, None] * spread[:, :, 1, None, :])
    return both[0], both[1], rho, spread


def _both(h: Floats, k: Floats, *, correlation: Floats) -> Floats:
    """Φ₂ (..., 3, 3), whose first row and column, where h or k is as good as infinite, are Φ of the other."""
    both = np.empty(h.shape)
    both[..., 0, :], both[..., :, 0] = ndtr(k[..., 0, :]), ndtr(h[..., :, 0])
    inner = (..., slice(1, None), slice(1, None))
    both[inner] = bivariate_normal_cdf(h[inner], k[inner], correlation=correlation[inner])
    return both


def _density(x: Floats) -> Floats:
    density: Floats = np.exp(-0.5 * x**2) / np.sqrt(2.0 * np.pi)
    return density
