"""Growth: what a hoof gains in width and length each week, and what a trim takes off, before its own history is known.

Along the wall a hoof grows by g a week and wears by w, at each place its own. At angle α to the ground the bearing edge
moves outwards by (g − w)·cos α, so in t weeks

    ΔW = t·(g − w_quarter)·(cos α_medial + cos α_lateral)
    ΔL = t·[(g − w_toe)·cos α_toe − (g − w_heel)·cos α_heel].

The heel's wall slopes forward as the toe's does: its growth carries the buttress forward and shortens the hoof, its
wear moves the buttress back and lengthens it. One rate holds for the whole wall: seven barefoot mares grew about 13 mm
in 6 weeks, equal all round and alike fore and hind (Kolstrung et al., Med Weter 2012;68:426) [S].

A trim is a step of its own, with a spread of its own. Of a mature horse in a regular cycle mean growth and mean trim
add up to nothing, in width and in length; how much a hoof wears is drawn from that rule.
"""

from collections.abc import Set as AbstractSet
from dataclasses import dataclass
from enum import StrEnum
from math import pi
from types import MappingProxyType
from typing import Final, NamedTuple

import numpy as np

from hooflast.fit.hoof import Limb
from hooflast.fit.normal import Floats
from hooflast.fit.uncertainty import DRIFT_MM_PER_WEEK

USUAL_CYCLE_WEEKS: Final = 7.0
"""Weeks between two trims, as a rule six to eight [CP]."""

USUAL_TRIM_MM: Final[Floats] = np.array([-2.0, -4.0])
"""What a trim after the usual cycle takes off (width, length), mm; between 0 and 4, and between 1 and 7 [C].

A group of ten horses lost 6.8 of sole length at one trim (Iran J Vet Surg, Dareh-Shori) [S].
"""

TRIM_SD_MM: Final[Floats] = np.array([1.0, 1.5])
"""How one trim differs from the horse's usual one on (width, length), mm [C].

Trimmers differ from each other and from their own last trim (Kummer et al., Vet J 2009;179:401) [S].
"""

IMBALANCE_SD_MM: Final = 0.5
"""How far a horse's mean trim is from taking off exactly what grew, on either dimension, mm [C]."""

WALL_GROWTH_SD: Final = 0.2
"""Spread of g from horse to horse, season and age, mm a week: 1.4 to 2.2 are two of it on either side [C]."""

WEAR_SD: Final = 0.4
"""Spread of wear at each place, mm a week: on hard ground it may exceed growth [C]."""

WEAR_CORRELATION: Final = 0.5
"""Correlation of wear between places: one ground wears all of them [C]."""

ANGLE_SD_DEG: Final = (2.2, 4.0, 3.0, 3.0)
"""Spread of the angles at toe, heel, medial and lateral quarter: 2.2 at the toe (Dareh-Shori) [S], the rest [C]."""


class Wall(NamedTuple):
    """Growth along the wall, wear at three places (mm a week) and the wall's angles to the ground at four (degrees)."""

    growth: float
    wear_toe: float
    wear_heel: float
    wear_quarter: float
    toe_deg: float
    heel_deg: float
    medial_deg: float
    lateral_deg: float


class Circumstance(StrEnum):
    """What changes a hoof beside the trim cycle."""

    SHOD = "shod"
    OUT_OF_SHOES = "out_of_shoes"
    RACE_TRAINING = "race_training"
    REST = "rest"


class Effect(NamedTuple):
    """What a circumstance adds to both dimensions, mm a week, and how sure that is, as a standard deviation."""

    mm_per_week: float
    sd: float


