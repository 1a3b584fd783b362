"""Comparing: a horse's readings against each other and against its kind; what stands out more than chance explains.

All tests of one horse share one false-alarm rate: each of m tests is made at FALSE_ALARMS / m (Bonferroni), so that of
horses with nothing the matter at most that share is told anything here. A test compares readings, not estimates: the
error that two readings share, because one person read both in one way, cancels in their difference.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import product
from typing import Final

import numpy as np
from scipy.special import ndtri
from scipy.stats import chi2

from hooflast.fit.hoof import AnimalType, Axis, HoofReading, Limb
from hooflast.fit.normal import Floats
from hooflast.fit.population import population
from hooflast.fit.remark import Severity
from hooflast.fit.uncertainty import ReadingError, reading_error, shared_error

FALSE_ALARMS: Final = 0.05
"""Share of horses with nothing the matter that are told something here, at most [C]."""

LEFT_RIGHT_MM: Final = ((9.5, Severity.LOOK_AGAIN), (6.5, Severity.LOOK_AGAIN), (3.0, Severity.NOTE))
"""A difference from which sizes may differ, to look closely, to ask the professional: 1/8, 1/4, 3/8 inch [CP]."""

FORE_HIND_SPREAD_MM: Final = 4.0
"""How far fore and hind of one sound horse differ from their kind's usual difference, standard deviation [C]."""

PAIRS: Final = ((Limb.LF, Limb.RF), (Limb.LH, Limb.RH))
SAME_SIDE: Final = ((Limb.LF, Limb.LH), (Limb.RF, Limb.RH))
AXES: Final = (Axis.WIDTH, Axis.LENGTH)


class Finding(StrEnum):
    """What a comparison found."""

    LEFT_RIGHT = "left_right"
    FORE_HIND = "fore_hind"
    UNLIKE_ITS_KIND = "unlike_its_kind"


@dataclass(frozen=True, slots=True, kw_only=True)
class Comparison:
    """Something that stands out. `other` and `axis` are None where one hoof was held against its kind.

    `difference_mm` is the first limb's reading less the other's (the second less its kind's usual for fore and hind).
    """

    finding: Finding
    severity: Severity
    limb: Limb
    other: Limb | None
    axis: Axis | None
    difference_mm: float
    z: float


def compare_readings(readings: Sequence[HoofReading], *, animal_type: AnimalType) -> tuple[Comparison, ...]:
    """Everything that stands out among one horse's readings, at the horse's one false-alarm rate."""
    by_limb = {reading.limb: reading for reading in readings}
    pairs = [pair for pair in PAIRS if set(pair) <= by_limb.keys()]
    sides = [pair for pair in SAME_SIDE if set(pair) <= by_limb.keys()]
    level = FALSE_ALARMS / (len(AXES) * (len(pairs) + len(sides)) + len(readings))
    limit = float(ndtri(1.0 - level / 2.0))
    found: list[Comparison | None] = [
        _left_right(by_limb[left], by_limb[right], axis=axis, limit=limit)
        for (left, right), axis in product(pairs, AXES)
    ]
    found += [
        _fore_hind(by_limb[fore], by_limb[hind], axis=axis, limit=limit, animal_type=animal_type)
        for (fore, hind), axis in product(sides, AXES)
    ]
    found += [_kind(reading, level=level, animal_type=animal_type) for reading in readings]
    return tuple(one for one in found if one is not None)


def distance_from_kind(reading: HoofReading, *, animal_type: AnimalType) -> float:
    """Squared Mahalanobis distance of a reading from its population, χ² with two degrees of freedom for a sound one."""
    kind = population(animal_type, limb=reading.limb)
    apart = _means(reading) - kind.mean
    return float(apart @ np.linalg.solve(kind.covariance + _plain_covariance(reading_error(reading)), apart))


def likeness_limit(level: float) -> float:
    """The squared distance that a sound reading passes with chance `level`."""
    return float(chi2.isf(level, df=2))


def _left_right(left: HoofReading, right: HoofReading, *, axis: Axis, limit: float) -> Comparison | None:
    difference, deviation = _difference(left, right, axis=axis)
    severity = next((severity for least, severity in LEFT_RIGHT_MM if abs(difference) >= least), None)
    if severity is None or abs(difference) <= limit * deviation:
        return None
    return Comparison(
        finding=Finding.LEFT_RIGHT,
        severity=severity,
        limb=left.limb,
        other=right.limb,
        axis=axis,
        difference_mm=difference,
        z=difference / deviation,
    )


def _fore_hind(
    fore: HoofReading, hind: HoofReading, *, axis: Axis, limit: float, animal_type: AnimalType
) -> Comparison | None:
    column = AXES.index(axis)
    usual = population(animal_type, limb=fore.limb).mean - population(animal_type, limb=hind.limb).mean
    read, deviation = _difference(fore, hind, axis=axis)
    difference = read - float(usual[column])
    deviation = float(np.hypot(deviation, FORE_HIND_SPREAD_MM))
    if abs(difference) <= limit * deviation:
        return None
    return Comparison(
        finding=Finding.FORE_HIND,
        severity=Severity.LOOK_AGAIN,
        limb=fore.limb,
        other=hind.limb,
        axis=axis,
        difference_mm=difference,
        z=difference / deviation,
    )


def _kind(reading: HoofReading, *, level: float, animal_type: AnimalType) -> Comparison | None:
    distance = distance_from_kind(reading, animal_type=animal_type)
    if distance <= likeness_limit(level):
        return None
    apart = _means(reading) - population(animal_type, limb=reading.limb).mean
    return Comparison(
        finding=Finding.UNLIKE_ITS_KIND,
        severity=Severity.LOOK_AGAIN,
        limb=reading.limb,
        other=None,
        axis=None,
        difference_mm=float(apart[np.argmax(np.abs(apart))]),
        z=float(np.sqrt(distance)),
    )


def _difference(one: HoofReading, other: HoofReading, *, axis: Axis) -> tuple[float, float]:
    """The readings' difference and its standard deviation, without the error they share."""
    column = AXES.index(axis)
    variance = sum(_plain_covariance(reading_error(reading))[column, column] for reading in (one, other))
    variance -= 2.0 * shared_error(one, other)[column, column]
    return float(_means(one)[column] - _means(other)[column]), float(np.sqrt(variance))


def _means(reading: HoofReading) -> Floats:
    return np.array([reading.width.mean_mm, reading.length.mean_mm])


def _plain_covariance(error: ReadingError) -> Floats:
    """The error's covariance without blunders: what a test for blunders must hold readings against."""
    plain: Floats = error.covariances[0]
    return plain
