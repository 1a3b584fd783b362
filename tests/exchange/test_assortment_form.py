"""Assortment form: whatever is sent is read or refused with every fault in its place, never anything else."""

from datetime import UTC, date, datetime
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.assortment import Assortment, AssortmentItem, BootSide, Sku
from hooflast.catalog.values import SoldAs
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.assortment_form import (
    COLUMNS,
    item_as_form,
    patched,
    read_assortment,
    read_assortment_csv,
    read_patch,
)

NOW = datetime(2026, 5, 1, tzinfo=UTC)
SKUS = st.from_regex(r"[!-~]([ -~]{0,20}[!-~])?", fullmatch=True).map(Sku)
ITEMS = st.builds(
    AssortmentItem,
    sku=SKUS,
    gtin=st.none() | st.from_regex(r"[0-9]{8,14}", fullmatch=True),
    product=st.from_regex(r"[a-z]{1,10}", fullmatch=True),
    size=st.from_regex(r"[a-z]{1,10}", fullmatch=True),
    side=st.none() | st.sampled_from(BootSide),
    sold_as=st.none() | st.sampled_from(SoldAs),
    price_minor=st.none() | st.integers(0, 100_000),
    stock=st.none() | st.integers(0, 1000),
    lead_days=st.none() | st.integers(0, 730),
)
LISTS = st.lists(ITEMS, max_size=5, unique_by=lambda item: item.sku)
JSON = st.recursive(
    st.none() | st.booleans() | st.integers(-3, 3) | st.floats(allow_nan=False) | st.text(max_size=4),
    lambda inner: (
        st.lists(inner, max_size=3)
        | st.dictionaries(st.sampled_from(["gtin", "product", "size", "price", "stock", "A", "x"]), inner, max_size=4)
    ),
    max_leaves=10,
)


def read(items: Any, **told: Any) -> Assortment:
    document = {"name": "Webshop", "currency": "EUR", "items": items, **told}
    return read_assortment(document, assortment_id="a", now=NOW)


def refused(items: Any, **told: Any) -> dict[str, str]:
    with pytest.raises(InputRefused) as caught:
        read(items, **told)
    return {fault.pointer: fault.code for fault in caught.value.faults}


@given(LISTS)
def test_what_an_item_is_written_as_is_read_as_that_item(items: list[AssortmentItem]) -> None:
    written = {item.sku: item_as_form(item, currency="EUR") for item in items}
    assert dict(read(written).items) == {item.sku: item for item in items}


@given(LISTS)
def test_csv_says_what_json_says(items: list[AssortmentItem]) -> None:
    rows = [{"sku": item.sku, **item_as_form(item, currency="EUR")} for item in items]
    cells = [['"{}"'.format(str(row.get(column, "")).replace('"', '""')) for column in COLUMNS] for row in rows]
    text = "\n".join([",".join(COLUMNS), *(",".join(line) for line in cells)])
    found = read_assortment_csv(text.encode(), name="Webshop", currency="EUR", assortment_id="a", now=NOW)
    kept = {item.sku: item for item in items if not {'"', "|"} & set(item.sku)}
    assert {sku: item for sku, item in found.items.items() if sku in kept} == kept


@given(JSON)
def test_whatever_is_sent_is_read_or_refused_with_a_place(items: Any) -> None:
    faults: tuple[Fault, ...] = ()
    try:
        read_to = read(items)
    except InputRefused as refusal:
        faults = refusal.faults
    else:
        assert set(read_to.items) == set(items)
    assert all(fault.pointer.startswith("/items") for fault in faults)


@pytest.mark.parametrize(
    ("items", "told"),
    [
        ({"A": {"prodct": "x"}}, {"/items/A/prodct": "unknown-field"}),
        ({"size": {"sise": "x"}}, {"/items/size/sise": "unknown-field"}),
        ({"a b ": {"gtin": "12345678"}}, {"/items/a b ": "wrong-form"}),
        ({"A": {"product": "x"}}, {"/items/A": "item-unnamed"}),
        ({"A": {"product": "", "size": "x"}}, {"/items/A/product": "wrong-form"}),
        ({"A": {"gtin": "12345678", "price": "1.234"}}, {"/items/A/price": "price-too-fine"}),
        (
            {"A": {"gtin": 5, "stock": -1}, "B": {"gtin": "12345678", "side": "up"}},
            {"/items/A/gtin": "wrong-type", "/items/A/stock": "out-of-range", "/items/B/side": "unknown-choice"},
        ),
    ],
)
def test_a_fault_is_told_where_it_lies_with_all_others(items: Any, told: dict[str, str]) -> None:
    assert refused(items) == told


def test_what_the_assortment_itself_needs_is_told_too() -> None:
    assert refused({}, name="", currency="XXQ", as_of="yesterday") == {
        "/name": "wrong-form",
        "/currency": "currency-unknown",
        "/as_of": "moment-unreadable",
    }


def test_columns_there_are_not_and_a_missing_sku_are_told_by_the_heading() -> None:
    with pytest.raises(InputRefused) as caught:
        read_assortment_csv(b"prodct,size\nx,y\n", name="Webshop", currency="EUR", assortment_id="a", now=NOW)
    told = {(fault.pointer, fault.code) for fault in caught.value.faults}
    assert {("/rows/1/prodct", "unknown-field"), ("/rows/1/sku", "missing"), ("/rows/2/sku", "missing")} <= told


@given(LISTS, st.data())
def test_a_patch_touches_what_it_names_and_drops_what_is_null(items: list[AssortmentItem], data: st.DataObject) -> None:
    kept = read({item.sku: item_as_form(item, currency="EUR") for item in items})
    named = data.draw(st.sets(st.sampled_from(sorted(kept.items) or [Sku("none")])))
    gone = data.draw(st.sets(st.sampled_from(sorted(named) or [Sku("none")]))) & named
    change = {sku: None if sku in gone else {"stock": 7} for sku in named if sku in kept.items}
    raw = msgspec.json.encode({"items": change})
    put, drop = patched(read_patch(raw, today=date(2026, 5, 1)), head=kept.head, kept=kept.items, now=NOW)
    assert set(drop) == set(change) & gone
    assert {item.sku for item in put} == (set(kept.items) - gone)
    for item in put:
        before = kept.items[item.sku]
        assert item.stock == (7 if item.sku in change else before.stock)
        assert (item.product, item.size, item.price_minor) == (before.product, before.size, before.price_minor)
