"""Assortments over HTTP: kept, told with what leads nowhere, changed by SKU, and answered from."""

import json
from datetime import UTC, datetime
from typing import Any

import httpx
import pytest
from tests.api.samples import BOOTS, HORSE, NEWER, NOW, serving

from hooflast.catalog.values import BootId

pytestmark = pytest.mark.anyio
JSON = {"content-type": "application/json"}
PATCH = {"content-type": "application/merge-patch+json"}
CSV = {"content-type": "text/csv"}
SIZES = [size.code for size in BOOTS[BootId("vellory-oak")].sizes]
ITEMS: dict[str, Any] = {
    f"OAK {code}": {"product": "vellory-oak", "size": code, "price": "64.90", "stock": place % 2}
    for place, code in enumerate(SIZES)
}
ASSORTMENT = {"name": "Webshop", "currency": "EUR", "items": {**ITEMS, "X-1": {"product": "nimbus", "size": "s"}}}


@pytest.fixture
async def shop(client_on_both: httpx.AsyncClient) -> httpx.AsyncClient:
    return client_on_both


async def made(client: httpx.AsyncClient, document: dict[str, Any] = ASSORTMENT) -> dict[str, Any]:
    answer = await client.post("/v1/assortments", json=document)
    assert answer.status_code == 201, answer.text
    return answer.json() | {"etag": answer.headers["etag"], "location": answer.headers["location"]}


