"""Shop shelf: a shop is answered from what it has, and every number is what the whole catalog would have given."""

from dataclasses import replace
from datetime import UTC, date, datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.matching.worlds import SHELF, boot, question, reading, shelf_of

from hooflast.catalog.assortment import Assortment, AssortmentHead, AssortmentId, AssortmentItem, Sku
from hooflast.catalog.values import BootId
from hooflast.errors import InputRefused
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.match_horse import match_horse
from hooflast.matching.plan_question import PlanQuestion
from hooflast.matching.question import AskedAssortment, SizesOf
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelf import cheapest_first, selling
from hooflast.matching.whole_horse import plan_whole_horse

NOW = datetime(2026, 5, 1, tzinfo=UTC)
DAY = date(2026, 5, 1)
PLACES = [(model.id, size.code) for model in SHELF.boots for size in model.sizes]
ITEMS = st.builds(
    AssortmentItem,
    sku=st.from_regex(r"[A-Z]{1,4}", fullmatch=True).map(Sku),
    price_minor=st.none() | st.integers(0, 20_000),
    stock=st.none() | st.integers(0, 2),
    lead_days=st.none() | st.integers(0, 30),
)


def assortment(*items: AssortmentItem) -> Assortment:
    head = AssortmentHead(
        id=AssortmentId("a"), name="Webshop", currency="EUR", revision=3, created_at=NOW, as_of=NOW, items=len(items)
    )
    return Assortment(head=head, items={item.sku: item for item in items})


def sold(*places: tuple[str, str], stock: int | None = 1) -> Assortment:
    return assortment(
        *(AssortmentItem(sku=Sku(f"{b}/{s}"), product=b, size=s, stock=stock, price_minor=4990) for b, s in places)
    )


def of(shelf: Shelf) -> set[tuple[str, str]]:
    return {(model.id, size.code) for model in shelf.boots for size in model.sizes}


@given(st.sets(st.sampled_from(PLACES)))
def test_the_shelf_has_what_the_assortment_has_and_nothing_else(places: set[tuple[str, str]]) -> None:
    shop = selling(SHELF, sold(*places), sizes=SizesOf.LISTED)
    assert of(shop) == places
    assert shop.sold is not None
    assert shop.sold.boots_left_out == len(SHELF.boots) - len({model for model, _ in places})


@given(st.sets(st.sampled_from(PLACES), min_size=1), st.data())
def test_in_stock_alone_is_in_stock(places: set[tuple[str, str]], data: st.DataObject) -> None:
    there = data.draw(st.sets(st.sampled_from(sorted(places))))
    both = {**sold(*places, stock=0).items, **sold(*there).items}
    assert of(selling(SHELF, assortment(*both.values()), sizes=SizesOf.IN_STOCK)) == there


@given(st.sets(st.sampled_from(PLACES), min_size=1), st.integers(95, 150), st.integers(95, 150))
def test_a_size_fits_in_a_shop_as_likely_as_anywhere(places: set[tuple[str, str]], width: int, length: int) -> None:
    asked = replace(question(reading(width=float(width), length=float(length))), boots_per_hoof=20)
    shop = selling(SHELF, sold(*places), sizes=SizesOf.LISTED)
    everywhere = match_horse(asked, SHELF, today=DAY, language="en")
    here = match_horse(asked, shop, today=DAY, language="en")
    chances = {
        (fit.boot.id, size.size.code): size.fit_chance
        for fit in everywhere.hooves[0].boots
        for size in (fit.best, fit.smaller, fit.larger)
        if size is not None
    }
    for fit in here.hooves[0].boots:
        for size in (fit.best, fit.smaller, fit.larger):
            if size is not None:
                assert (fit.boot.id, size.size.code) in places
                known = chances.get((fit.boot.id, size.size.code), size.fit_chance)
                assert size.fit_chance == pytest.approx(known, abs=1e-9)
    assert here.versions.assortment == "a@3"
    assert here.versions.assortment_as_of == NOW
    assert here.left_out.get(LeftOutBecause.ASSORTMENT, 0) == len(SHELF.boots) - len({one for one, _ in places})


