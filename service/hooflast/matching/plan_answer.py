"""Plan answer: what to buy for one horse, as values; `exchange` writes them down and `texts` says them."""

from collections.abc import Mapping
from dataclasses import dataclass

from hooflast.catalog.assortment import Sku
from hooflast.catalog.values import BootModel, Maker, Size, SoldAs
from hooflast.fit.hoof import HoofReading, Limb
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import LeftOutBecause, Versions
from hooflast.matching.needs import NeedAdvice
from hooflast.matching.plan_question import PlanQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeOf:
    """One size of one boot model."""

    boot: BootModel
    maker: Maker
    size: Size


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedHoof:
    """What one hoof is to wear, and how likely that fits."""

    limb: Limb
    wears: SizeOf
    fit_chance: float
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedItem:
    """What to buy: so many single boots or pairs of one size. Prices are in minor units, None where not known.

    `offer` is the place in the question's offers, None where none were told; `sku` is that of the asked assortment.
    """

    of: SizeOf
    sold_as: SoldAs
    quantity: int
    price: int | None
    offer: int | None
    sku: Sku | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlannedSpare:
    """Boots of one size that are bought with others and that no hoof wears."""

    of: SizeOf
    boots: int


@dataclass(frozen=True, slots=True, kw_only=True)
class HorsePlan:
    """What every hoof served wears, what is bought, and what that comes to.

    `expected_fitting` is the expected number of hooves that fit. `price` adds up the known prices; `unpriced` counts
    the boots without one. `band` is 0 where the readings cannot tell the plan from the best fit on sale.
    """

    hooves: tuple[PlannedHoof, ...]
    items: tuple[PlannedItem, ...]
    spares: tuple[PlannedSpare, ...]
    expected_fitting: float
    band: int
    price: int
    unpriced: int


@dataclass(frozen=True, slots=True, kw_only=True)
class RunnerUp:
    """The best plan in other boot models, and what it gains and costs against the best."""

    plan: HorsePlan
    trade: tuple[Remark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class FrontierStep:
    """A price from which a surer fit can be had, and in which boot models."""

    price: int
    expected_fitting: float
    boots: tuple[BootModel, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Unserved:
    """A hoof the plan leaves without a boot: why, and the likeliest size on sale for it alone."""

    limb: Limb
    because: Remark
    next_best: PlannedHoof | None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanAnswer:
    """What to buy for one horse. `plan` is None where no hoof can be served.

    `missed` tells what stood in the way of another plan: sizes out of stock, the budget.
    """

    question: PlanQuestion
    plan: HorsePlan | None
    runner_up: RunnerUp | None
    frontier: tuple[FrontierStep, ...]
    unserved: tuple[Unserved, ...]
    missed: tuple[Remark, ...]
    readings: tuple[tuple[HoofReading, tuple[Caution, ...]], ...]
    cautions: tuple[Caution, ...]
    needs: tuple[NeedAdvice, ...]
    assumptions: tuple[Remark, ...]
    left_out: Mapping[LeftOutBecause, int]
    versions: Versions
