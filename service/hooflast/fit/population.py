"""Population: what a hoof of this kind of animal and limb is like before it is measured.

Width and length are normal around the kind's means, with one spread for size (both together) and a smaller one for
shape (one against the other). The means, in mm, are our convention [C]; they keep the ratios of fit-model section 5
and are held against published groups in the tests.
"""

from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Final

import numpy as np

from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.normal import Floats

SIZE_SPREAD: Final = 0.125
"""Standard deviation of (width + length) / 2, as a share of its mean; wide on purpose [C]."""

SHAPE_SPREAD: Final = 0.055
"""Standard deviation of width − length, as a share of the same mean [C]."""

FORE_MEANS_MM: Final = MappingProxyType(
    {
        AnimalType.HORSE: (130.0, 129.0),
        AnimalType.PONY: (110.0, 109.0),
        AnimalType.DRAFT: (172.0, 160.0),
        AnimalType.MINI: (80.0, 79.0),
        AnimalType.DONKEY: (88.0, 100.0),
        AnimalType.MULE: (106.0, 116.0),
    }
)
"""Mean (width, length) of a fore hoof, mm [C]."""

HIND_MEANS_MM: Final = MappingProxyType(
    {
        AnimalType.HORSE: (125.0, 128.0),
        AnimalType.PONY: (106.0, 108.0),
        AnimalType.DRAFT: (160.0, 160.0),
        AnimalType.MINI: (77.0, 79.0),
        AnimalType.DONKEY: (84.0, 98.0),
        AnimalType.MULE: (101.0, 114.0),
    }
)
"""Mean (width, length) of a hind hoof, mm [C]."""

USUAL_MM: Final = MappingProxyType(
    {
        AnimalType.HORSE: (80.0, 180.0),
        AnimalType.PONY: (70.0, 150.0),
        AnimalType.DRAFT: (110.0, 220.0),
        AnimalType.MINI: (50.0, 110.0),
        AnimalType.DONKEY: (60.0, 140.0),
        AnimalType.MULE: (70.0, 160.0),
    }
)
"""Readings outside are kept, with a request to look again, mm [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Population:
    """Mean (2,) and covariance (2, 2) of (width, length) over the hooves of one kind, mm and mm²."""

    mean: Floats
    covariance: Floats


@cache
def population(animal_type: AnimalType, *, limb: Limb) -> Population:
    """The population prior for a kind of animal and a fore or hind limb."""
    mean = np.array((FORE_MEANS_MM if limb.is_fore else HIND_MEANS_MM)[animal_type])
    middle = mean.mean()
    size, half_shape = SIZE_SPREAD * middle, SHAPE_SPREAD * middle / 2.0
    variance, covariance = size**2 + half_shape**2, size**2 - half_shape**2
    return Population(mean=mean, covariance=np.array([[variance, covariance], [covariance, variance]]))