def test_every_size_shown_comes_with_its_skus() -> None:
    shop = selling(SHELF, sold(*PLACES), sizes=SizesOf.LISTED)
    answer = match_horse(question(reading()), shop, today=DAY, language="en")
    assert answer.hooves[0].boots
    for fit in answer.hooves[0].boots:
        assert fit.best.sold is not None
        assert [item.sku for item in fit.best.sold.items] == [f"{fit.boot.id}/{fit.best.size.code}"]


def test_without_an_assortment_nothing_is_sold() -> None:
    answer = match_horse(question(reading()), SHELF, today=DAY, language="en")
    assert all(fit.best.sold is None for fit in answer.hooves[0].boots)
    assert answer.versions.assortment is None


def test_of_boots_that_fit_alike_the_one_in_stock_comes_first_if_it_is_asked_for() -> None:
    shelf = shelf_of(boot("amble"), boot("brook"))
    (size, *_) = {
        fit.best.size.code for fit in match_horse(question(reading()), shelf, today=DAY, language="en").hooves[0].boots
    }
    places = [(model, each.code) for model in ("amble", "brook") for each in shelf.boots[0].sizes]
    items = {**sold(*places).items, **sold(("amble", size), stock=0).items}
    shop = selling(shelf, assortment(*items.values()), sizes=SizesOf.LISTED)

    def order(*, prefer_stock: bool, at_most: int = 5) -> list[BootId]:
        asked = replace(
            question(reading(), boots_per_hoof=at_most), assortment=AskedAssortment(id="a", prefer_stock=prefer_stock)
        )
        return [fit.boot.id for fit in match_horse(asked, shop, today=DAY, language="en").hooves[0].boots]

    assert order(prefer_stock=False) == ["amble", "brook"]
    assert order(prefer_stock=True) == ["brook", "amble"]
    assert order(prefer_stock=True, at_most=1) == ["brook"]


@given(st.lists(ITEMS, max_size=6, unique_by=lambda item: item.sku))
def test_of_one_size_what_is_there_comes_first_then_the_soonest_then_the_cheapest(items: list[AssortmentItem]) -> None:
    ordered = cheapest_first(items)
    assert sorted(item.sku for item in ordered) == sorted(item.sku for item in items)
    assert ordered == cheapest_first(reversed(items))
    there = [item.is_in_stock for item in ordered]
    assert there == sorted(there, reverse=True)
    for before, after in pairwise(ordered):
        if (before.is_in_stock, before.lead_days or 0) == (after.is_in_stock, after.lead_days or 0):
            assert before.price_minor is not None or after.price_minor is None
            if None not in (before.price_minor, after.price_minor):
                assert before.price_minor <= after.price_minor


def test_a_plan_buys_what_the_assortment_has_at_its_prices_and_names_the_sku() -> None:
    shop = selling(SHELF, sold(*PLACES), sizes=SizesOf.IN_STOCK)
    asked = replace(question(reading()), assortment=AskedAssortment(id="a"))
    plan = plan_whole_horse(PlanQuestion(horse=asked), shop, today=DAY, language="en").plan
    assert plan is not None
    for item in plan.items:
        assert (item.sku, item.price, item.offer) == (f"{item.of.boot.id}/{item.of.size.code}", 4990, None)


def test_a_plan_in_another_currency_than_the_assortments_is_refused() -> None:
    shop = selling(SHELF, sold(*PLACES), sizes=SizesOf.LISTED)
    asked = PlanQuestion(horse=question(reading()), currency="SEK", budget=1)
    with pytest.raises(InputRefused) as refused:
        plan_whole_horse(asked, shop, today=DAY, language="en")
    assert [fault.code for fault in refused.value.faults] == ["currency-of-assortment"]


def test_a_plan_names_the_size_of_the_shelf_where_the_catalog_has_smaller_ones_that_ended() -> None:
    model = boot("amble")
    ended = replace(model, sizes=(replace(model.sizes[0], discontinued_on=date(2026, 2, 1)), *model.sizes[1:]))
    kept, whole = (
        plan_whole_horse(PlanQuestion(horse=question(reading())), shelf_of(one), today=DAY, language="en").plan
        for one in (ended, model)
    )
    assert kept is not None
    assert whole is not None
    assert [item.of.size.code for item in kept.items] == [item.of.size.code for item in whole.items]