EFFECTS: Final = MappingProxyType(
    {
        Circumstance.SHOD: Effect(-6.5 / 7.0 / pi, 0.15),
        Circumstance.OUT_OF_SHOES: Effect(6.5 / 7.0 / pi, 0.65),
        Circumstance.RACE_TRAINING: Effect(-0.6 / pi, 0.19),
        Circumstance.REST: Effect(0.0, 0.19),
    }
)
"""Published on circumference, as 1/π of it on either dimension, which a round outline would show [C].

Shod: 6.5 ± 1.6 less coronary circumference after 7 weeks than barefoot (Malone & Davies, Animals 2019;9:1017) [S]; out
of shoes the hoof is taken to make up for it as fast, with twice the usual spread altogether [C]. In race training: 0.6
less circumference each week (Decurnex et al., Equine Vet J 2009) [S]; after it, no effect but as much doubt [C].
"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Changes:
    """What is believed of a hoof's changes: a normal over (width a week, length a week, width and length at a trim).

    mean (4,) mm a week and mm, covariance (4, 4); `trim_covariance` (2, 2) is how one trim differs from the horse's
    mean trim, mm². The first two are net rates (growth less wear), the last two the mean trim of this horse.
    """

    mean: Floats
    covariance: Floats
    trim_covariance: Floats

    @property
    def next_trim(self) -> tuple[Floats, Floats]:
        """Mean (4,) and covariance (4, 4) of (rates, next trim): the mean trim with its own spread added."""
        covariance = self.covariance.copy()
        covariance[2:, 2:] += self.trim_covariance
        return self.mean, covariance


def growth_per_week(wall: Wall) -> Floats:
    """Net growth of (width, length), mm a week, shape (2,): the formulas at the head of this module."""
    toe, heel, medial, lateral = np.cos(np.radians(wall[4:]))
    width = (wall.growth - wall.wear_quarter) * (medial + lateral)
    length = (wall.growth - wall.wear_toe) * toe - (wall.growth - wall.wear_heel) * heel
    return np.array([width, length])


def usual_wall(limb: Limb) -> Wall:
    """The wall of a mature barefoot horse, with wear drawn from the steady state.

    Growth 1.75 mm a week [C]; angles 51 at the toe (53 hind), 48 at the heel, 79 at the medial and 76 at the lateral
    quarter [C]. Wear is what makes USUAL_CYCLE_WEEKS of growth equal to USUAL_TRIM_MM taken off:

        w_quarter = g − r_W / (cos α_medial + cos α_lateral),  with r = −USUAL_TRIM_MM / USUAL_CYCLE_WEEKS,

    and, wear falling evenly from heel to toe, w_toe + w_heel = 2·w_quarter [C], the same for length.
    """
    growth, angles = 1.75, (51.0 if limb.is_fore else 53.0, 48.0, 79.0, 76.0)
    toe, heel, medial, lateral = np.cos(np.radians(angles))
    width, length = -USUAL_TRIM_MM / USUAL_CYCLE_WEEKS
    quarter = growth - width / (medial + lateral)
    at_toe = (growth * (toe - heel) + 2.0 * quarter * heel - length) / (toe + heel)
    return Wall(growth, float(at_toe), float(2.0 * quarter - at_toe), float(quarter), *angles)


def usual_rates(limb: Limb) -> tuple[Floats, Floats]:
    """Mean (2,) and covariance (2, 2) of net growth a week over horses, before anything is known of this one.

    The covariance is J·C·Jᵀ (delta method; JCGM 100:2008, 5.2) [S], C holding the spreads of growth, wear and angles,
    J the formulas' derivatives at the usual wall. Neither standard deviation is below DRIFT_MM_PER_WEEK; correlations
    keep.
    """
    wall = usual_wall(limb)
    slopes = _slopes(wall)
    covariance = slopes @ _wall_covariance() @ slopes.T
    deviations = np.sqrt(np.diagonal(covariance))
    stretch = np.maximum(1.0, DRIFT_MM_PER_WEEK / deviations)
    return growth_per_week(wall), covariance * np.outer(stretch, stretch)


def usual_changes(limb: Limb, *, cycle_weeks: float, circumstances: AbstractSet[Circumstance] = frozenset()) -> Changes:
    """What is believed of a hoof's changes before its own history is known.

    Net rates b are those of `usual_rates`; the mean trim is −T·b, T being the cycle, give or take IMBALANCE_SD_MM: a
    hoof that grows faster is trimmed more. Circumstances add to the rates, e, and not to the trim: under them the hoof
    is not steady. So rates are b + e, and the covariance of rates and trims is −T·Cov(b).
    """
    base, spread = usual_rates(limb)
    effects = [EFFECTS[circumstance] for circumstance in sorted(circumstances)]
    shift = sum(effect.mm_per_week for effect in effects)
    doubt = sum(effect.sd**2 for effect in effects)
    covariance = np.empty((4, 4))
    covariance[:2, :2] = spread + doubt
    covariance[:2, 2:] = covariance[2:, :2] = -cycle_weeks * spread
    covariance[2:, 2:] = cycle_weeks**2 * spread + IMBALANCE_SD_MM**2 * np.eye(2)
    return Changes(
        mean=np.concatenate([base + shift, -cycle_weeks * base]),
        covariance=covariance,
        trim_covariance=np.diag(TRIM_SD_MM**2),
    )


def _wall_covariance() -> Floats:
    """Covariance (8, 8) of the fields of Wall, angles in radians."""
    covariance = np.zeros((8, 8))
    covariance[0, 0] = WALL_GROWTH_SD**2
    covariance[1:4, 1:4] = WEAR_SD**2 * (WEAR_CORRELATION + (1.0 - WEAR_CORRELATION) * np.eye(3))
    covariance[4:, 4:] = np.diag(np.radians(ANGLE_SD_DEG) ** 2)
    return covariance


def _slopes(wall: Wall) -> Floats:
    """Derivatives (2, 8) of `growth_per_week` by the fields of Wall, angles in radians."""
    angles = np.radians(wall[4:])
    (toe, heel, medial, lateral), sines = np.cos(angles), np.sin(angles)
    at_quarter, at_toe, at_heel = (wall.growth - wear for wear in (wall.wear_quarter, wall.wear_toe, wall.wear_heel))
    return np.array(
        [
            [medial + lateral, 0, 0, -medial - lateral, 0, 0, -at_quarter * sines[2], -at_quarter * sines[3]],
            [toe - heel, -toe, heel, 0, -at_toe * sines[0], at_heel * sines[1], 0, 0],
        ]
    )
