"""Strategies: hooves, readings and charts of every kind, and short ways to write down a particular one."""

from collections.abc import Sequence

import numpy as np
from hypothesis import settings
from hypothesis import strategies as st

from hooflast.fit.boot import Closure
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, HoofState, Limb, Method, Observer
from hooflast.fit.sizes import BootChart, Interval

bounded = settings(max_examples=50, deadline=None)

KNOWN_MM = 1e-6
"""Standard deviation of a hoof that is as good as known."""


def hoof(width: float, length: float, *, sd: float | tuple[float, float] = 1.0, correlation: float = 0.0) -> Estimate:
    """A hoof believed to be one normal."""
    width_sd, length_sd = sd if isinstance(sd, tuple) else (sd, sd)
    shared = correlation * width_sd * length_sd
    return Estimate(
        weights=np.ones(1),
        means=np.array([[width, length]]),
        covariances=np.array([[[width_sd**2, shared], [shared, length_sd**2]]]),
    )


def known(width: float, length: float) -> Estimate:
    return hoof(width, length, sd=KNOWN_MM)


def mixture(parts: Sequence[Estimate], *, weights: Sequence[float]) -> Estimate:
    """A hoof that is one of several, each a single normal."""
    shares = np.array(weights, dtype=float)
    return Estimate(
        weights=shares / shares.sum(),
        means=np.concatenate([part.means for part in parts]),
        covariances=np.concatenate([part.covariances for part in parts]),
    )


def read(
    width: float | Sequence[float],
    length: float | Sequence[float],
    *,
    resolution_mm: float = 1.0,
    limb: Limb = Limb.LF,
    method: Method = Method.CALLIPER,
    observer: Observer = Observer.PROFESSIONAL,
    states: Sequence[HoofState] = (),
    age_weeks: float = 0.0,
) -> HoofReading:
    """A reading; by calliper and a professional unless told otherwise."""
    widths, lengths = (tuple(np.atleast_1d(values).tolist()) for values in (width, length))
    return HoofReading(
        limb=limb,
        width=AxisReading(values_mm=widths, resolution_mm=resolution_mm),
        length=AxisReading(values_mm=lengths, resolution_mm=resolution_mm),
        method=method,
        observer=observer,
        states=frozenset(states),
        age_weeks=age_weeks,
    )


def ladder(
    *,
    closure: Closure = Closure.PULL_ON,
    first: tuple[float, float] = (100.0, 100.0),
    span: float = 4.0,
    step: float = 5.0,
    count: int = 8,
    chart_step_mm: float = 1.0,
    make_sd_mm: float = 1.0,
) -> BootChart:
    """A chart of evenly growing sizes: 100–104, 105–109, … on both axes, which touch when read to whole mm."""
    widths, lengths = ([(start + step * size, start + step * size + span) for size in range(count)] for start in first)
    return BootChart(
        closure=closure,
        widths_mm=widths,
        lengths_mm=lengths,
        chart_step_mm=chart_step_mm,
        make_sd_mm=make_sd_mm,
    )


def single(
    width: Interval | None, length: Interval | None, *, closure: Closure = Closure.PULL_ON, chart_step_mm: float = 0.0
) -> BootChart:
    """A chart of one size."""
    return BootChart(closure=closure, widths_mm=[width], lengths_mm=[length], chart_step_mm=chart_step_mm)


closures = st.sampled_from(Closure)
limbs = st.sampled_from(Limb)
animal_types = st.sampled_from(AnimalType)
states = st.frozensets(st.sampled_from(HoofState))


def lengths_mm(low: float = 90.0, high: float = 160.0) -> st.SearchStrategy[float]:
    return st.floats(low, high)


@st.composite
def axis_readings(draw: st.DrawFn, *, about: float) -> AxisReading:
    values = draw(st.lists(st.floats(about - 5.0, about + 5.0), min_size=1, max_size=4))
    return AxisReading(values_mm=tuple(values), resolution_mm=draw(st.sampled_from([0.1, 1.0, 3.175, 5.0])))


@st.composite
def readings(draw: st.DrawFn, *, observers: Sequence[Observer] = tuple(Observer)) -> HoofReading:
    width = draw(lengths_mm())
    return HoofReading(
        limb=draw(limbs),
        width=draw(axis_readings(about=width)),
        length=draw(axis_readings(about=width * draw(st.floats(0.85, 1.15)))),
        method=draw(st.sampled_from(Method)),
        observer=draw(st.sampled_from(observers)),
        states=draw(states),
        age_weeks=draw(st.floats(0.0, 26.0)),
    )


@st.composite
def normals(draw: st.DrawFn, *, least_sd: float = 0.3, most_sd: float = 9.0) -> Estimate:
    """A hoof believed to be one normal, with a spread such as occurs."""
    return hoof(
        draw(lengths_mm()),
        draw(lengths_mm()),
        sd=(draw(st.floats(least_sd, most_sd)), draw(st.floats(least_sd, most_sd))),
        correlation=draw(st.floats(-0.9, 0.9)),
    )


@st.composite
def mixtures(draw: st.DrawFn) -> Estimate:
    """A hoof believed to be one of up to four normals."""
    parts = draw(st.lists(normals(), min_size=1, max_size=4))
    weights = draw(st.lists(st.floats(0.01, 1.0), min_size=len(parts), max_size=len(parts)))
    return mixture(parts, weights=weights)


@st.composite
def _ranges(draw: st.DrawFn, *, count: int) -> list[Interval]:
    """Ranges that grow from size to size; they may touch, overlap, leave gaps, or stay the same for a while."""
    low, high = (start := draw(lengths_mm(90.0, 130.0))), start + draw(st.floats(1.0, 15.0))
    ranges = []
    for _ in range(count):
        ranges.append((low, high))
        low, high = low + draw(st.floats(0.0, 8.0)), high + draw(st.floats(0.0, 8.0))
        high = max(high, low + 1.0)
    return ranges


@st.composite
def charts(draw: st.DrawFn, *, closure: st.SearchStrategy[Closure] = closures, complete: bool = False) -> BootChart:
    """A size chart; unless it is to be complete, an axis may be missing throughout."""
    count = draw(st.integers(1, 5))
    widths: Sequence[Interval | None] = draw(_ranges(count=count))
    lengths: Sequence[Interval | None] = draw(_ranges(count=count))
    missing = "none" if complete else draw(st.sampled_from(["none", "none", "width", "length"]))
    return BootChart(
        closure=draw(closure),
        widths_mm=[None] * count if missing == "width" else widths,
        lengths_mm=[None] * count if missing == "length" else lengths,
        chart_step_mm=draw(st.sampled_from([0.0, 1.0, 3.175, 5.0])),
    )
