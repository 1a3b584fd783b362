"""Assortment: what one client sells, by its own account: SKUs with what they are, price and stock."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import Final, NewType

from hooflast.catalog.values import SoldAs

AssortmentId = NewType("AssortmentId", str)
Sku = NewType("Sku", str)
MOST_ITEMS: Final = 20_000
"""How many SKUs an assortment has at most."""


class BootSide(StrEnum):
    """Which side a boot with a last of its own for each side is for."""

    LEFT = "left"
    RIGHT = "right"


@dataclass(frozen=True, slots=True, kw_only=True)
class AssortmentItem:
    """One SKU: named by GTIN, or by a product (the id or name of a boot model or accessory) and a size code.

    `price_minor` is in minor units of the assortment's currency; `stock` counts what is sold, boots or pairs;
    `lead_days` are those until it can be sent. None: not told; without `sold_as` it is sold as the catalog says.
    """

    sku: Sku
    gtin: str | None = None
    product: str | None = None
    size: str | None = None
    side: BootSide | None = None
    sold_as: SoldAs | None = None
    price_minor: int | None = None
    stock: int | None = None
    lead_days: int | None = None

    @property
    def is_in_stock(self) -> bool:
        """Whether it can be had at once; what is not told counts as in stock."""
        return self.stock is None or self.stock > 0


@dataclass(frozen=True, slots=True, kw_only=True)
class SoldSize:
    """What an assortment has of one size, in the order in which to take it; nothing if it does not have the size."""

    currency: str
    items: tuple[AssortmentItem, ...]

    @property
    def is_in_stock(self) -> bool:
        """Whether any of it can be had at once."""
        return any(item.is_in_stock for item in self.items)


@dataclass(frozen=True, slots=True, kw_only=True)
class AssortmentHead:
    """An assortment without its items. `revision` rises with every change; `as_of` is when prices and stock were so.

    `items` is how many there are.
    """

    id: AssortmentId
    name: str
    currency: str
    revision: int
    created_at: datetime
    as_of: datetime
    items: int = 0

    @property
    def label(self) -> str:
        """The assortment at this revision, as answers name it."""
        return f"{self.id}@{self.revision}"


@dataclass(frozen=True, slots=True, kw_only=True)
class Assortment:
    """An assortment with its items, by SKU."""

    head: AssortmentHead
    items: Mapping[Sku, AssortmentItem] = field(repr=False)
