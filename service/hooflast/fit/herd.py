"""Herd: the hooves that a set of sizes is to serve, measured one by one or drawn from kinds of animal.

A drawn horse stands for a share of its kind: one fore and one hind hoof, left and right taken alike [C]. Its fore hoof
is the kind's mean plus A z, A Aᵀ being the kind's covariance; its hind hoof shares that z with correlation c,

    fore = μ_f + A_f z,   hind = μ_h + A_h (c z + √(1 − c²) z′),   c = 1 − s² / (2 σ_f σ_h),

so that fore and hind widths differ from the kind's usual difference by the spread s that `comparing` takes for sound
horses (σ: standard deviations of the two widths). z and z′ come from a scrambled Sobol' sequence (I. M. Sobol', USSR
Comput. Math. Math. Phys. 7 (1967), 86-112; A. B. Owen, J. Complexity 14 (1998), 466-489 [M]), made anew from the same
seed each time: the same kinds give the same hooves.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import count
from math import sqrt
from typing import Final

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from hooflast.fit.comparing import FORE_HIND_SPREAD_MM
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.normal import Floats
from hooflast.fit.population import SHAPE_SPREAD, SIZE_SPREAD, population

HORSES_PER_KIND: Final = 256
"""Drawn horses that stand for one kind, a power of two as the sequence wants [C]. A share served then errs by 1.1 % of
the herd (standard deviation over seeds, sets of 5 to 40 sizes), where as many horses drawn at random err by 1.9 %."""

SEED: Final = 20
"""Where the scrambling of the sequence begins; any other number serves as well [C]."""

LIMBS_DRAWN: Final = (Limb.LF, Limb.LH)
"""A drawn horse's hooves: the left ones stand for the right ones too."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A kind of animal, or a breed of it by its own means; what is None is taken from the animal type.

    `weight` is its share among the kinds, in any unit. `fore_mm` and `hind_mm` are mean (width, length); where only one
    is given, the other follows by the animal type's usual proportion. `size_sd_mm` is the standard deviation of
    (width + length) / 2 from horse to horse.
    """

    animal_type: AnimalType
    weight: float = 1.0
    fore_mm: tuple[float, float] | None = None
    hind_mm: tuple[float, float] | None = None
    size_sd_mm: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdHoof:
    """One hoof of a herd, and the horse it belongs to, by its number from 0."""

    horse: int
    animal_type: AnimalType
    limb: Limb
    estimate: Estimate


@dataclass(frozen=True, slots=True, kw_only=True)
class Herd:
    """Hooves with their horses; `horse_weights` (G,) say how many horses each stands for, in any unit above 0."""

    hooves: tuple[HerdHoof, ...]
    horse_weights: Floats

    @property
    def hoof_weights(self) -> Floats:
        """Each hoof's share of all hooves, shape (H,); adds up to one."""
        weights = self.horse_weights[[hoof.horse for hoof in self.hooves]]
        shares: Floats = weights / weights.sum()
        return shares


def kind_hoof(kind: Kind, *, limb: Limb) -> Estimate:
    """The hooves of a kind on one limb, as one bivariate normal: size and shape spread as in `population`."""
    mean = _mean(kind, limb=limb)
    middle = float(mean.mean())
    size = SIZE_SPREAD * middle if kind.size_sd_mm is None else kind.size_sd_mm
    half_shape = SHAPE_SPREAD * middle / 2.0
    variance, covariance = size**2 + half_shape**2, size**2 - half_shape**2
    return Estimate(
        weights=np.ones(1),
        means=mean[np.newaxis],
        covariances=np.array([[[variance, covariance], [covariance, variance]]]),
    )


def kind_herd(kinds: Sequence[Kind]) -> Herd:
    """The kinds as they are: one fore and one hind hoof each, spread as the whole kind is."""
    hooves = [
        HerdHoof(horse=horse, animal_type=kind.animal_type, limb=limb, estimate=kind_hoof(kind, limb=limb))
        for horse, kind in enumerate(kinds)
        for limb in LIMBS_DRAWN
    ]
    return Herd(hooves=tuple(hooves), horse_weights=np.array([kind.weight for kind in kinds]))


def drawn_herd(kinds: Sequence[Kind], *, horses_per_kind: int = HORSES_PER_KIND, seed: int = SEED) -> Herd:
    """Horses that stand for the kinds, each hoof known exactly; `horses_per_kind` is a power of two."""
    numbers = count()
    hooves: list[HerdHoof] = []
    for kind in kinds:
        for fore, hind in _drawn(kind, horses=horses_per_kind, seed=seed):
            horse = next(numbers)
            hooves += (
                HerdHoof(horse=horse, animal_type=kind.animal_type, limb=limb, estimate=_known(mean))
                for limb, mean in zip(LIMBS_DRAWN, (fore, hind), strict=True)
            )
    weights = np.repeat([kind.weight for kind in kinds], horses_per_kind)
    return Herd(hooves=tuple(hooves), horse_weights=weights)


def _mean(kind: Kind, *, limb: Limb) -> Floats:
    own, other = (kind.fore_mm, kind.hind_mm) if limb.is_fore else (kind.hind_mm, kind.fore_mm)
    usual = population(kind.animal_type, limb=limb).mean
    if own is not None:
        return np.array(own)
    if other is None:
        return usual
    usual_other = population(kind.animal_type, limb=Limb.LH if limb.is_fore else Limb.LF).mean
    mean: Floats = np.array(other) * usual / usual_other
    return mean


def _drawn(kind: Kind, *, horses: int, seed: int) -> Iterator[tuple[Floats, Floats]]:
    uniform = qmc.Sobol(d=4, rng=seed).random(horses)
    ours, others = np.split(ndtri(uniform), 2, axis=1)
    fore, hind = (kind_hoof(kind, limb=limb) for limb in LIMBS_DRAWN)
    fore_sd, hind_sd = (sqrt(hoof.covariances[0, 0, 0]) for hoof in (fore, hind))
    alike = max(0.0, 1.0 - FORE_HIND_SPREAD_MM**2 / (2.0 * fore_sd * hind_sd))
    shared = alike * ours + sqrt(1.0 - alike**2) * others
    yield from zip(_spread(fore, ours), _spread(hind, shared), strict=True)


def _spread(hoof: Estimate, standard: Floats) -> Floats:
    """Standard normal pairs (P, 2) as hooves (P, 2)."""
    spread: Floats = hoof.means[0] + standard @ np.linalg.cholesky(hoof.covariances[0]).T
    return spread


def _known(mean: Floats) -> Estimate:
    return Estimate(weights=np.ones(1), means=mean[np.newaxis], covariances=np.zeros((1, 2, 2)))