async def test_an_assortment_is_kept_with_a_report_of_what_leads_nowhere(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    assert (kept["items"], kept["mapped"], kept["revision"]) == (len(SIZES) + 1, len(SIZES), 1)
    assert [(one["sku"], one["code"]) for one in kept["not_mapped"]] == [("X-1", "product-unknown")]
    assert kept["catalog_release"] == NEWER.id
    again = await shop.get(kept["location"])
    assert again.headers["etag"] == kept["etag"]
    assert again.json()["id"] == kept["id"]
    listed = (await shop.get("/v1/assortments")).json()["items"]
    assert [(one["id"], one["items"]) for one in listed] == [(kept["id"], len(SIZES) + 1)]


async def test_csv_says_the_same_as_json(shop: httpx.AsyncClient) -> None:
    rows = "\n".join(f"OAK {code},vellory-oak,{code},64.90,{place % 2}" for place, code in enumerate(SIZES))
    answer = await shop.post(
        "/v1/assortments?name=Webshop&currency=EUR", content=f"SKU,Product,Size,Price,Stock\n{rows}\n", headers=CSV
    )
    assert answer.status_code == 201, answer.text
    of_json = await made(shop, {**ASSORTMENT, "items": ITEMS})
    lists = [(await shop.get(f"/v1/assortments/{one}/items")).json() for one in (answer.json()["id"], of_json["id"])]
    assert lists[0] == lists[1]


async def test_what_is_wrong_with_a_csv_is_told_by_row_and_column_all_at_once(client: httpx.AsyncClient) -> None:
    answer = await client.post(
        "/v1/assortments?name=Webshop&currency=EUR",
        content="sku,product,size,price,stock\nA,vellory-oak,x,dear,3\nB,,,1,2\nA,vellory-oak,x,1,-1\n",
        headers=CSV,
    )
    assert answer.status_code == 422
    told = {(one["pointer"], one["code"]) for one in answer.json()["errors"]}
    assert {
        ("/rows/2/price", "price-unreadable"),
        ("/rows/3", "item-unnamed"),
        ("/rows/4/sku", "duplicate-key"),
    } <= told
    assert (await client.get("/v1/assortments")).json()["items"] == []


@pytest.mark.parametrize("content", ["{}", "÷", "sku,prodct\nA,x\n", "product,size\nx,y\n", ""])
async def test_what_is_no_table_of_skus_is_told_in_words(client: httpx.AsyncClient, content: str) -> None:
    answer = await client.post("/v1/assortments?name=Webshop&currency=EUR", content=content.encode(), headers=CSV)
    assert answer.status_code == 422, answer.text
    assert all(one["detail"] for one in answer.json()["errors"])


@pytest.mark.parametrize(
    ("query", "headers", "code"),
    [("", CSV, "parameter-missing-for-csv"), ("?name=Webshop", JSON, "parameter-for-csv")],
)
async def test_name_and_currency_stand_in_the_query_for_csv_and_only_there(
    client: httpx.AsyncClient, query: str, headers: dict[str, str], code: str
) -> None:
    answer = await client.post(f"/v1/assortments{query}", content=json.dumps(ASSORTMENT), headers=headers)
    assert answer.status_code == 400
    assert {one["code"] for one in answer.json()["errors"]} == {code}


async def test_a_patch_changes_the_named_skus_alone(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    first, second = list(ITEMS)[:2]
    patch = {
        "as_of": "2026-05-01T11:00:00Z",
        "items": {first: {"stock": 7}, second: None, "X-1": {"product": "vellory-elm"}},
    }
    changed = await shop.patch(kept["location"], content=json.dumps(patch), headers=PATCH)
    assert changed.status_code == 200, changed.text
    told = changed.json()
    assert (told["revision"], told["items"], told["as_of"]) == (2, len(SIZES), "2026-05-01T11:00:00Z")
    items = {one["item"]["sku"]: one for one in (await shop.get(f"{kept['location']}/items")).json()["items"]}
    assert second not in items
    assert (items[first]["item"]["stock"], items[first]["item"]["price"]) == (7, "64.90")
    assert items["X-1"]["not_mapped"]["code"] == "size-unknown"


async def test_a_patch_with_a_fault_changes_nothing(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    first = next(iter(ITEMS))
    patch = {"items": {first: {"stock": 7}, "NEW": {"price": "1.234"}}}
    refused = await shop.patch(kept["location"], content=json.dumps(patch), headers=PATCH)
    assert refused.status_code == 422
    assert {one["pointer"] for one in refused.json()["errors"]} == {"/items/NEW", "/items/NEW/price"}
    assert (await shop.get(kept["location"])).headers["etag"] == kept["etag"]


async def test_a_change_made_for_what_is_no_longer_so_is_refused(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    patch = json.dumps({"items": {"X-1": None}})
    seen = {**PATCH, "if-match": kept["etag"]}
    assert (await shop.patch(kept["location"], content=patch, headers=seen)).status_code == 200
    for method, body, headers in (
        ("PATCH", patch, PATCH),
        ("PUT", json.dumps(ASSORTMENT), JSON),
        ("DELETE", None, {}),
    ):
        refused = await shop.request(
            method, kept["location"], content=body, headers={**headers, "if-match": kept["etag"]}
        )
        assert refused.status_code == 412
        assert refused.json()["type"] == "/problems/assortment-changed"
    refused = await shop.delete(kept["location"], headers={"if-match": '"nonsense"'})
    assert refused.json()["type"] == "/problems/precondition-failed"
    assert (await shop.delete(kept["location"], headers={"if-match": "*"})).status_code == 204
    assert (await shop.get(kept["location"])).status_code == 404


async def test_what_a_client_holds_already_is_not_sent_again(client: httpx.AsyncClient) -> None:
    kept = await made(client)
    unchanged = await client.get(kept["location"], headers={"if-none-match": kept["etag"]})
    assert (unchanged.status_code, unchanged.content) == (304, b"")


async def test_the_items_come_page_by_page_each_once(client: httpx.AsyncClient) -> None:
    kept = await made(client)
    address, skus = f"{kept['location']}/items?limit=2", []
    while address:
        page = (await client.get(address)).json()
        assert len(page["items"]) <= 2
        skus += [one["item"]["sku"] for one in page["items"]]
        address = page["next"]
    assert skus == sorted(ASSORTMENT["items"])
    for which, expected in (("mapped", sorted(ITEMS)), ("not_mapped", ["X-1"])):
        listed = (await client.get(f"{kept['location']}/items?limit=100&which={which}")).json()["items"]
        assert [one["item"]["sku"] for one in listed] == expected


async def test_a_match_is_limited_to_an_assortment_and_names_the_sku(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    answer = (await shop.post("/v1/matches", json={**HORSE, "assortment": {"id": kept["id"]}})).json()
    boots = [boot for hoof in answer["hooves"] for boot in hoof["boots"]]
    assert {boot["boot"]["id"] for boot in boots} == {"vellory-oak"}
    for boot in boots:
        assert [one["sku"] for one in boot["best"]["sold"]] == [f"OAK {boot['best']['size']}"]
        assert boot["best"]["sold"][0]["price"] == "64.90"
    assert answer["versions"]["assortment"] == f"{kept['id']}@1"
    assert datetime.fromisoformat(answer["versions"]["assortment_as_of"]) == NOW.astimezone(UTC)
    picture = f"/v1/matches/{answer['id']}/pictures/hooves.svg"
    assert (await shop.get(picture)).status_code == 200
    await shop.patch(kept["location"], content=json.dumps({"items": {"X-1": None}}), headers=PATCH)
    assert (await shop.get(picture)).status_code == 410
    assert (await shop.get(f"/v1/matches/{answer['id']}")).json() == answer


async def test_an_answer_follows_the_stock_at_once(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    asked = {**HORSE, "assortment": {"id": kept["id"], "sizes": "in_stock"}}
    best = (await shop.post("/v1/matches", json=asked)).json()["hooves"][0]["boots"][0]["best"]["size"]
    patch = {"items": {f"OAK {best}": {"stock": 0}}}
    await shop.patch(kept["location"], content=json.dumps(patch), headers=PATCH)
    hoof = (await shop.post("/v1/matches", json=asked)).json()["hooves"][0]
    assert best not in {boot["best"]["size"] for boot in hoof["boots"]}


async def test_an_assortment_there_is_not_is_a_fault_of_the_request(client: httpx.AsyncClient) -> None:
    unknown = {"id": "0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11"}
    for path in ("/v1/matches", "/v1/order-plans", "/v1/pads"):
        body = {**HORSE, "assortment": unknown, **({"pad": 6} if path == "/v1/pads" else {})}
        answer = await client.post(path, json=body)
        assert answer.status_code == 422, answer.text
        assert [(one["code"], one["pointer"]) for one in answer.json()["errors"]] == [
            ("assortment-unknown", "/assortment/id")
        ]


async def test_one_client_knows_nothing_of_anothers(sqlite_url: str) -> None:
    async with serving(sqlite_url, tenant="tarn-and-tether") as tarn:
        kept = await made(tarn)
    async with serving(sqlite_url, tenant="mossgate") as mossgate:
        assert (await mossgate.get("/v1/assortments")).json()["items"] == []
        for method in ("GET", "DELETE"):
            assert (await mossgate.request(method, kept["location"])).status_code == 404
        answer = await mossgate.post("/v1/matches", json={**HORSE, "assortment": {"id": kept["id"]}})
        assert answer.status_code == 422
