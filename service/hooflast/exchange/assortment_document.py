"""Assortment document: an assortment, its items with where they lead in the catalog, and what leads nowhere."""

from collections.abc import Iterable
from datetime import datetime
from enum import StrEnum
from typing import Annotated, Final

from msgspec import Meta

from hooflast.catalog.assortment import AssortmentHead, AssortmentItem, BootSide, SoldSize
from hooflast.catalog.assortment_mapping import MappedAssortment, NotMapped, Place, Unmapped
from hooflast.catalog.values import SoldAs
from hooflast.exchange.answer_parts import Document, Sentence
from hooflast.exchange.price_fields import price_text
from hooflast.texts import Texts

MOST_TOLD: Final = 100
MOST_SKUS: Final = 20


class WhichItems(StrEnum):
    """Which SKUs of an assortment to list."""

    ALL = "all"
    MAPPED = "mapped"
    NOT_MAPPED = "not_mapped"


class NotMappedDocument(Document, frozen=True):
    """Why a SKU leads to nothing in the catalog."""

    code: Unmapped
    text: Sentence


class ItemPlaceDocument(Document, frozen=True):
    """The size of a boot model or of an accessory that a SKU is."""

    boot: Annotated[str | None, Meta(description="The boot model's id.")]
    accessory: Annotated[str | None, Meta(description="The accessory's id.")]
    size: Annotated[str, Meta(description="The maker's size code.")]


class ShopItemDocument(Document, frozen=True):
    """One SKU as it is sold. What was not told is null."""

    sku: str
    gtin: str | None
    side: BootSide | None
    sold_as: SoldAs | None
    price: Annotated[str | None, Meta(description="The price in the assortment's currency.")]
    currency: Annotated[str, Meta(description="ISO 4217.")]
    stock: Annotated[int | None, Meta(description="How many of what is sold are in stock.")]
    lead_days: Annotated[int | None, Meta(description="Days until it can be sent.")]


class AssortmentItemDocument(Document, frozen=True):
    """One SKU, what its client calls it, and where that leads in the catalog release."""

    item: ShopItemDocument
    product: str | None
    size: str | None
    place: Annotated[ItemPlaceDocument | None, Meta(description="Where it leads; null: nowhere.")]
    not_mapped: Annotated[NotMappedDocument | None, Meta(description="Why it leads nowhere.")]


class UnmappedItemDocument(Document, frozen=True):
    """A SKU that leads to nothing in the catalog."""

    sku: str
    code: Unmapped
    text: Sentence


class AssortmentDocument(Document, frozen=True):
    """An assortment, and how much of it the catalog knows."""

    id: str
    name: str
    currency: Annotated[str, Meta(description="The currency of its prices (ISO 4217).")]
    revision: Annotated[int, Meta(ge=1, description="Rises with every change.")]
    created_at: datetime
    as_of: Annotated[datetime, Meta(description="When prices and stock were so.")]
    items: Annotated[int, Meta(ge=0, description="How many SKUs it has.")]
    mapped: Annotated[int, Meta(ge=0, description="How many of them lead to a size of the catalog release.")]
    catalog_release: str
    not_mapped: Annotated[
        list[UnmappedItemDocument],
        Meta(max_length=MOST_TOLD, description="SKUs that lead nowhere, the first of them by SKU."),
    ]


class AssortmentHeadDocument(Document, frozen=True):
    """An assortment without what is in it."""

    id: str
    name: str
    currency: Annotated[str, Meta(description="The currency of its prices (ISO 4217).")]
    revision: Annotated[int, Meta(ge=1, description="Rises with every change.")]
    created_at: datetime
    as_of: Annotated[datetime, Meta(description="When prices and stock were so.")]
    items: Annotated[int, Meta(ge=0, description="How many SKUs it has.")]


class AssortmentList(Document, frozen=True):
    """All your assortments, oldest first."""

    items: Annotated[list[AssortmentHeadDocument], Meta(max_length=20)]


class AssortmentItemList(Document, frozen=True):
    """Some SKUs of an assortment, in their order."""

    revision: Annotated[int, Meta(ge=1, description="The assortment's revision.")]
    catalog_release: str
    items: Annotated[list[AssortmentItemDocument], Meta(max_length=100)]
    next: Annotated[str | None, Meta(description="The address of the next page; null on the last one.")]


def assortment_document(
    head: AssortmentHead, mapped: MappedAssortment, *, release: str, texts: Texts
) -> AssortmentDocument:
    """An assortment with how much of it a catalog release knows."""
    return AssortmentDocument(
        id=head.id,
        name=head.name,
        currency=head.currency,
        revision=head.revision,
        created_at=head.created_at,
        as_of=head.as_of,
        items=head.items,
        mapped=len(mapped.places),
        catalog_release=release,
        not_mapped=[_unmapped(one, texts=texts) for one in mapped.not_mapped[:MOST_TOLD]],
    )


def assortment_list(heads: Iterable[AssortmentHead]) -> AssortmentList:
    """Assortments without what is in them."""
    return AssortmentList(items=[head_document(head) for head in heads])


def head_document(head: AssortmentHead) -> AssortmentHeadDocument:
    """An assortment without what is in it."""
    return AssortmentHeadDocument(
        id=head.id,
        name=head.name,
        currency=head.currency,
        revision=head.revision,
        created_at=head.created_at,
        as_of=head.as_of,
        items=head.items,
    )


def item_documents(
    items: Iterable[AssortmentItem], mapped: MappedAssortment, *, currency: str, texts: Texts
) -> list[AssortmentItemDocument]:
    """Items with where they lead."""
    nowhere = {one.item.sku: one for one in mapped.not_mapped}
    return [
        AssortmentItemDocument(
            item=shop_item_document(item, currency=currency),
            product=item.product,
            size=item.size,
            place=_place(mapped.places.get(item.sku)),
            not_mapped=_why(nowhere.get(item.sku), texts=texts),
        )
        for item in items
    ]


def shop_item_document(item: AssortmentItem, *, currency: str) -> ShopItemDocument:
    """One SKU as it is sold."""
    return ShopItemDocument(
        sku=item.sku,
        gtin=item.gtin,
        side=item.side,
        sold_as=item.sold_as,
        price=None if item.price_minor is None else price_text(item.price_minor, currency=currency),
        currency=currency,
        stock=item.stock,
        lead_days=item.lead_days,
    )


def sold_documents(sold: SoldSize) -> list[ShopItemDocument]:
    """What an assortment has of one size, MOST_SKUS at most."""
    return [shop_item_document(item, currency=sold.currency) for item in sold.items[:MOST_SKUS]]


def _place(place: Place | None) -> ItemPlaceDocument | None:
    return None if place is None else ItemPlaceDocument(boot=place.boot, accessory=place.accessory, size=place.size)


def _why(one: NotMapped | None, *, texts: Texts) -> NotMappedDocument | None:
    return None if one is None else NotMappedDocument(code=one.reason, text=_said(one, texts=texts))


def _unmapped(one: NotMapped, *, texts: Texts) -> UnmappedItemDocument:
    return UnmappedItemDocument(sku=one.item.sku, code=one.reason, text=_said(one, texts=texts))


def _said(one: NotMapped, *, texts: Texts) -> str:
    return texts.say(f"unmapped.{one.reason}", one.facts)
