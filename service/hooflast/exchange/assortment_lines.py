"""Assortment lines: an assortment, or a change to one, as a list whose items name their SKU.

It is read as the same by SKU, by the same form; a fault is told where it stands in the list.
"""

import re
from collections.abc import Callable, Mapping, Sequence
from collections.abc import Set as AbstractSet
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Any, Final, TypeVar

from pydantic import Field

from hooflast.catalog.assortment import MOST_ITEMS, Assortment
from hooflast.errors import Fact, Fault, InputRefused, Path, json_pointer
from hooflast.exchange.assortment_form import (
    SKU_PATTERN,
    AssortmentHeadForm,
    AssortmentHeadPatchForm,
    AssortmentItemForm,
    AssortmentPatch,
    SkuField,
    in_place,
    read_assortment,
    read_patch,
)
from hooflast.exchange.faults import FaultCode, fault
from hooflast.exchange.match_form import Form

Read = TypeVar("Read")
_SKU: Final = re.compile(SKU_PATTERN)


class SkuForm(Form):
    """What a SKU is called."""

    sku: SkuField = Field(description="What you call it: up to 64 printable characters.", examples=["TT-1001"])


class ListedItemForm(AssortmentItemForm, SkuForm):
    """One SKU: named by GTIN, or by product and size, or by both; and how it is sold."""


class ListedAssortmentForm(AssortmentHeadForm):
    """What you sell: each SKU with what it is, its price and its stock."""

    items: list[ListedItemForm] = Field(
        max_length=MOST_ITEMS,
        description="What you sell, each SKU once.",
        examples=[[{"sku": "TT-1001", "product": "ombrick-jorveth", "size": "lapwing"}]],
    )


class AssortmentChangeForm(AssortmentHeadPatchForm):
    """What is different about an assortment, by SKU."""

    items: list[ListedItemForm] = Field(
        default=[],
        max_length=MOST_ITEMS,
        description=(
            "SKUs of which something is different, or that are new. What is left out of a SKU stays as it was; what is "
            "null is from now on as if it had never been told."
        ),
        examples=[[{"sku": "TT-1001", "stock": 2}]],
    )
    remove: list[SkuField] = Field(
        default=[],
        max_length=MOST_ITEMS,
        description="SKUs that are no longer sold. One that is not there makes no difference.",
        examples=[["TT-1002"]],
    )


@dataclass(slots=True, kw_only=True)
class _BySku:
    """Items by SKU, with where each stands in its list. What has no SKU of its own goes by a name that is none."""

    skus: AbstractSet[str]
    items: dict[str, object] = field(default_factory=dict)
    places: dict[str, Path] = field(default_factory=dict)
    faults: list[Fault] = field(default_factory=list)

    def take(self, sku: str, item: object, *, place: Path, written_at: Path) -> None:
        """Take an item that stands at `place` and names its SKU at `written_at`."""
        name = sku
        if not _SKU.fullmatch(sku):
            self._refuse(FaultCode.WRONG_FORM, sku, path=written_at, form=SKU_PATTERN)
            name = self._unused(place)
        elif sku in self.places:
            self._refuse(FaultCode.DUPLICATE_SKU, sku, path=written_at, sku=sku, first=json_pointer(self.places[sku]))
            name = self._unused(place)
        self.items[name] = item
        self.places[name] = place

    def _refuse(self, code: FaultCode, received: str, *, path: Path, **facts: Fact) -> None:
        self.faults.append(fault(code, path=path, received=received, facts=facts))

    def _unused(self, place: Path) -> str:
        name = json_pointer(place)
        while name in self.skus:
            name += "'"
        return name


def read_listed(document: Mapping[str, Any], *, assortment_id: str, now: datetime) -> Assortment:
    """Read an assortment that is to be kept under an id. Raises InputRefused with every fault there is."""
    listed = _by_sku(document["items"])
    return _read(
        listed,
        lambda: read_assortment({**document, "items": listed.items}, assortment_id=assortment_id, now=now),
    )


def read_listed_change(document: Mapping[str, Any], *, today: date) -> AssortmentPatch:
    """Read a change. Raises InputRefused with every fault that can be found without what it changes."""
    listed = _by_sku(document["items"], remove=document["remove"])
    told = {name: value for name, value in document.items() if name != "remove"}
    patch = _read(listed, lambda: read_patch({**told, "items": listed.items}, today=today))
    return replace(patch, places=listed.places)


def _by_sku(items: Sequence[Mapping[str, Any]], *, remove: Sequence[str] = ()) -> _BySku:
    listed = _BySku(skus={*(item["sku"] for item in items), *remove})
    for at, item in enumerate(items):
        told = {name: value for name, value in item.items() if name != "sku"}
        listed.take(item["sku"], told, place=("items", at), written_at=("items", at, "sku"))
    for at, sku in enumerate(remove):
        listed.take(sku, None, place=("remove", at), written_at=("remove", at))
    return listed


def _read(listed: _BySku, read: Callable[[], Read]) -> Read:
    try:
        made = read()
    except InputRefused as refused:
        found = (in_place(one, listed.places) for one in refused.faults)
        raise InputRefused(faults=(*listed.faults, *found)) from None
    if listed.faults:
        raise InputRefused(faults=tuple(listed.faults))
    return made
