"""Assortment mapping: a SKU leads to the size it names, however it is spelled, and to nothing where it is not sure."""

from dataclasses import replace
from datetime import UTC, datetime

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.matching.worlds import BOOTS, release_of

from hooflast.catalog import assortment_mapping
from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId, AssortmentItem, Sku
from hooflast.catalog.assortment_mapping import MOST_SOUGHT, Place, Unmapped, map_assortment
from hooflast.catalog.values import BootId, SizeCode

NOW = datetime(2026, 5, 1, tzinfo=UTC)
GTIN = "4012345000009"
AMBLE = replace(BOOTS[0], sizes=(replace(BOOTS[0].sizes[0], gtin=GTIN), *BOOTS[0].sizes[1:]), name="Amble Long")
RELEASE = release_of(AMBLE, *BOOTS[1:])
FIRST, SECOND = (size.code for size in AMBLE.sizes[:2])


def assortment(**items: AssortmentItem) -> Assortment:
    head = AssortmentHead(
        id=AssortmentId("a"), name="Webshop", currency="EUR", revision=1, created_at=NOW, as_of=NOW, items=len(items)
    )
    return Assortment(head=head, items={Sku(sku): item for sku, item in items.items()})


def item(**told: str | None) -> AssortmentItem:
    return AssortmentItem(sku=Sku("one"), **told)


def mapped(**told: str | None) -> object:
    """Where one SKU leads, or why nowhere."""
    found = map_assortment(assortment(one=item(**told)), RELEASE)
    assert len(found.places) + len(found.not_mapped) == 1
    return found.places.get(Sku("one")) or found.not_mapped[0].reason


@pytest.mark.parametrize("product", ["amble", "AMBLE", "Amble Long", "amble-long", " haskeby  amble_long "])
def test_a_product_is_known_by_its_id_or_name_with_or_without_its_maker(product: str) -> None:
    assert mapped(product=product, size=FIRST.upper()) == Place(boot=BootId("amble"), size=FIRST)


@given(st.integers(min_value=0, max_value=1))
def test_a_gtin_is_the_same_with_and_without_leading_zeros(zeros: int) -> None:
    assert mapped(gtin="0" * zeros + GTIN) == Place(boot=BootId("amble"), size=FIRST)


def test_a_gtin_and_a_name_that_agree_are_no_contradiction() -> None:
    assert mapped(gtin=GTIN, product="amble", size=FIRST) == Place(boot=BootId("amble"), size=FIRST)


def test_a_gtin_of_another_size_than_the_one_named_leads_nowhere() -> None:
    assert mapped(gtin=GTIN, product="amble", size=SECOND) is Unmapped.GTIN_OF_ANOTHER


def test_a_gtin_the_catalog_does_not_have_is_passed_over_where_a_product_is_named() -> None:
    assert mapped(gtin="4012345000016", product="amble", size=SECOND) == Place(boot=BootId("amble"), size=SECOND)


@pytest.mark.parametrize(
    ("told", "reason"),
    [
        ({"gtin": "4012345000016"}, Unmapped.GTIN_UNKNOWN),
        ({"product": "nimbus", "size": FIRST}, Unmapped.PRODUCT_UNKNOWN),
        ({"product": "amble", "size": "no such size"}, Unmapped.SIZE_UNKNOWN),
    ],
)
def test_what_the_catalog_does_not_have_leads_nowhere_and_says_why(told: dict[str, str], reason: Unmapped) -> None:
    assert mapped(**told) is reason


def test_a_name_that_two_boot_models_have_is_not_guessed_at() -> None:
    twins = release_of(AMBLE, replace(BOOTS[1], name=AMBLE.name))
    one = item(product=AMBLE.name, size=FIRST)
    (told,) = map_assortment(assortment(one=one), twins).not_mapped
    assert told.reason is Unmapped.PRODUCT_AMBIGUOUS
    assert told.facts["id_choices"] == f"{AMBLE.id},{BOOTS[1].id}"


def test_every_size_of_the_catalog_named_by_its_ids_leads_to_itself() -> None:
    named = {
        f"{boot.id}/{size.code}": AssortmentItem(sku=Sku(f"{boot.id}/{size.code}"), product=boot.id, size=size.code)
        for boot in RELEASE.boots.values()
        for size in boot.sizes
    }
    found = map_assortment(assortment(**named), RELEASE)
    assert not found.not_mapped
    assert {sku: f"{place.boot}/{place.size}" for sku, place in found.places.items()} == {sku: sku for sku in named}


def test_two_skus_of_one_size_are_both_its_items() -> None:
    items = {
        sku: AssortmentItem(sku=Sku(sku), product="amble", size=FIRST, stock=stock)
        for sku, stock in (("a", 0), ("b", 1))
    }
    both = assortment(**items)
    of_boots = map_assortment(both, RELEASE).of_boots(both)
    assert of_boots == {(BootId("amble"), SizeCode(FIRST)): (items["a"], items["b"])}


def test_the_nearest_name_is_told_and_sought_for_so_many_unknown_products_once_each(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Each is compared with every name there is: thousands of made-up ones would take minutes."""
    sought: list[str] = []

    def counted(name: str, names: list[str], *, n: int) -> list[str]:
        sought.append(name)
        return names[:n]

    monkeypatch.setattr(assortment_mapping, "get_close_matches", counted)
    items = {
        f"{place:04} {size}": replace(item(product=f"nimbus {place:04}", size=size), sku=Sku(f"{place:04} {size}"))
        for place in range(MOST_SOUGHT + 50)
        for size in ("s", "m")
    }
    found = map_assortment(assortment(**items), RELEASE)
    assert sought == [f"nimbus {place:04}" for place in range(MOST_SOUGHT)]
    assert ["closest" in one.facts for one in found.not_mapped] == [True] * 2 * MOST_SOUGHT + [False] * 100
