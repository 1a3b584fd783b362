"""Uncertainty: what a reading may be off by, as a covariance of width and length.

Composed as the GUM does (JCGM 100:2008) [S]: independent causes add as variances; a cause that moves both axes at once
(the method's bias, a fault of the trim, growth since) adds as a rank-one matrix.
"""

from dataclasses import dataclass
from functools import lru_cache
from math import sqrt
from types import MappingProxyType
from typing import Final

import numpy as np

from hooflast.fit.hoof import AxisReading, HoofReading, HoofState, Method, Observer
from hooflast.fit.normal import Floats

METHOD_SD_MM: Final = MappingProxyType(
    {Method.CALLIPER: 1.0, Method.RULER: 1.5, Method.TAPE: 2.0, Method.OUTLINE: 2.0, Method.UNKNOWN: 2.5}
)
"""Standard deviation of one reading by a method, mm [C]."""

METHOD_BIAS_SD_MM: Final = MappingProxyType(
    {Method.CALLIPER: 0.5, Method.RULER: 0.5, Method.TAPE: 1.0, Method.OUTLINE: 1.0, Method.UNKNOWN: 1.0}
)
"""How far a method may be off in one direction, repeats or not, mm [C]."""

STATE_SD_MM: Final = MappingProxyType(
    {
        HoofState.LONG_TOE: (0.0, 4.0),
        HoofState.HIGH_HEEL: (0.0, 3.0),
        HoofState.UNDER_RUN_HEEL: (0.0, 4.0),
        HoofState.FLARE: (4.0, 1.0),
        HoofState.DIRTY_SOLE: (1.0, 1.5),
        HoofState.WEIGHTED: (2.0, 2.0),
    }
)
"""What each doubtful state adds on (width, length), moving both together, mm [C]."""

LENGTH_TO_WIDTH_FOR_OWNERS: Final = 1.5
"""The buttress line is found by eye: an owner's length is at least this much less certain than the width [C]."""

METHOD_WEIGHT_IN_REPEATS: Final = 4.0
"""Degrees of freedom that the method's own spread counts for when repeats are pooled with it [C]."""

DRIFT_MM_PER_WEEK: Final = 3.0 / 8.0
"""Spread of either dimension for each week since the reading: 3 mm in 8 weeks [C]."""

DRIFT_CORRELATION: Final = 0.5
"""Width and length grow at one rate but wear apart [C]."""

ALLOWANCE_SD_SHARE: Final = 0.25
"""How unevenly a bandage, a cast or a shoe adds to both sides together, as a share of what it adds [C]."""

BLUNDER_CHANCE: Final = MappingProxyType({Observer.OWNER: 0.03, Observer.PROFESSIONAL: 0.0})
"""Chance per axis that a reading is grossly off, by who read [C]."""

BLUNDER_SD_MM: Final = 15.0
"""Spread of a gross error, mm [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReadingError:
    """The error of one hoof's reading: covariances (K, 2, 2) over (width, length), mm², and the chance of each.

    With K = 1 the error is a normal; with K = 4 it is one, or with a gross error on width, on length, on both.
    """

    chances: Floats
    covariances: Floats


def resolution_uncertainty(resolution_mm: float) -> float:
    """Standard uncertainty of reading to the nearest step: δ/√12 (JCGM 100:2008, F.2.2.1) [S]."""
    return resolution_mm / sqrt(12.0)


def repeatability_uncertainty(values_mm: tuple[float, ...], *, method_sd_mm: float) -> float:
    """Standard uncertainty of the mean of n repeats: s/√n (JCGM 100:2008, 4.2.3) [S], s pooled with the method's own.

    s² = (ν₀σ² + Σ(x − x̄)²) / (ν₀ + n − 1), so that two repeats that happen to agree do not claim certainty;
    one reading alone has the method's σ.
    """
    values = np.asarray(values_mm)
    squares = float(np.sum((values - values.mean()) ** 2))
    freedom = METHOD_WEIGHT_IN_REPEATS + len(values) - 1
    pooled = (METHOD_WEIGHT_IN_REPEATS * method_sd_mm**2 + squares) / freedom
    return sqrt(pooled / len(values))


@lru_cache(maxsize=1024)
def reading_error(reading: HoofReading) -> ReadingError:
    """The error of one hoof's reading, from its method, repeats, resolution, states, age and observer."""
    width_sd = _axis_sd(reading.width, method=reading.method)
    length_sd = _axis_sd(reading.length, method=reading.method)
    if reading.observer is Observer.OWNER:
        length_sd = LENGTH_TO_WIDTH_FOR_OWNERS * max(length_sd, width_sd)
    bias = _bias(reading)
    covariance = np.diag([width_sd**2, length_sd**2]) + np.outer(bias, bias)
    for state in reading.states:
        moved = np.array(STATE_SD_MM[state])
        covariance += np.outer(moved, moved)
    covariance += drift_covariance(reading.age_weeks * reading.drift_factor)
    return _with_blunders(covariance, chance=BLUNDER_CHANCE[reading.observer])


def shared_error(one: HoofReading, other: HoofReading) -> Floats:
    """Covariance between the errors of two hooves' readings, mm², shape (2, 2): one person, one method, one bias."""
    if (one.method, one.observer) != (other.method, other.observer):
        return np.zeros((2, 2))
    bias = _bias(one)
    return np.outer(bias, bias)


def drift_covariance(weeks: float) -> Floats:
    """What `weeks` without a new reading add, mm², shape (2, 2) [C]."""
    variance = (DRIFT_MM_PER_WEEK * weeks) ** 2
    return variance * np.array([[1.0, DRIFT_CORRELATION], [DRIFT_CORRELATION, 1.0]])


def _bias(reading: HoofReading) -> Floats:
    """Standard deviations of the method's bias on (width, length), moving both together."""
    harder = LENGTH_TO_WIDTH_FOR_OWNERS if reading.observer is Observer.OWNER else 1.0
    return METHOD_BIAS_SD_MM[reading.method] * np.array([1.0, harder])


def _axis_sd(axis: AxisReading, *, method: Method) -> float:
    repeatability = repeatability_uncertainty(axis.values_mm, method_sd_mm=METHOD_SD_MM[method])
    return sqrt(repeatability**2 + resolution_uncertainty(axis.resolution_mm) ** 2)


def _with_blunders(covariance: Floats, *, chance: float) -> ReadingError:
    if chance == 0.0:
        return ReadingError(chances=np.ones(1), covariances=covariance[np.newaxis])
    sound, gross = 1.0 - chance, chance
    chances = np.array([sound * sound, gross * sound, sound * gross, gross * gross])
    added = BLUNDER_SD_MM**2 * np.array([[0.0, 0.0], [1.0, 0.0], [0.0, 1.0], [1.0, 1.0]])
    return ReadingError(chances=chances, covariances=covariance + added[:, :, np.newaxis] * np.eye(2))
