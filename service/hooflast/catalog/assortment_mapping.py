"""Assortment mapping: which boot model or accessory, and which size of it, each SKU of an assortment is.

A GTIN decides where there is one; else a product, by its id or its name with or without its maker's, and a size code.
Capitals, spaces and hyphens make no difference. What cannot be told apart is not guessed at.
"""

import re
from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from difflib import get_close_matches
from enum import StrEnum
from typing import Final

from hooflast.catalog.assortment import Assortment, AssortmentItem, Sku
from hooflast.catalog.values import AccessoryId, BootId, CatalogRelease, SizeCode
from hooflast.errors import Fact

GTIN_DIGITS: Final = 14
MOST_SOUGHT: Final = 100
"""For how many unknown products the nearest name is sought [C]: each is compared with every name there is."""

_BETWEEN_WORDS: Final = re.compile(r"[\s_-]+")


class Unmapped(StrEnum):
    """Why a SKU leads to nothing in the catalog."""

    GTIN_UNKNOWN = "gtin-unknown"
    PRODUCT_UNKNOWN = "product-unknown"
    PRODUCT_AMBIGUOUS = "product-ambiguous"
    SIZE_UNKNOWN = "size-unknown"
    GTIN_OF_ANOTHER = "gtin-of-another"


@dataclass(frozen=True, slots=True, kw_only=True)
class Place:
    """One size of a boot model or of an accessory; one of the two is named."""

    boot: BootId | None = None
    accessory: AccessoryId | None = None
    size: SizeCode


@dataclass(frozen=True, slots=True, kw_only=True)
class NotMapped:
    """A SKU that leads to nothing, why, and the facts of that."""

    item: AssortmentItem
    reason: Unmapped
    facts: Mapping[str, Fact]


@dataclass(frozen=True, slots=True, kw_only=True)
class MappedAssortment:
    """Where each SKU leads in one catalog release, and which lead nowhere, by SKU."""

    places: Mapping[Sku, Place]
    not_mapped: tuple[NotMapped, ...]

    def of_boots(self, assortment: Assortment) -> dict[tuple[BootId, SizeCode], tuple[AssortmentItem, ...]]:
        """The items of each size of each boot model, by SKU."""
        found: defaultdict[tuple[BootId, SizeCode], list[AssortmentItem]] = defaultdict(list)
        for sku, place in self.places.items():
            if place.boot is not None:
                found[place.boot, place.size].append(assortment.items[sku])
        return {place: tuple(items) for place, items in found.items()}


def map_assortment(assortment: Assortment, release: CatalogRelease) -> MappedAssortment:
    """Map every SKU onto the sizes of a catalog release."""
    index = _Index(release)
    places: dict[Sku, Place] = {}
    not_mapped = []
    for sku in sorted(assortment.items):
        found = index.find(assortment.items[sku])
        if isinstance(found, Place):
            places[sku] = found
        else:
            not_mapped.append(found)
    return MappedAssortment(places=places, not_mapped=tuple(not_mapped))


class _Index:
    """A catalog release as shops name it."""

    def __init__(self, release: CatalogRelease) -> None:
        self._gtins: dict[str, Place] = {}
        self._sizes: dict[tuple[str, str], dict[str, Place]] = {}
        self._named: defaultdict[str, set[tuple[str, str]]] = defaultdict(set)
        self._nearest: dict[str, str | None] = {}
        for boot in release.boots.values():
            sizes = {size.code: (Place(boot=boot.id, size=size.code), size.gtin) for size in boot.sizes}
            self._take(
                ("boot", boot.id), names=_names(boot.id, boot.name, release.makers[boot.maker].name), sizes=sizes
            )
        for one in release.accessories.values():
            sizes = {size.code: (Place(accessory=one.id, size=size.code), size.gtin) for size in one.sizes}
            self._take(
                ("accessory", one.id), names=_names(one.id, one.name, release.makers[one.maker].name), sizes=sizes
            )

    def find(self, item: AssortmentItem) -> Place | NotMapped:
        by_gtin = None
        if item.gtin is not None:
            by_gtin = self._gtins.get(item.gtin.zfill(GTIN_DIGITS))
            if by_gtin is None and item.product is None:
                return NotMapped(item=item, reason=Unmapped.GTIN_UNKNOWN, facts={"gtin": item.gtin})
        if item.product is None or item.size is None:
            return by_gtin or NotMapped(item=item, reason=Unmapped.GTIN_UNKNOWN, facts={"gtin": item.gtin or ""})
        by_name = self._by_name(item, product=item.product, size=item.size)
        if by_gtin is not None and by_name != by_gtin:
            facts: dict[str, Fact] = {"gtin": item.gtin or "", "product": _written(by_gtin), "size": by_gtin.size}
            return NotMapped(item=item, reason=Unmapped.GTIN_OF_ANOTHER, facts=facts)
        return by_name

    def _by_name(self, item: AssortmentItem, *, product: str, size: str) -> Place | NotMapped:
        named = self._named.get(_plain(product), set())
        if not named:
            near = self._near(_plain(product))
            closest: dict[str, Fact] = {"closest": near} if near else {}
            return NotMapped(item=item, reason=Unmapped.PRODUCT_UNKNOWN, facts={"product": product, **closest})
        if len(named) > 1:
            ids = ",".join(sorted(record_id for _, record_id in named))
            return NotMapped(
                item=item, reason=Unmapped.PRODUCT_AMBIGUOUS, facts={"product": product, "id_choices": ids}
            )
        (only,) = named
        found = self._sizes[only].get(_plain(size))
        if found is None:
            codes = ",".join(place.size for place in self._sizes[only].values())
            return NotMapped(
                item=item, reason=Unmapped.SIZE_UNKNOWN, facts={"product": product, "size": size, "size_choices": codes}
            )
        return found

    def _near(self, name: str) -> str | None:
        """The name that is spelled most like an unknown one; None where none is, or where MOST_SOUGHT were sought."""
        if name not in self._nearest:
            if len(self._nearest) >= MOST_SOUGHT:
                return None
            self._nearest[name] = next(iter(get_close_matches(name, list(self._named), n=1)), None)
        return self._nearest[name]

    def _take(
        self, record: tuple[str, str], *, names: Iterable[str], sizes: Mapping[SizeCode, tuple[Place, str | None]]
    ) -> None:
        for name in names:
            self._named[name].add(record)
        self._sizes[record] = {_plain(code): place for code, (place, _) in sizes.items()}
        self._gtins |= {gtin.zfill(GTIN_DIGITS): place for place, gtin in sizes.values() if gtin is not None}


def _names(record_id: str, name: str, maker_name: str) -> set[str]:  # noqa: PLR0917
    return {_plain(record_id), _plain(name), _plain(f"{maker_name} {name}")}


def _plain(written: str) -> str:
    """A name however it is spelled."""
    return _BETWEEN_WORDS.sub(" ", written).strip().casefold()


def _written(place: Place) -> str:
    return str(place.boot or place.accessory)
