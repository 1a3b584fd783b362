"""Fitting answer: what is asked about a boot model that is being tried on, and what is said about it, as values."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hooflast.catalog.values import BootId, BootModel, Maker, Size, SizeCode
from hooflast.fit.findings import Finding, Seen, Standing
from hooflast.fit.lookahead import Order
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Versions
from hooflast.matching.question import MatchQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class TriedSize:
    """One size of a boot model that was tried on, and what was seen."""

    boot: BootId
    size: SizeCode
    seen: Seen


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingQuestion:
    """One hoof, the boot model being tried on it, and every try-on so far, of this boot model or of others before.

    `horse` has exactly one hoof. `boot` None: the first boot model of the ranking that was not tried yet. `at_home` is
    the one size that a buyer holds, where there is only one.
    """

    horse: MatchQuestion
    boot: BootId | None = None
    tried: tuple[TriedSize, ...] = ()
    order: Order = Order.SHORTEST
    at_home: SizeCode | None = None


class Advice(StrEnum):
    """What to do next. Members but the last are those of `fit.next_step.Step`."""

    TRY = "try"
    TRY_AGAIN = "try_again"
    SEAT_AGAIN = "seat_again"
    MOVE = "move"
    KEEP = "keep"
    CHANGE_BOOT = "change_boot"
    MEASURE_AGAIN = "measure_again"
    STOP = "stop"


@dataclass(frozen=True, slots=True, kw_only=True)
class Expected:
    """What comes of an order from here: its next size, the try-ons it takes, the chance that it ends with a size that
    fits."""

    size: SizeCode | None
    try_ons: float
    ends_fitting: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeStanding:
    """How one size stands to the hoof, all findings weighed."""

    size: Size
    chances: Mapping[Standing, float]
    was_tried: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Exchange:
    """What to do once the boot at home has shown a finding: the size to exchange it for, if there is one."""

    finding: Finding
    chance: float
    advice: Advice
    size: SizeCode | None


@dataclass(frozen=True, slots=True, kw_only=True)
class NextBoot:
    """The boot model to turn to, with what was learned carried over, and what comes of trying it."""

    boot: BootModel
    maker: Maker
    expected: Expected


@dataclass(frozen=True, slots=True, kw_only=True)
class FittingAnswer:
    """What to do next. Nothing is told of sizes and numbers where no size is to be tried.

    `boot` is None where none was named and none is to be tried.
    """

    question: FittingQuestion
    boot: BootModel | None
    maker: Maker | None
    advice: Advice
    size: SizeCode | None
    sizes: tuple[SizeStanding, ...]
    chosen: Expected | None
    shortest: Expected | None
    exchanges: tuple[Exchange, ...]
    next_boot: NextBoot | None
    steps: tuple[Remark, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    versions: Versions
