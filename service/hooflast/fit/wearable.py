"""Wearable: what one hoof could wear, as numbers per boot model and size, to plan a whole horse with.

A size's fit chance is the expectation of its acceptance, its worth that of acceptance times the preference for the
place in the range; a boot model's closeness is that of `ranking`. All three are those of `match`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.boot import Closure
from hooflast.fit.chances import ACCEPTED, corner_chances, expected_worth, preference
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import Limb
from hooflast.fit.layout import Layout
from hooflast.fit.normal import Floats
from hooflast.fit.ranking import LEAST_BAND, TIE_SHARE
from hooflast.fit.sizes import TOLERANCE_MM, BootChart, SizeTable, size_table


@dataclass(frozen=True, slots=True, kw_only=True)
class Wearable:
    """One size on one hoof; `size` counts its boot model's sizes from small to large, from 0."""

    size: int
    fit_chance: float
    worth: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofBoots:
    """What one hoof could wear: the sizes of each boot model in question, and its closeness, by the boot model's id."""

    limb: Limb
    sizes: Mapping[str, tuple[Wearable, ...]]
    closeness: Mapping[str, float]


def hoof_boots(
    estimate: Estimate, layout: Layout, *, limb: Limb, boots: NDArray[np.intp], ids: tuple[str, ...]
) -> HoofBoots:
    """Every size of the given boot models (indices into the layout's table, and into `ids`) on one hoof."""
    table = layout.table
    closeness = layout.compare(estimate, boots=boots).expected
    rows = np.array([row for boot in boots for row in table.sizes_of(int(boot))], dtype=np.intp)
    fit, worth = _expected(estimate, table, rows=rows)
    sizes: dict[str, tuple[Wearable, ...]] = {}
    begin = 0
    for boot in boots:
        count = len(table.sizes_of(int(boot)))
        sizes[ids[boot]] = tuple(
            Wearable(size=size, fit_chance=float(fit[begin + size]), worth=float(worth[begin + size]))
            for size in range(count)
        )
        begin += count
    return HoofBoots(
        limb=limb,
        sizes=sizes,
        closeness={ids[boot]: float(close) for boot, close in zip(boots, closeness, strict=True)},
    )


MADE_TO_MEASURE_MM: Final = TOLERANCE_MM[Closure.PULL_ON]
"""How wide a range around the hoof's mean counts as made to its measure [C]."""


def doubt(estimate: Estimate) -> float:
    """How far apart the fit chances of two sizes may be for the hoof's uncertainty to leave open which fits better.

    As in `ranking`: not knowing the hoof exactly costs even a pull-on boot made to its measure some fit chance,
    a(μ) − E[a(W, L)], and a quarter of that is the doubt, at least 0.02 [C].
    """
    half = MADE_TO_MEASURE_MM / 2.0
    width, length = ((float(middle) - half, float(middle) + half) for middle in estimate.mean)
    chart = BootChart(closure=Closure.PULL_ON, widths_mm=[width], lengths_mm=[length], chart_step_mm=0.0)
    table = size_table([chart])
    mean = Estimate(weights=np.ones(1), means=estimate.mean[np.newaxis], covariances=np.zeros((1, 2, 2)))
    (at_mean,), (expected,) = (_expected(hoof, table, rows=np.arange(1))[0] for hoof in (mean, estimate))
    return max(LEAST_BAND, TIE_SHARE * float(at_mean - expected))


def doubt_of_all(doubts: list[float]) -> float:
    """The doubt of an expected number of hooves that fit: √Σ doubt², the hooves being read apart [C]."""
    return float(np.sqrt(np.sum(np.square(doubts))))


def _expected(estimate: Estimate, table: SizeTable, *, rows: NDArray[np.intp]) -> tuple[Floats, Floats]:
    """Fit chance and worth of the table's sizes at `rows`."""
    corners = corner_chances(estimate, edges_mm=table.edges_mm[rows], edge_sd_mm=table.edge_sd_mm[rows])
    steps = np.array([preference(table.closures[boot]) for boot in table.boot_of[rows]]).reshape(-1, 4)
    return expected_worth(corners, steps=ACCEPTED), expected_worth(corners, steps=steps)
