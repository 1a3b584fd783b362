"""Order plans over HTTP."""

from typing import Any

import httpx
import pytest

pytestmark = pytest.mark.anyio

HOOVES = [
    {"limb": "LF", "width": 116, "length": 116},
    {"limb": "RF", "width": 124, "length": 124},
    {"limb": "LH", "width": 116, "length": 116},
    {"limb": "RH", "width": 116, "length": 117},
]
OFFERS = [
    {"boot": "ombrick-alder", "size": "lark", "price": "64.90", "stock": 3},
    {"boot": "ombrick-alder", "size": "thrush", "price": "64.90", "stock": 1},
    {"boot": "vellory-elm", "size": "lark", "price": 80},
    {"boot": "vellory-elm", "size": "thrush", "price": 80},
    {"boot": "ombrick-birch", "size": "lark", "price": 109.9, "sold_as": "pair"},
]
ASKED: dict[str, Any] = {"hooves": HOOVES, "uses": ["road"], "currency": "EUR", "offers": OFFERS, "method": "tape"}


async def plan(client: httpx.AsyncClient, **told: object) -> dict[str, Any]:
    answered = await client.post("/v1/order-plans", json=ASKED | {"horse": {"name": "Juniper"}} | told)
    assert answered.status_code == 200
    assert answered.headers["cache-control"] == "no-store"
    assert answered.headers["content-language"] == "en"
    document: dict[str, Any] = answered.json()
    return document


async def test_four_hooves_are_planned_and_what_they_wear_is_bought(client: httpx.AsyncClient) -> None:
    document = await plan(client)
    found = document["plan"]
    assert document["horse_name"] == "Juniper"
    assert [hoof["limb"] for hoof in found["hooves"]] == ["LF", "RF", "LH", "RH"]
    for pair in (found["hooves"][:2], found["hooves"][2:]):
        assert len({hoof["wears"]["boot"] for hoof in pair}) == 1
    worn = {(hoof["wears"]["boot"], hoof["wears"]["size"]) for hoof in found["hooves"]}
    assert {(item["what"]["boot"], item["what"]["size"]) for item in found["items"]} == worn
    for item in found["items"]:
        assert OFFERS[item["offer"]]["size"] == item["what"]["size"]
    cents = [round(float(item["price"]["amount"]) * 100) * item["quantity"] for item in found["items"]]
    assert round(float(found["total"]["amount"]) * 100) == sum(cents)
    assert found["expected_fitting"] == pytest.approx(sum(hoof["fit_chance"] for hoof in found["hooves"]), abs=0.003)


async def test_the_runner_up_tells_what_it_gains_and_costs(client: httpx.AsyncClient) -> None:
    document = await plan(client)
    sizes = [
        {hoof["wears"]["boot"] for hoof in found["hooves"]}
        for found in (document["plan"], document["runner_up"]["plan"])
    ]
    assert sizes[0] != sizes[1]
    assert len(document["runner_up"]["trade"]) == 2
    assert "€" in document["runner_up"]["trade"][1]["text"]


async def test_the_frontier_leads_from_the_cheapest_to_the_surest(client: httpx.AsyncClient) -> None:
    steps = (await plan(client))["frontier"]
    amounts, fits = [float(step["total"]["amount"]) for step in steps], [step["expected_fitting"] for step in steps]
    assert len(steps) > 1
    assert (amounts, fits) == (sorted(amounts), sorted(fits))


async def test_the_whole_catalog_without_prices_has_no_money_in_it(client: httpx.AsyncClient) -> None:
    document = await plan(client, offers=None, currency=None)
    assert document["plan"]["total"] is None
    assert document["plan"]["boots_without_price"] == 4
    assert document["frontier"] == []
    assert document["runner_up"]["trade"][-1]["code"] == "price-not-known"


async def test_a_hoof_that_cannot_be_served_is_told_with_its_next_best(client: httpx.AsyncClient) -> None:
    document = await plan(client, offers=[OFFERS[0], OFFERS[4]])
    assert [one["limb"] for one in document["unserved"]] == ["LF", "RF"]
    assert {one["because"]["code"] for one in document["unserved"]} <= {"no-boot-for-both", "no-size-likely"}
    assert document["unserved"][0]["next_best"]["wears"]["size"] == "lark"


async def test_a_foal_is_told_to_stop_and_gets_no_plan(client: httpx.AsyncClient) -> None:
    document = await plan(client, horse={"is_foal": True})
    assert (document["plan"], document["runner_up"], document["unserved"]) == (None, None, [])
    assert document["cautions"][0]["severity"] == "stop"


async def test_offers_of_nothing_known_are_told_with_their_places(client: httpx.AsyncClient) -> None:
    offers = [OFFERS[0], {"boot": "nowhere", "size": "lark"}, {"boot": "ombrick-alder", "size": "larch"}]
    refused = await client.post("/v1/order-plans", json=ASKED | {"offers": offers})
    assert refused.status_code == 422
    places = [(error["pointer"], error["code"]) for error in refused.json()["errors"]]
    assert places == [("/offers/1/boot", "boot-unknown"), ("/offers/2/size", "size-unknown")]


async def test_the_answer_says_what_it_rests_on(client: httpx.AsyncClient) -> None:
    document = await plan(client)
    assert document["versions"]["catalog_release"].startswith("sha256-")
    assert {"engine", "calibration", "language"} <= document["versions"].keys()
    assert document["assumptions"]
    assert document["cautions"]
