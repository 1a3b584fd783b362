"""Order plans in and out: offers, prices and currencies with all their faults, and money as people write it."""

import json
from datetime import date
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.values import SoldAs
from hooflast.errors import InputRefused
from hooflast.exchange.offer_list import OfferList, read_offer_list
from hooflast.exchange.order_plan_form import OrderPlanForm, read_plan_question
from hooflast.exchange.price_fields import minor_units
from hooflast.exchange.readings import ReadingsFormat
from hooflast.fit.plan_order import Aim
from hooflast.matching.plan_question import PlanQuestion, SizeOffer
from hooflast.texts import load_texts

TODAY = date(2026, 5, 1)
HOOVES = [{"limb": "LF", "width": 124, "length": 127}]


def read(**told: Any) -> PlanQuestion:
    return read_plan_question({"hooves": HOOVES, **told}, today=TODAY)


def faults(**told: Any) -> set[tuple[str, str]]:
    with pytest.raises(InputRefused) as refused:
        read(**told)
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


def test_the_example_of_the_form_asks_a_question() -> None:
    (example,) = OrderPlanForm.model_json_schema()["examples"]
    asked = read_plan_question(json.dumps(example).encode(), today=TODAY)
    assert asked.currency == "EUR"
    assert asked.budget == 20000
    assert asked.offers is not None
    assert asked.offers[0] == SizeOffer(boot="ombrick-jorveth", size="lapwing", price=6490, stock=3)


def test_what_is_left_out_is_not_told() -> None:
    asked = read()
    assert (asked.offers, asked.currency, asked.budget, asked.least_fit_chance) == (None, None, None, None)
    assert asked.aim is Aim.SUREST


def test_no_offers_at_all_is_not_the_whole_catalog() -> None:
    assert read(offers=[]).offers == ()


def test_an_offer_is_read_with_everything_it_tells() -> None:
    offers = [
        {"gtin": "4012345000009", "sold_as": "pair", "stock": 0},
        {"boot": "a-b", "size": "lark", "price": 64.9, "stock": 2.0},
    ]
    asked = read(offers=offers, currency="EUR", aim="cheapest", least_fit_chance=0.4)
    assert asked.offers == (
        SizeOffer(gtin="4012345000009", sold_as=SoldAs.PAIR, stock=0),
        SizeOffer(boot="a-b", size="lark", price=6490, stock=2),
    )
    assert (asked.aim, asked.least_fit_chance) == (Aim.CHEAPEST, 0.4)


@pytest.mark.parametrize(
    ("price", "currency", "minor"),
    [
        ("64.90", "EUR", 6490), (64.9, "EUR", 6490), (64, "EUR", 6400), ("0", "EUR", 0), (0.29, "EUR", 29),
        (1_000_000, "EUR", 100_000_000), ("6490", "JPY", 6490), ("6.490", "KWD", 6490), ("6490.000", "JPY", 6490),
    ],
)  # fmt: skip
def test_a_price_counts_in_the_minor_unit_of_its_currency(price: object, *, currency: str, minor: int) -> None:
    assert read(budget=price, currency=currency).budget == minor


@given(minor=st.integers(0, 100_000_000))
def test_every_price_in_cents_comes_back_exactly(minor: int) -> None:
    price = Decimal(minor).scaleb(-2)
    assert minor_units(price, currency="EUR") == minor
    assert read(budget=float(price), currency="EUR").budget == minor
    assert read(budget=f"{price:.2f}", currency="EUR").budget == minor


@pytest.mark.parametrize(
    ("price", "code"),
    [
        ("64,90", "price-unreadable"), ("€64", "price-unreadable"), ("", "price-unreadable"),
        ("٦٤", "price-unreadable"), ("-1", "price-unreadable"),
        (-2, "out-of-range"), (1_000_001, "out-of-range"), ("1000002", "out-of-range"),
        (1e300, "out-of-range"), (True, "wrong-type"), ([64], "wrong-type"),
        (64.905, "price-too-fine"), ("64.904", "price-too-fine"), (1e-7, "price-too-fine"),
    ],
)  # fmt: skip
def test_what_is_no_price_is_told(price: object, code: str) -> None:
    assert faults(budget=price, currency="EUR") == {("/budget", code)}
    offers = [{"boot": "a", "size": "b"}, {"boot": "a", "size": "b", "price": price}]
    assert faults(offers=offers, currency="EUR") == {("/offers/1/price", code)}


@pytest.mark.parametrize("currency", ["eur", "EURO", "XQZ", "", "€", 978])
def test_what_is_no_currency_is_told(currency: object) -> None:
    assert faults(budget=5, currency=currency) == {("/currency", "currency-unknown")}


def test_a_price_without_a_currency_is_told_once() -> None:
    offers = [{"boot": "a", "size": "b", "price": 1}, {"boot": "a", "size": "b", "price": 2}]
    assert faults(offers=offers) == {("/currency", "missing")}
    assert read(offers=[{"boot": "a", "size": "b"}]).currency is None


