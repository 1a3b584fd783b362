"""Assortment lines: a list says what the same by SKU says, and every fault is told where it stands in the list."""

from datetime import UTC, date, datetime
from typing import Any

import msgspec
import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from tests.exchange.test_assortment_form import ITEMS, LISTS, SKUS

from hooflast.catalog.assortment import Assortment, AssortmentItem
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.assortment_form import item_as_form, patched, read_assortment, read_patch
from hooflast.exchange.assortment_lines import read_listed, read_listed_change

NOW = datetime(2026, 5, 1, tzinfo=UTC)
TODAY = date(2026, 5, 1)
HEAD = {"name": "Webshop", "currency": "EUR"}
CHANGES = st.fixed_dictionaries(
    {},
    optional={
        "stock": st.none() | st.integers(-1, 3),
        "price": st.none() | st.sampled_from(["4.50", "4.505", "dear", 7]),
        "gtin": st.none() | st.sampled_from(["4012345000009", "x"]),
        "size": st.none() | st.sampled_from(["fern", "reed", ""]),
    },
)


def read(*items: dict[str, Any], **told: Any) -> Assortment:
    return read_listed({**HEAD, "items": list(items), **told}, assortment_id="a", now=NOW)


def kept(items: list[AssortmentItem]) -> Assortment:
    by_sku = {item.sku: item_as_form(item, currency="EUR") for item in items}
    return read_assortment({**HEAD, "items": by_sku}, assortment_id="a", now=NOW)


def told(faults: tuple[Fault, ...]) -> set[tuple[str, str]]:
    return {(fault.pointer, fault.code) for fault in faults}


@given(LISTS)
def test_a_list_says_what_the_same_by_sku_says(items: list[AssortmentItem]) -> None:
    assert read(*({"sku": item.sku, **item_as_form(item, currency="EUR")} for item in items)) == kept(items)


@given(LISTS, st.dictionaries(SKUS, st.none() | CHANGES, max_size=4), st.data())
def test_a_listed_change_does_what_a_patch_does_or_is_refused_for_the_same(
    items: list[AssortmentItem], new: dict[str, Any], data: st.DataObject
) -> None:
    before = kept(items)
    changes = {sku: data.draw(st.none() | CHANGES) for sku in data.draw(st.sets(st.sampled_from([*before.items, "A"])))}
    changes |= new
    some = [sku for sku, item in changes.items() if item is not None]
    none = [sku for sku, item in changes.items() if item is None]
    places = {
        **{sku: f"/items/{at}" for at, sku in enumerate(some)},
        **{sku: f"/remove/{at}" for at, sku in enumerate(none)},
    }

    def outcome(change: Any) -> Any:
        found = {sku: item for sku, item in before.items.items() if sku in changes}
        try:
            put, drop = patched(change(), head=before.head, kept=found, now=NOW)
        except InputRefused as refused:
            return {(fault.path, fault.code) for fault in refused.faults}
        return {item.sku: item for item in put}, set(drop)

    of_patch = outcome(lambda: read_patch(msgspec.json.encode({"items": changes}), today=TODAY))
    listed = {"items": [{"sku": sku, **changes[sku]} for sku in some], "remove": none}
    of_list = outcome(lambda: read_listed_change(listed, today=TODAY))
    if isinstance(of_patch, set):
        assert {("/".join(("", *map(str, path))), code) for path, code in of_list} == {
            ("/".join((places[path[1]], *path[2:])), code) for path, code in of_patch
        }
    else:
        assert of_list == of_patch


@pytest.mark.parametrize(
    ("items", "faults"),
    [
        ([{"sku": "A", "product": "x"}], {("/items/0", "item-unnamed")}),
        ([{"sku": "A", "gtin": "12345678"}, {"sku": "B", "gtin": "1"}], {("/items/1/gtin", "wrong-form")}),
        ([{"sku": " A", "gtin": "12345678"}], {("/items/0/sku", "wrong-form")}),
        ([{"sku": "", "gtin": "1"}], {("/items/0/sku", "wrong-form"), ("/items/0/gtin", "wrong-form")}),
        ([{"sku": "x" * 101, "gtin": "12345678"}], {("/items/0/sku", "wrong-form")}),
        ([{"sku": "\x00", "gtin": "12345678"}], {("/items/0/sku", "wrong-form")}),
        ([{"sku": "A", "gtin": "12345678", "price": "1.234"}], {("/items/0/price", "price-too-fine")}),
        (
            [{"sku": "A", "gtin": "1"}, {"sku": "A", "stock": -1}],
            {
                ("/items/0/gtin", "wrong-form"),
                ("/items/1/sku", "duplicate-sku"),
                ("/items/1/stock", "out-of-range"),
            },
        ),
    ],
)
def test_every_fault_is_told_where_it_stands(items: list[dict[str, Any]], faults: set[tuple[str, str]]) -> None:
    with pytest.raises(InputRefused) as refused:
        read(*items)
    assert told(refused.value.faults) == faults


def test_of_a_sku_that_comes_again_both_places_are_told() -> None:
    with pytest.raises(InputRefused) as refused:
        read_listed_change({"items": [{"sku": "B"}, {"sku": "A"}], "remove": ["A", "C", "C", "A"]}, today=TODAY)
    assert [(fault.pointer, fault.code, fault.facts) for fault in refused.value.faults] == [
        ("/remove/0", "duplicate-sku", {"sku": "A", "first": "/items/1"}),
        ("/remove/2", "duplicate-sku", {"sku": "C", "first": "/remove/1"}),
        ("/remove/3", "duplicate-sku", {"sku": "A", "first": "/items/1"}),
    ]


def test_what_the_assortment_itself_needs_is_told_beside_the_items() -> None:
    with pytest.raises(InputRefused) as refused:
        read({"sku": "A", "product": "x"}, currency="XXQ")
    assert told(refused.value.faults) == {("/currency", "currency-unknown"), ("/items/0", "item-unnamed")}


@example(["A", "A", "/items/1"])
@given(st.lists(ITEMS | st.sampled_from(["/items/1", "/items/1'", "/items/2"]), max_size=5))
def test_skus_that_look_like_places_are_skus(drawn: list[Any]) -> None:
    items = [
        {"sku": one, "gtin": "12345678"}
        if isinstance(one, str)
        else {"sku": one.sku, **item_as_form(one, currency="EUR")}
        for one in drawn
    ]
    skus = [item["sku"] for item in items]
    again = {(f"/items/{at}/sku", "duplicate-sku") for at, sku in enumerate(skus) if sku in skus[:at]}
    if not again:
        assert set(read(*items).items) == set(skus)
        return
    with pytest.raises(InputRefused) as refused:
        read(*items)
    assert told(refused.value.faults) == again
