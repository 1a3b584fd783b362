"""Assortment form: what a client sells, as JSON, as CSV, or as a change to what is kept (RFC 7396)."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime
from typing import Annotated, Final, Self

from pydantic import ConfigDict, Field, JsonValue, model_validator

from hooflast.catalog.assortment import MOST_ITEMS, Assortment, AssortmentHead, AssortmentId, AssortmentItem, Sku
from hooflast.errors import Fact, Fault, InputRefused, Path
from hooflast.exchange import form_fields as fields
from hooflast.exchange.csv_text import read_csv
from hooflast.exchange.faults import FaultCode, fault, refusal
from hooflast.exchange.form_reading import read_form
from hooflast.exchange.match_form import Form
from hooflast.exchange.merge_patch import merge_patch
from hooflast.exchange.moment_fields import Moment
from hooflast.exchange.plain import Members, plain, read_json
from hooflast.exchange.price_fields import Currency, Price, minor_units, price_faults, price_text

MOST_VALUES: Final = 12 * MOST_ITEMS
LONGEST_LEAD_DAYS: Final = 730
SKU_PATTERN: Final = r"^[!-~]([ -~]{0,62}[!-~])?$"
COLUMNS: Final = ("sku", "gtin", "product", "size", "side", "sold_as", "price", "stock", "lead_days")
_ONLY_SKUS: Final[dict[str, JsonValue]] = {"additionalProperties": False}
_WHOLE: Final = frozenset({"stock", "lead_days"})

SkuField = Annotated[str, Field(strict=True, pattern=SKU_PATTERN)]


class AssortmentItemForm(Form):
    """One SKU: named by GTIN, or by product and size, or by both; and how it is sold."""

    gtin: Annotated[str, Field(strict=True, pattern=r"^[0-9]{8,14}$")] | None = Field(
        None, description="The size's GTIN (GS1).", examples=["4012345000009"]
    )
    product: fields.FilledName | None = Field(
        None,
        description="The boot model or accessory: its id in the catalog, or its name, with its maker's or without.",
        examples=["ombrick-jorveth"],
    )
    size: fields.SizeCode | None = Field(None, description="The maker's size code.", examples=["lapwing"])
    side: fields.AssortmentSide | None = Field(
        None, description="Which side it is for, where each side has a last of its own.", examples=["left"]
    )
    sold_as: fields.SoldAs | None = Field(
        None, description="Whether a single boot or a pair is sold; left out: as the catalog says.", examples=["single"]
    )
    price: Price | None = Field(
        None, description="The price of what is sold, a boot or a pair; left out: not known.", examples=["64.90", 64.9]
    )
    stock: fields.Stock | None = Field(
        None, description="How many of what is sold are in stock; left out: enough.", examples=[3]
    )
    lead_days: Annotated[int, Field(strict=True, ge=0, le=LONGEST_LEAD_DAYS)] | None = Field(
        None, description="Days until it can be sent, where that is not at once.", examples=[14]
    )

    @model_validator(mode="after")
    def _named(self) -> Self:
        if self.gtin is None and (self.product is None or self.size is None):
            raise refusal(FaultCode.ITEM_UNNAMED)
        return self


class AssortmentHeadForm(Form):
    """An assortment without what is in it."""

    name: fields.FilledName = Field(description="What you call it.", examples=["Webshop"])
    currency: Currency = Field(description="The currency of all its prices (ISO 4217).", examples=["EUR"])
    as_of: Moment | None = Field(
        None,
        description="When prices and stock were so (RFC 3339); left out: now.",
        examples=["2026-03-14T07:30:00Z"],
    )


class AssortmentForm(AssortmentHeadForm):
    """What you sell: each SKU with what it is, its price and its stock."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [
                {
                    "name": "Webshop",
                    "currency": "EUR",
                    "items": {
                        "TT-1001": {"product": "ombrick-jorveth", "size": "lapwing", "price": "64.90", "stock": 3},
                        "TT-1002": {"product": "ombrick-jorveth", "size": "jackdaw", "price": "64.90", "stock": 0},
                    },
                }
            ]
        }
    )

    items: dict[SkuField, AssortmentItemForm] = Field(
        max_length=MOST_ITEMS,
        json_schema_extra=_ONLY_SKUS,
        description="What you sell, by SKU.",
        examples=[{"TT-1001": {"product": "ombrick-jorveth", "size": "lapwing"}}],
    )


