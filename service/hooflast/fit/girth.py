"""Girth: what a horse's chest girth says about the width of its fore hooves, before or beside a reading.

Mean fore width as a share of chest girth, from 77 mares of four breeds: 5.93 % Purebred Arabian, 6.41 % Anglo-Arabian,
6.56 % Konik, 7.26 % coldblood (Animal Science Papers and Reports 2011;29:213) [S]. A build that is not told lies
anywhere among them. An overweight horse has more girth, not more hoof: its girth says no more than an upper bound.
"""

from dataclasses import dataclass
from enum import StrEnum
from math import hypot
from types import MappingProxyType
from typing import Final


class Build(StrEnum):
    """Builds of horse for which the share of hoof in girth was published."""

    ARABIAN = "arabian"
    ANGLO_ARABIAN = "anglo_arabian"
    KONIK = "konik"
    COLDBLOOD = "coldblood"


WIDTH_SHARE: Final = MappingProxyType(
    {Build.ARABIAN: 0.0593, Build.ANGLO_ARABIAN: 0.0641, Build.KONIK: 0.0656, Build.COLDBLOOD: 0.0726}
)
"""Fore hoof width / chest girth [S]."""

SINGLE_HORSE_SPREAD: Final = 0.06
"""Coefficient of variation of single horses around their build's share [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class GirthWidth:
    """A rough expectation of fore hoof width, mm: mean and standard deviation."""

    mean_mm: float
    sd_mm: float


def width_from_girth(girth_mm: float, *, build: Build | None = None) -> GirthWidth:
    """Fore hoof width expected from chest girth. Without a build the spread between the builds is added."""
    shares = list(WIDTH_SHARE.values()) if build is None else [WIDTH_SHARE[build]]
    share = sum(shares) / len(shares)
    between = (sum((one - share) ** 2 for one in shares) / len(shares)) ** 0.5
    return GirthWidth(mean_mm=share * girth_mm, sd_mm=hypot(SINGLE_HORSE_SPREAD * share, between) * girth_mm)
