"""Evidence: whether offsets that were learned would have foretold outcomes that were held out.

Outcomes are parted into FOLDS; each fold is foretold by what the others teach, once with offsets and once with none
(keeping and readings learned both times). The score is the log chance of what came about (a proper score: it is best
for whoever believes right), never the share of outcomes guessed, since most boots are kept. Sales of one order stand
and fall together: they are held out together, and errors are those of sums over orders.

References: T. Gneiting, A. E. Raftery, Strictly proper scoring rules, prediction, and estimation, JASA 102 (2007),
359-378 [S]; D. W. Hosmer, S. Lemeshow, Goodness of fit tests for the multiple logistic regression model, Commun. Stat.
Theory Methods 9 (1980), 1043-1069 [S].
"""

from collections.abc import Hashable, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from math import sqrt
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.stats import chi2

from hooflast.fit.learning import foretell, learn
from hooflast.fit.normal import Floats
from hooflast.fit.offset_prior import Priors, design
from hooflast.fit.outcome import OF_FIT, Outcome
from hooflast.fit.sale import Sales
from hooflast.fit.sizes import SizeTable

FOLDS: Final = 5

LEAST_OUTCOMES: Final = 30
LEAST_RETURNS: Final = 5
"""Outcomes of a boot model, and returns for its fit among them, below which nothing is proposed of it [C]."""

STANDARD_ERRORS: Final = 1.0
"""By how many of its own standard errors the score must have risen for an offset to be proposed [C]."""

MOST_BINS: Final = 10
LEAST_IN_BIN: Final = 20
"""Foretold outcomes are binned by their chance into as many bins as hold this many each, at most ten [C]."""

UNLIKELY: Final = 0.01
"""Chances of being kept count as not borne out if a gap as large as the observed is less likely than this [C]."""


class Bar(StrEnum):
    """Whether the evidence for a boot model's offsets is over the bar, and what it lacks."""

    OVER = "over"
    FEW_OUTCOMES = "few_outcomes"
    FEW_RETURNS = "few_returns"
    NO_GAIN = "no_gain"


@dataclass(frozen=True, slots=True, kw_only=True)
class HeldOut:
    """Each of N outcomes as it was foretold while held out: log score gained by offsets, chance of being kept."""

    gains: Floats
    kept: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Evidence:
    """How a boot model's offsets fared on held-out outcomes: mean log score gained per outcome, its standard error."""

    outcomes: int
    returns: int
    gain: float
    error: float

    @property
    def bar(self) -> Bar:
        """Whether that is enough."""
        if self.outcomes < LEAST_OUTCOMES:
            return Bar.FEW_OUTCOMES
        if self.returns < LEAST_RETURNS:
            return Bar.FEW_RETURNS
        return Bar.OVER if self.gain > STANDARD_ERRORS * self.error else Bar.NO_GAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Bin:
    """Outcomes with like chances of being kept: how many, what was foretold on average, what share was kept."""

    outcomes: int
    foretold: float
    kept: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Reliability:
    """Chances of being kept against what came about, by bins, and how likely gaps as large would be if they held."""

    bins: tuple[Bin, ...]
    likelihood: float

    @property
    def borne_out(self) -> bool:
        """Whether the chances agree with what came about."""
        return self.likelihood >= UNLIKELY


def hold_out(
    sales: Sales, table: SizeTable, *, makers: Sequence[int], priors: Priors, orders: Sequence[Hashable]
) -> HeldOut:
    """Foretell every outcome from the folds it is not in; `orders` (N,) names the order of each sale."""
    layouts = [
        design(sales, table, makers=makers, priors=believed) for believed in (priors, replace(priors, offset_sd_mm=0.0))
    ]
    starts = [learn(layout).mode for layout in layouts]
    fold = folds(orders)
    gains, kept = np.zeros(len(fold)), np.zeros(len(fold))
    for held in np.unique(fold):
        taught, asked = np.flatnonzero(fold != held), np.flatnonzero(fold == held)
        found, usual = (
            foretell(learn(layout.only(taught), start=start), layout.only(asked))
            for layout, start in zip(layouts, starts, strict=True)
        )
        gains[asked], kept[asked] = np.log(found.came_about / usual.came_about), found.kept
    return HeldOut(gains=gains, kept=kept)


def folds(orders: Sequence[Hashable]) -> NDArray[np.intp]:
    """The fold of each sale: orders are dealt out in turn, as they first come, so that each stays in one."""
    first = {order: place for place, order in enumerate(dict.fromkeys(orders))}
    return np.array([first[order] % FOLDS for order in orders], dtype=np.intp)


def evidence(held_out: HeldOut, sales: Sales, *, rows: NDArray[np.intp], orders: Sequence[Hashable]) -> Evidence:
    """The evidence of the outcomes of some rows, such as one boot model's."""
    places = {order: place for place, order in enumerate(dict.fromkeys(orders[row] for row in rows))}
    by_order = np.bincount([places[orders[row]] for row in rows], weights=held_out.gains[rows])
    count = len(rows)
    spread = float(by_order.var(ddof=1)) if len(by_order) > 1 else 0.0
    return Evidence(
        outcomes=count,
        returns=int((sales.outcomes[rows] != OF_FIT.index(Outcome.KEPT)).sum()),
        gain=float(by_order.sum()) / count,
        error=sqrt(len(by_order) * spread) / count,
    )


def reliability(held_out: HeldOut, sales: Sales) -> Reliability:
    """Bins of like size, and Σ_bins (kept − Σp)² / Σp(1 − p) against χ² with one degree of freedom a bin.

    No degree is taken off for what was fitted, since each outcome was foretold without it.
    """
    order = np.argsort(held_out.kept, kind="stable")
    chances = held_out.kept[order]
    kept = (sales.outcomes == OF_FIT.index(Outcome.KEPT)).astype(float)[order]
    count = min(MOST_BINS, max(1, len(order) // LEAST_IN_BIN))
    statistic = 0.0
    bins = []
    for rows in np.array_split(np.arange(len(order)), count):
        variance = float((chances[rows] * (1.0 - chances[rows])).sum())
        statistic += float((kept[rows] - chances[rows]).sum()) ** 2 / max(variance, np.finfo(float).tiny)
        bins.append(Bin(outcomes=len(rows), foretold=float(chances[rows].mean()), kept=float(kept[rows].mean())))
    return Reliability(bins=tuple(bins), likelihood=float(chi2.sf(statistic, df=count)))