class AssortmentHeadPatchForm(Form):
    """What is different about an assortment, but for what is in it."""

    name: fields.Name = Field("", description="What you call it from now on.", examples=["Webshop"])
    as_of: Moment | None = Field(
        None,
        description="When prices and stock were so (RFC 3339); left out: now.",
        examples=["2026-03-14T07:30:00Z"],
    )


class AssortmentPatchForm(AssortmentHeadPatchForm):
    """A change to an assortment (RFC 7396): members that are null go, others take the place of what was."""

    model_config = ConfigDict(
        json_schema_extra={
            "examples": [{"as_of": "2026-03-14T07:30:00Z", "items": {"TT-1001": {"stock": 2}, "TT-1002": None}}]
        }
    )

    items: dict[SkuField, dict[str, object] | None] = Field(
        default={},
        max_length=MOST_ITEMS,
        json_schema_extra=_ONLY_SKUS,
        description="For each SKU what is different; null: it is no longer sold.",
        examples=[{"TT-1001": {"stock": 2}, "TT-1002": None}],
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class AssortmentPatch:
    """A change as it was read: for each SKU what is different, or None.

    `places` tells where that was said of a SKU, if not under it in `items`.
    """

    name: str | None
    as_of: datetime | None
    items: Mapping[Sku, Mapping[str, object] | None]
    places: Mapping[str, Path] = field(default_factory=dict)


def read_assortment(raw: object, *, assortment_id: str, now: datetime) -> Assortment:
    """Read an assortment that is to be kept under an id. Raises InputRefused with every fault there is."""
    form = read_form(raw, form=AssortmentForm, today=now.date(), look_further=_look_further, most_values=MOST_VALUES)
    return _assortment(form, assortment_id=assortment_id, now=now)


def read_assortment_csv(raw: bytes, *, name: str, currency: str, assortment_id: str, now: datetime) -> Assortment:
    """The same from CSV with COLUMNS, one SKU a row; a fault names row and column. Raises InputRefused."""
    table = read_csv(raw)
    rows: dict[str, int] = {}
    items: list[tuple[str, object]] = []
    faults = list(_heading_faults(table.names))
    for number, row in zip(table.rows, table.hooves, strict=True):
        members = {key: _cell(key, value) for key, value in row if key in COLUMNS} if isinstance(row, Members) else {}
        sku = str(members.pop("sku", ""))
        if not sku or sku in rows:
            faults.append(_unusable(sku, row=number))
        else:
            rows[sku] = number
            items.append((sku, Members(members.items())))
    document = Members([("name", name), ("currency", currency), ("items", Members(items))])
    try:
        read = read_assortment(document, assortment_id=assortment_id, now=now)
    except InputRefused as refused:
        raise InputRefused(faults=(*faults, *(_in_row(one, rows) for one in refused.faults))) from None
    if faults:
        raise InputRefused(faults=tuple(faults))
    return read


def _heading_faults(names: tuple[str, ...]) -> Iterator[Fault]:
    """Columns there are not, and the one that every assortment needs."""
    for name in names:
        if name not in COLUMNS:
            facts: dict[str, Fact] = {"field": name, "accepted_list": ", ".join(COLUMNS), "row": 1, "column": name}
            yield fault(FaultCode.UNKNOWN_FIELD, path=("rows", 1, name), received=name, facts=facts)
    if "sku" not in names:
        missing: dict[str, Fact] = {"field": "sku", "row": 1, "column": "sku"}
        yield fault(FaultCode.MISSING, path=("rows", 1, "sku"), received=None, facts=missing)


def _unusable(sku: str, *, row: int) -> Fault:
    """A row without a SKU, or with one that came before."""
    facts: dict[str, Fact] = {"field": "sku", "key": sku, "row": row, "column": "sku"}
    code = FaultCode.DUPLICATE_KEY if sku else FaultCode.MISSING
    return fault(code, path=("rows", row, "sku"), received=sku or None, facts=facts)


def read_patch(raw: object, *, today: date) -> AssortmentPatch:
    """Read a change. Raises InputRefused with every fault that can be found without what it changes."""
    form = read_form(raw, form=AssortmentPatchForm, today=today, most_values=MOST_VALUES)
    came = read_json(raw) if isinstance(raw, bytes) else raw
    document = plain(came, most_values=MOST_VALUES).document
    items = document.get("items", {}) if isinstance(document, dict) else {}
    return AssortmentPatch(
        name=form.name or None,
        as_of=form.as_of,
        items={Sku(sku): item for sku, item in items.items()},
    )


def patched(
    patch: AssortmentPatch, *, head: AssortmentHead, kept: Mapping[Sku, AssortmentItem], now: datetime
) -> tuple[tuple[AssortmentItem, ...], tuple[Sku, ...]]:
    """The items that a change puts in their place, and the SKUs it drops. `kept` are those it names that are kept.

    Raises InputRefused with every fault there is.
    """
    before = {sku: item_as_form(item, currency=head.currency) for sku, item in kept.items()}
    after = merge_patch(before, patch.items)
    document = {"name": head.name, "currency": head.currency, "items": after}
    try:
        made = read_assortment(document, assortment_id=head.id, now=now)
    except InputRefused as refused:
        raise InputRefused(faults=tuple(in_place(one, patch.places) for one in refused.faults)) from None
    return tuple(made.items.values()), tuple(sku for sku, item in patch.items.items() if item is None)


def in_place(found: Fault, places: Mapping[str, Path]) -> Fault:
    """A fault found in an item, told where the item stands; `places` tells that by the name it has in `items`."""
    match found.path:
        case ("items", str(name), *steps) if name in places:
            return replace(found, path=(*places[name], *steps))
    return found


def item_as_form(item: AssortmentItem, *, currency: str) -> dict[str, object]:
    """An item as its form writes it, without what was not told."""
    written = {
        "gtin": item.gtin,
        "product": item.product,
        "size": item.size,
        "side": item.side,
        "sold_as": item.sold_as,
        "price": None if item.price_minor is None else price_text(item.price_minor, currency=currency),
        "stock": item.stock,
        "lead_days": item.lead_days,
    }
    told = {name: value for name, value in written.items() if value is not None}
    return {name: str(value) if isinstance(value, str) else value for name, value in told.items()}


def _assortment(form: AssortmentForm, *, assortment_id: str, now: datetime) -> Assortment:
    head = AssortmentHead(
        id=AssortmentId(assortment_id),
        name=form.name.strip(),
        currency=form.currency,
        revision=1,
        created_at=now,
        as_of=form.as_of or now,
        items=len(form.items),
    )
    return Assortment(
        head=head, items={Sku(sku): _item(sku, item, currency=form.currency) for sku, item in form.items.items()}
    )


def _item(sku: str, form: AssortmentItemForm, *, currency: str) -> AssortmentItem:
    return AssortmentItem(
        sku=Sku(sku),
        gtin=form.gtin,
        product=form.product,
        size=form.size,
        side=form.side,
        sold_as=form.sold_as,
        price_minor=None if form.price is None else minor_units(form.price, currency=currency),
        stock=form.stock,
        lead_days=form.lead_days,
    )


def _look_further(document: object) -> Iterator[Fault]:
    """Prices that are finer than their currency."""
    items = document.get("items") if isinstance(document, dict) else None
    prices: dict[tuple[str | int, ...], object] = {
        ("items", sku, "price"): item["price"]
        for sku, item in (items.items() if isinstance(items, dict) else ())
        if isinstance(item, dict) and item.get("price") is not None
    }
    if isinstance(document, dict) and document.get("currency") is not None:
        yield from price_faults(prices, currency=document["currency"])


def _cell(name: str, value: object) -> object:
    if isinstance(value, str) and name in _WHOLE and value.isdecimal():
        return int(value)
    if isinstance(value, str) and name == "price":
        return value.replace(",", ".")
    return value


def _in_row(found: Fault, rows: Mapping[str, int]) -> Fault:
    """A fault found in an item, with its row and column."""
    match found.path:
        case ("items", str(sku), *steps) if sku in rows:
            row = rows[sku]
            column: dict[str, Fact] = {"column": str(steps[0])} if steps else {}
            path = ("rows", row, *steps[:1])
            facts = {**found.facts, "row": row, **column}
            return Fault(path=path, code=found.code, received=found.received, facts=facts)
    return found
