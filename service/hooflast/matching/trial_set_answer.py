"""Trial set answer: what is asked for a trial set, and what is said, as values."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum

from hooflast.catalog.values import BootId, BootModel, Maker, Size, SizeCode
from hooflast.fit.demand import Counting
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Versions
from hooflast.matching.herd_question import HerdQuestion

NamedSize = tuple[BootId, SizeCode]


class ServedBy(StrEnum):
    """When a hoof is served: once a size's fit chance reaches a threshold, or as far as its best size fits."""

    THRESHOLD = "threshold"
    CHANCE = "chance"


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSetQuestion:
    """Which sizes a van or a shop should carry for a herd.

    `share` is the part of the herd to be served. `most` bounds the curve. `costs` are per size, `other_cost` for every
    size that is not among them. Sizes `at_hand` are there already.
    """

    herd: HerdQuestion
    share: float = 0.8
    counting: Counting = Counting.HOOVES
    served_by: ServedBy = ServedBy.THRESHOLD
    threshold: float = 0.5
    most: int = 20
    must: tuple[NamedSize, ...] = ()
    at_hand: tuple[NamedSize, ...] = ()
    costs: Mapping[NamedSize, float] = field(default_factory=dict)
    other_cost: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True)
class CarriedSize:
    """One size of the set, what it costs, and the share of the hooves that it serves best of the set."""

    boot: BootModel
    maker: Maker
    size: Size
    cost: float
    is_asked_for: bool
    best_for: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePoint:
    """The best share found for a number of sizes; no choice of as many serves more than `bound`."""

    count: int
    share: float
    bound: float
    is_exact: bool
    sizes: tuple[NamedSize, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class TrialSetAnswer:
    """The set, its share and cost, what bounds both, and the curve of share against number of sizes.

    `mean_chance` is the mean over hooves of the fit chance of the best size carried or at hand. `attainable` is what
    every size in question would serve together.
    """

    question: TrialSetQuestion
    horses: int
    hooves: int
    sizes_in_question: int
    carried: tuple[CarriedSize, ...]
    share: float
    mean_chance: float
    cost: float
    least_cost: float
    is_exact: bool
    attainable: float
    curve: tuple[CurvePoint, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    versions: Versions
