"""Plan question: one horse, what is on sale for it, and what the plan is to reach."""

from dataclasses import dataclass
from typing import Final

from hooflast.catalog.assortment import Sku
from hooflast.catalog.values import SoldAs
from hooflast.fit.plan_order import Aim
from hooflast.matching.question import MatchQuestion

LEAST_FIT_CHANCE: Final = {Aim.SUREST: 0.25, Aim.CHEAPEST: 0.5}
"""The least fit chance of a size that is planned, where none is asked for [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeOffer:
    """One size as it is sold: named by boot model and size code, or by GTIN.

    `price` is in minor units, `stock` counts what is sold, boots or pairs; None: not told. Without `sold_as` it is sold
    as the catalog says.
    """

    boot: str | None = None
    size: str | None = None
    gtin: str | None = None
    sold_as: SoldAs | None = None
    price: int | None = None
    stock: int | None = None
    sku: Sku | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class PlanQuestion:
    """What to buy for one horse.

    Without `offers` (None) the whole catalog release is on sale, at unknown prices. `currency` is the ISO 4217 code
    of all prices and of the `budget`.
    """

    horse: MatchQuestion
    offers: tuple[SizeOffer, ...] | None = None
    currency: str | None = None
    budget: int | None = None
    aim: Aim = Aim.SUREST
    least_fit_chance: float | None = None

    @property
    def is_from_assortment(self) -> bool:
        """Whether its offers are those of an assortment."""
        return bool(self.offers) and all(offer.sku is not None for offer in self.offers or ())

    def sku(self, offer: int) -> Sku | None:
        """The SKU of one of its offers, where that comes from an assortment."""
        return None if self.offers is None else self.offers[offer].sku

    @property
    def least(self) -> float:
        """The least fit chance of a size that is planned."""
        return LEAST_FIT_CHANCE[self.aim] if self.least_fit_chance is None else self.least_fit_chance
