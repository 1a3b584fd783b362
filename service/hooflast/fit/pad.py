"""Pad: the room a pad takes in a boot, and how far it lifts the hoof.

A boot's walls lean: going up, medial and lateral wall come in, the toe wall goes back, and so does a stiff heel wall.
A pad lifts the hoof by h, and every point of it then meets the wall h higher, where over a wall at angle β to the
ground h·cot β of room is gone (h·cot β gained at the heel). That holds at every height of a straight wall and for every
angle of the hoof's own, so the hoof as the padded boot sees it is that much larger.

Under load a pad of thickness p keeps q·p, q = 1 − c with c the share it is compressed by. A pad lies t thick under the
toe and p under the heels, evenly in between (a full pad: t = p), so the hoof is lifted by q·(t + (p − t)·x) at the
share x of its length L, tilts by asin(q·(p − t)/L), and stands over a little less length. With the widest point at the
share s, and e = cot β_heel for a stiff heel wall, 0 for one that yields,

    width lost  = q·(t + (p − t)·s)·(cot β_medial + cot β_lateral)
    length lost = q·t·cot β_toe − q·p·e − (L − √(L² − q²(p − t)²)).

The tilted hoof meets the toe wall at its lower edge as long as it is no steeper than that wall. A pad that lies inside
the wall, under frog or sole, lifts nothing.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import asin, degrees, hypot, radians, sin, sqrt, tan
from types import MappingProxyType
from typing import Final

import numpy as np

from hooflast.fit.normal import Floats


class PadKind(StrEnum):
    """Where a pad lies: under the whole foot with its wall, inside the wall, or rising towards the heels."""

    FULL = "full"
    PARTIAL = "partial"
    WEDGE = "wedge"


class Softness(StrEnum):
    """How much a pad gives way under the horse."""

    FIRM = "firm"
    MEDIUM = "medium"
    SOFT = "soft"
    UNKNOWN = "unknown"


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """A quantity that is only known to lie within `give_or_take` of `middle`, anywhere alike."""

    middle: float
    give_or_take: float = 0.0

    @property
    def sd(self) -> float:
        """Half-width/√3, the standard uncertainty of a rectangular distribution (JCGM 100:2008, 4.3.7) [S]."""
        return self.give_or_take / sqrt(3.0)


NOTHING: Final = About(middle=0.0)

COMPRESSED: Final = MappingProxyType(
    {
        Softness.FIRM: About(middle=0.05, give_or_take=0.05),
        Softness.MEDIUM: About(middle=0.15, give_or_take=0.10),
        Softness.SOFT: About(middle=0.35, give_or_take=0.15),
        Softness.UNKNOWN: About(middle=0.15, give_or_take=0.15),
    }
)
"""Share of its thickness that a pad loses under the horse [C]."""

THICKNESS_SHARE: Final = 0.1
"""How far a pad's thickness may be off what is told, as a share of it [C]."""

WIDEST_AT: Final = About(middle=0.5, give_or_take=0.1)
"""Where a hoof is widest, as a share of its length from the toe [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Walls:
    """The angles of a boot's inner walls to the ground, degrees. `heel_deg` is None for a heel wall that yields."""

    medial_deg: About = About(middle=77.0, give_or_take=5.0)
    lateral_deg: About = About(middle=77.0, give_or_take=5.0)
    toe_deg: About = About(middle=60.0, give_or_take=6.0)
    heel_deg: About | None = None


USUAL_WALLS: Final = Walls()
"""The walls of a boot whose maker tells no angles [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Pad:
    """A pad: its thickness as sold (a wedge's at the heels, `toe_mm` at its toe), and the share it is compressed by."""

    thickness_mm: float
    kind: PadKind = PadKind.FULL
    toe_mm: float = 0.0
    compressed: About = COMPRESSED[Softness.UNKNOWN]


@dataclass(frozen=True, slots=True, kw_only=True)
class RoomLost:
    """What a pad takes of (width, length): mean (2,), mm, and covariance (2, 2), mm²; negative where room is gained.

    `toe_lift_mm` and `heel_lift_mm` say how far coronary band and heel bulbs come up against the collar, `tilt_deg` by
    how much the hoof turns onto its toe.
    """

    mean_mm: Floats
    covariance: Floats
    toe_lift_mm: float
    heel_lift_mm: float
    tilt_deg: float


def room_lost(pad: Pad, *, hoof_length_mm: float, walls: Walls = USUAL_WALLS) -> RoomLost:
    """The room a pad takes from a hoof of this length, by the formulas above.

    Share kept q, the four cotangents and the widest point s are independent and known within a range; their variances
    are carried on to first order, J diag(u²) Jᵀ (JCGM 100:2008, 5.1.2) [S].
    """
    toe_mm, heel_mm = _thicknesses(pad)
    kept = _kept(pad.compressed)
    medial, lateral, toe = (_cotangent(angle) for angle in (walls.medial_deg, walls.lateral_deg, walls.toe_deg))
    heel = NOTHING if walls.heel_deg is None else _cotangent(walls.heel_deg)
    q, s, sides = kept.middle, WIDEST_AT.middle, medial.middle + lateral.middle
    rise_mm, widest_mm = heel_mm - toe_mm, toe_mm + (heel_mm - toe_mm) * s
    ends_mm = toe_mm * toe.middle - heel_mm * heel.middle
    stood_over_mm = sqrt(hoof_length_mm**2 - (q * rise_mm) ** 2)
    slopes = np.array(
        [
            [widest_mm * sides, q * widest_mm, q * widest_mm, 0.0, 0.0, q * rise_mm * sides],
            [ends_mm - q * rise_mm**2 / stood_over_mm, 0.0, 0.0, q * toe_mm, -q * heel_mm, 0.0],
        ]
    )
    deviations = np.array([one.sd for one in (kept, medial, lateral, toe, heel, WIDEST_AT)])
    return RoomLost(
        mean_mm=np.array([q * widest_mm * sides, q * ends_mm - (hoof_length_mm - stood_over_mm)]),
        covariance=(slopes * deviations**2) @ slopes.T,
        toe_lift_mm=q * toe_mm,
        heel_lift_mm=q * heel_mm,
        tilt_deg=degrees(asin(q * rise_mm / hoof_length_mm)),
    )


def _kept(compressed: About) -> About:
    """q = (1 − c)·m, with m = 1 ± THICKNESS_SHARE for a pad that is not quite as thick as it is told."""
    share = 1.0 - compressed.middle
    return About(middle=share, give_or_take=hypot(compressed.give_or_take, THICKNESS_SHARE * share))


def _thicknesses(pad: Pad) -> tuple[float, float]:
    """What of the pad lies under the wall, at the toe and at the heels, mm."""
    if pad.kind is PadKind.PARTIAL:
        return 0.0, 0.0
    return (pad.toe_mm if pad.kind is PadKind.WEDGE else pad.thickness_mm), pad.thickness_mm


def _cotangent(angle_deg: About) -> About:
    """cot β, and what the angle's range makes of it: |d cot β / dβ| = 1/sin² β."""
    angle = radians(angle_deg.middle)
    return About(middle=1.0 / tan(angle), give_or_take=radians(angle_deg.give_or_take) / sin(angle) ** 2)