@pytest.mark.parametrize(
    "offer",
    [
        {}, {"boot": "a"}, {"size": "b"}, {"gtin": "4012345000009", "boot": "a"},
        {"gtin": "4012345000009", "size": "b"}, {"gtin": "4012345000009", "boot": "a", "size": "b"}, {"stock": 1},
    ],
)  # fmt: skip
def test_an_offer_names_one_size_in_one_way(offer: dict[str, object]) -> None:
    assert faults(offers=[offer]) == {("/offers/0", "offer-unnamed")}


def test_every_fault_is_told_at_once() -> None:
    offers = [{"boot": "a", "size": "b", "stock": -1}, {"boot": "a", "size": "b", "price": 0.005}, {"gtin": "12"}]
    told = faults(
        hooves=[*HOOVES, *HOOVES], offers=offers, currency="EUR", aim="dearest", least_fit_chance=2, budget="much"
    )
    assert told == {
        ("/hooves/1/limb", "duplicate-limb"),
        ("/offers/0/stock", "out-of-range"),
        ("/offers/1/price", "price-too-fine"),
        ("/offers/2/gtin", "wrong-form"),
        ("/aim", "unknown-choice"),
        ("/least_fit_chance", "out-of-range"),
        ("/budget", "price-unreadable"),
    }


def test_what_is_no_document_is_refused_without_a_crash() -> None:
    documents: list[object] = [
        [], "plan", {"offers": 5}, {"offers": ["a"]}, {"offers": [{"price": {}}], "currency": 5}
    ]  # fmt: skip
    for document in documents:
        with pytest.raises(InputRefused):
            read_plan_question(document, today=TODAY)


class TestAFileOfOffers:
    CSV = b"boot;size;price;stock\na;b;64.90;3\n\na;c;64.905;many\n"

    def offers(self, listed: OfferList) -> tuple[SizeOffer, ...]:
        asked = listed.read(lambda: read(offers=listed.offers, currency="EUR"))
        assert asked.offers is not None
        return asked.offers

    def test_csv_json_and_yaml_say_the_same(self) -> None:
        written = {
            ReadingsFormat.CSV: b"Boot,Size,Price,Stock\na,b,64.90,3\na,c,,\n",
            ReadingsFormat.JSON: b'[{"boot":"a","size":"b","price":"64.90","stock":3},{"boot":"a","size":"c"}]',
            ReadingsFormat.YAML: b"- {boot: a, size: b, price: 64.90, stock: 3}\n- {boot: a, size: c}\n",
        }
        read_from = {self.offers(read_offer_list(raw, written_as=written_as)) for written_as, raw in written.items()}
        expected = (SizeOffer(boot="a", size="b", price=6490, stock=3), SizeOffer(boot="a", size="c"))
        assert read_from == {expected}

    def test_the_list_may_stand_in_an_object(self) -> None:
        listed = read_offer_list(b'{"offers":[{"boot":"a","size":"b"}]}', written_as=ReadingsFormat.JSON)
        assert self.offers(listed) == (SizeOffer(boot="a", size="b"),)

    def test_faults_of_a_csv_name_row_and_column(self) -> None:
        listed = read_offer_list(self.CSV, written_as=ReadingsFormat.CSV)
        with pytest.raises(InputRefused) as refused:
            self.offers(listed)
        places = {(fault.facts["row"], fault.facts["column"], fault.code) for fault in refused.value.faults}
        assert places == {(4, "price", "price-too-fine"), (4, "stock", "wrong-type")}

    def test_faults_beside_the_offers_keep_their_places(self) -> None:
        listed = read_offer_list(b"boot,size\na,b\n", written_as=ReadingsFormat.CSV)
        with pytest.raises(InputRefused) as refused:
            listed.read(lambda: read(offers=listed.offers, budget=1))
        assert [fault.pointer for fault in refused.value.faults] == ["/currency"]


@pytest.mark.parametrize(
    ("minor", "currency", "said"), [(6490, "EUR", "€64.90"), (6490, "JPY", "¥6,490"), (0, "EUR", "€0.00")]
)
def test_money_is_said_as_the_language_writes_it(minor: int, *, currency: str, said: str) -> None:
    texts = load_texts("en")
    assert texts.money(minor, currency=currency) == said
    assert texts.say("trade.costs-less", {"difference_money": f"{currency} {minor}"}) == f"Costs {said} less."


@pytest.mark.parametrize("name", ["", " ", "\u00d7", "a b", "x" * 101])
@pytest.mark.parametrize("member", ["boot", "size"])
def test_an_offer_whose_name_cannot_be_one_is_refused_by_its_place(member: str, name: str) -> None:
    asked = {"hooves": [{"limb": "LF", "width": 124, "length": 128}], "offers": [{member: name}]}
    with pytest.raises(InputRefused) as caught:
        read_plan_question(asked, today=date(2026, 5, 4))
    assert ("offers", 0, member) in {fault.path for fault in caught.value.faults}
