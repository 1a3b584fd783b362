"""Assortments in GraphQL: kept with a report, read page by page, changed by SKU and revision, and answered from."""

import asyncio
from typing import Any

import httpx
import pytest
from tests.api.graphql_asking import as_input, as_listed, ask, codes_of, data_of, errors_of, field_of_root
from tests.api.keys import made as made_key
from tests.api.samples import HORSE, NEWER, serving
from tests.api.test_assortments import ASSORTMENT, ITEMS, SIZES

from hooflast.access.key import Scope
from hooflast.settings import Access
from hooflast.store import open_store
from hooflast.store.audit import Deed
from hooflast.store.values import TenantId

pytestmark = pytest.mark.anyio
HEAD = "id restId name currency revision itemCount asOf"
REPORT = "report { revision itemCount mapped catalogRelease notMapped { sku code text } }"
CREATE = f"mutation($input: AssortmentInput!) {{ made: createAssortment(input: $input) {{ {HEAD} {REPORT} }} }}"
CHANGE = f"""mutation($id: ID!, $input: AssortmentChangeInput!, $revision: Int) {{
  made: changeAssortment(id: $id, input: $input, revision: $revision) {{ {HEAD} {REPORT} }}
}}"""
REPLACE = f"""mutation($id: ID!, $input: AssortmentInput!, $revision: Int) {{
  made: replaceAssortment(id: $id, input: $input, revision: $revision) {{ {HEAD} {REPORT} }}
}}"""
REMOVE = """mutation($id: ID!, $revision: Int) {
  made: removeAssortment(id: $id, revision: $revision) { id restId }
}"""
READ = f"query($id: ID!) {{ assortment(id: $id) {{ {HEAD} {REPORT} }} }}"
ITEMS_OF = """query($id: ID!, $first: Int! = 20, $after: String, $which: WhichItems! = ALL) {
  assortment(id: $id) {
    items(first: $first, after: $after, which: $which) {
      revision catalogRelease
      nodes {
        item { sku gtin side soldAs price currency stock leadDays } product size
        place { boot accessory size } notMapped { code text }
      }
      pageInfo { hasNextPage endCursor }
    }
  }
}"""
FORM = as_listed(ASSORTMENT)
FIRST, SECOND = list(ITEMS)[:2]
MATCH = field_of_root("Mutation", "createMatch").args["input"].type
PLAN = field_of_root("Query", "orderPlan").args["input"].type


@pytest.fixture
async def shop(client_on_both: httpx.AsyncClient) -> httpx.AsyncClient:
    return client_on_both


async def made(client: httpx.AsyncClient, form: dict[str, Any] = FORM) -> dict[str, Any]:
    found: dict[str, Any] = (await data_of(client, CREATE, input=form))["made"]
    return found


async def items_of(client: httpx.AsyncClient, assortment: str) -> dict[str, dict[str, Any]]:
    nodes = (await data_of(client, ITEMS_OF, id=assortment, first=100))["assortment"]["items"]["nodes"]
    return {node["item"]["sku"]: node for node in nodes}


def faults_of(answer: httpx.Response) -> set[tuple[str, str]]:
    (error,) = errors_of(answer)
    assert error["extensions"]["code"] == "input-refused", answer.text
    return {(fault["pointer"], fault["code"]) for fault in error["extensions"]["errors"]}


async def test_an_assortment_is_kept_with_a_report_of_what_leads_nowhere(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    report = kept["report"]
    assert (kept["name"], kept["currency"], kept["revision"], kept["itemCount"]) == (
        "Webshop", "EUR", 1, len(SIZES) + 1,
    )  # fmt: skip
    assert (report["revision"], report["itemCount"], report["mapped"]) == (1, len(SIZES) + 1, len(SIZES))
    assert [(one["sku"], one["code"]) for one in report["notMapped"]] == [("X-1", "PRODUCT_UNKNOWN")]
    assert report["catalogRelease"] == NEWER.id
    for name in (kept["id"], kept["restId"]):
        assert (await data_of(shop, READ, id=name))["assortment"] == kept
    node = await data_of(
        shop, f"query($id: ID!) {{ node(id: $id) {{ ... on Assortment {{ {HEAD} {REPORT} }} }} }}", id=kept["id"]
    )
    assert node["node"] == kept
    other = await made(shop, {**FORM, "name": "Market stall", "items": []})
    listed = (await data_of(shop, f"{{ assortments(first: 5) {{ nodes {{ {HEAD} {REPORT} }} }} }}"))["assortments"][
        "nodes"
    ]
    assert listed == [kept, other]


async def test_the_items_come_page_by_page_each_once_with_where_it_leads(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    for which, expected in (("ALL", sorted(ASSORTMENT["items"])), ("MAPPED", sorted(ITEMS)), ("NOT_MAPPED", ["X-1"])):
        seen: dict[str, Any] = {}
        after, more = None, True
        while more:
            asked = {"id": kept["id"], "first": 2, "after": after, "which": which}
            page = (await data_of(shop, ITEMS_OF, **asked))["assortment"]["items"]
            assert (page["revision"], page["catalogRelease"], len(page["nodes"]) <= 2) == (1, NEWER.id, True)
            seen |= {node["item"]["sku"]: node for node in page["nodes"]}
            after, more = page["pageInfo"]["endCursor"], page["pageInfo"]["hasNextPage"]
        assert list(seen) == expected
        for sku, node in seen.items():
            if sku == "X-1":
                assert (node["place"], node["notMapped"]["code"]) == (None, "PRODUCT_UNKNOWN")
            else:
                assert node["place"] == {"boot": "vellory-oak", "accessory": None, "size": ITEMS[sku]["size"]}
                assert node["item"]["price"] == "64.90"


async def test_a_cursor_of_other_items_is_refused(client: httpx.AsyncClient) -> None:
    kept = await made(client)
    page = (await data_of(client, ITEMS_OF, id=kept["id"], first=1))["assortment"]["items"]["pageInfo"]
    other = await made(client)
    for assortment, which in ((kept["id"], "MAPPED"), (other["id"], "ALL")):
        asked = {"id": assortment, "after": page["endCursor"], "which": which}
        (error,) = errors_of(await ask(client, ITEMS_OF, variables=asked))
        assert [one["code"] for one in error["extensions"]["errors"]] == ["cursor-of-another-query"]


async def test_a_change_touches_the_named_skus_alone(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    new = {"sku": "NEW", "product": "vellory-oak", "size": SIZES[0], "leadDays": 14}
    change = {
        "asOf": "2026-05-01T11:00:00Z",
        "items": [{"sku": FIRST, "stock": 7}, {"sku": "X-1", "product": "vellory-elm"}, new],
        "remove": [SECOND, "NEVER-THERE"],
    }
    changed = (await data_of(shop, CHANGE, id=kept["id"], input=change))["made"]
    assert (changed["revision"], changed["itemCount"], changed["asOf"]) == (2, len(SIZES) + 1, "2026-05-01T11:00:00Z")
    assert [(one["sku"], one["code"]) for one in changed["report"]["notMapped"]] == [("X-1", "SIZE_UNKNOWN")]
    items = await items_of(shop, kept["id"])
    assert set(items) == {*ASSORTMENT["items"], "NEW"} - {SECOND}
    assert (items[FIRST]["item"]["stock"], items[FIRST]["item"]["price"]) == (7, "64.90")
    assert items["NEW"]["item"]["leadDays"] == 14
    renamed = (await data_of(shop, CHANGE, id=kept["restId"], input={"name": "Fair"}))["made"]
    assert (renamed["name"], renamed["revision"], renamed["itemCount"]) == ("Fair", 3, changed["itemCount"])


async def test_what_is_left_out_of_a_sku_stays_and_what_is_null_is_not_told_any_more(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    await data_of(shop, CHANGE, id=kept["id"], input={"items": [{"sku": FIRST, "stock": None}, {"sku": SECOND}]})
    items = await items_of(shop, kept["id"])
    assert (items[FIRST]["item"]["stock"], items[FIRST]["item"]["price"]) == (None, "64.90")
    assert items[SECOND]["item"]["stock"] == ITEMS[SECOND]["stock"]


async def test_the_whole_takes_the_place_of_what_was(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    form = {"name": "Fair", "currency": "SEK", "items": [{"sku": "A", "product": "vellory-oak", "size": SIZES[0]}]}
    replaced = (await data_of(shop, REPLACE, id=kept["id"], input=form))["made"]
    assert (replaced["id"], replaced["name"], replaced["currency"], replaced["revision"]) == (
        kept["id"], "Fair", "SEK", 2,
    )  # fmt: skip
    assert set(await items_of(shop, kept["id"])) == {"A"}
    removed = (await data_of(shop, REMOVE, id=kept["id"]))["made"]
    assert removed == {"id": kept["id"], "restId": kept["restId"]}
    assert codes_of(await ask(shop, READ, variables={"id": kept["id"]})) == ["not-found"]
    assert (await data_of(shop, "query($id: ID!) { node(id: $id) { id } }", id=kept["id"]))["node"] is None


async def test_a_change_made_for_what_is_no_longer_so_is_refused(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    seen = {"id": kept["id"], "revision": kept["revision"]}
    await data_of(shop, CHANGE, **seen, input={"remove": ["X-1"]})
    for document, told in ((CHANGE, {"input": {"remove": [FIRST]}}), (REPLACE, {"input": FORM}), (REMOVE, {})):
        answer = await ask(shop, document, variables={**seen, **told})
        (error,) = errors_of(answer)
        assert (error["extensions"]["code"], error["extensions"]["status"]) == ("assortment-changed", 412)
        assert answer.json()["data"] == {"made": None}
    now = (await data_of(shop, READ, id=kept["id"]))["assortment"]
    assert (now["revision"], now["itemCount"]) == (2, len(SIZES))
    await data_of(shop, REMOVE, id=kept["id"], revision=2)


async def test_changes_made_at_the_same_time_without_a_revision_are_all_made(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    changes = [{"items": [{"sku": sku, "stock": 500}]} for sku in list(ITEMS)[:4]]
    answers = await asyncio.gather(
        *(ask(shop, CHANGE, variables={"id": kept["id"], "input": change}) for change in changes)
    )
    assert [answer.status_code for answer in answers] == [200] * 4
    items = await items_of(shop, kept["id"])
    assert [items[sku]["item"]["stock"] for sku in list(ITEMS)[:4]] == [500] * 4


async def test_mutations_of_one_document_see_what_those_before_have_done(shop: httpx.AsyncClient) -> None:
    kept = await made(shop)
    document = """mutation($id: ID!) {
      one: changeAssortment(id: $id, input: {remove: ["X-1"]}) { revision report { revision mapped itemCount } }
      two: changeAssortment(id: $id, input: {items: [{sku: "X-2", product: "nimbus", size: "s"}]}) {
        revision report { revision mapped itemCount } items(which: NOT_MAPPED) { nodes { item { sku } } }
      }
    }"""
    data = await data_of(shop, document, id=kept["id"])
    assert data["one"] == {
        "revision": 2, "report": {"revision": 2, "mapped": len(SIZES), "itemCount": len(SIZES)},
    }  # fmt: skip
    assert data["two"]["report"] == {"revision": 3, "mapped": len(SIZES), "itemCount": len(SIZES) + 1}
    assert [node["item"]["sku"] for node in data["two"]["items"]["nodes"]] == ["X-2"]


class TestFaults:
    """Everything that is wrong is told at once, where it stands in the lists, and nothing is kept."""

    async def test_of_what_is_to_be_kept(self, client: httpx.AsyncClient) -> None:
        items = [
            {"sku": "A", "product": "vellory-oak", "size": "s", "price": "1.234", "leadDays": 1000},
            {"sku": "B", "gtin": "1"},
            {"sku": " C", "gtin": "12345678"},
            {"sku": "D"},
            {"sku": "A", "gtin": "12345678", "price": "dear"},
        ]
        form = {"name": "", "currency": "EUR", "asOf": "yesterday", "items": items}
        assert faults_of(await ask(client, CREATE, variables={"input": form})) == {
            ("/name", "wrong-form"),
            ("/asOf", "moment-unreadable"),
            ("/items/0/price", "price-too-fine"),
            ("/items/0/leadDays", "out-of-range"),
            ("/items/1/gtin", "wrong-form"),
            ("/items/2/sku", "wrong-form"),
            ("/items/3", "item-unnamed"),
            ("/items/4/sku", "duplicate-sku"),
            ("/items/4/price", "price-unreadable"),
        }
        assert (await data_of(client, "{ assortments { nodes { id } } }"))["assortments"]["nodes"] == []

    async def test_a_sku_that_comes_again_is_told_with_both_places(self, client: httpx.AsyncClient) -> None:
        kept = await made(client)
        change = {"items": [{"sku": FIRST, "stock": 1}], "remove": [SECOND, FIRST]}
        (error,) = errors_of(await ask(client, CHANGE, variables={"id": kept["id"], "input": change}))
        (fault,) = error["extensions"]["errors"]
        assert (fault["pointer"], fault["code"], fault["received"]) == ("/remove/1", "duplicate-sku", FIRST)
        assert "/items/0" in fault["detail"]

    async def test_of_a_change_also_those_that_only_what_is_kept_shows(self, shop: httpx.AsyncClient) -> None:
        kept = await made(shop)
        items = [{"sku": FIRST, "stock": 7}, {"sku": "NEW", "price": "1.234"}, {"sku": SECOND, "size": None}]
        answer = await ask(shop, CHANGE, variables={"id": kept["id"], "input": {"items": items}})
        assert faults_of(answer) == {
            ("/items/1", "item-unnamed"),
            ("/items/1/price", "price-too-fine"),
            ("/items/2", "item-unnamed"),
        }
        assert (await data_of(shop, READ, id=kept["id"]))["assortment"] == kept

    async def test_what_no_assortment_can_be_called_is_not_found(self, client: httpx.AsyncClient) -> None:
        hook = await data_of(
            client, 'mutation { createHook(input: {url: "https://tarn-and-tether.example/told"}) { hook { id } } }'
        )
        for unknown in ("x", "0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11", hook["createHook"]["hook"]["id"]):
            for document, told in (
                (READ, {}),
                (CHANGE, {"input": {"name": "Fair"}}),
                (REPLACE, {"input": FORM}),
                (REMOVE, {}),
            ):
                assert codes_of(await ask(client, document, variables={"id": unknown, **told})) == ["not-found"]

    async def test_there_are_only_so_many(self, client: httpx.AsyncClient) -> None:
        for _ in range(20):
            await made(client, {**FORM, "items": []})
        answer = await ask(client, CREATE, variables={"input": FORM})
        assert codes_of(answer) == ["too-many-assortments"]


async def test_reading_and_changing_take_a_scope_each(database_url: str) -> None:
    async with serving(database_url, access=Access.KEYS) as client:
        reading, changing = [
            {"Authorization": f"Bearer {(await made_key(database_url, scopes=frozenset(scopes))).written}"}
            for scopes in ([Scope.READ], [Scope.ASSORTMENTS])
        ]
        kept = (await ask(client, CREATE, variables={"input": FORM}, headers=changing)).json()["data"]["made"]
        assert (await ask(client, READ, variables={"id": kept["id"]}, headers=reading)).status_code == 200
        for document, told in (
            (CREATE, {"input": FORM}),
            (CHANGE, {"id": kept["id"], "input": {"remove": ["X-1"]}}),
            (REPLACE, {"id": kept["id"], "input": FORM}),
            (REMOVE, {"id": kept["id"]}),
        ):
            refused = await ask(client, document, variables=told, headers=reading)
            assert (codes_of(refused), refused.json()["data"]) == (["scope-missing"], {"made": None})
        for document in (READ, "{ assortments { nodes { id } } }"):
            refused = await ask(client, document, variables={"id": kept["id"]}, headers=changing)
            assert codes_of(refused) == ["scope-missing"]


async def test_what_is_done_is_in_the_audit_log_and_anothers_is_not_found(database_url: str) -> None:
    async with serving(database_url, tenant="tarn-and-tether") as client:
        kept = await made(client)
        await data_of(client, CHANGE, id=kept["id"], input={"remove": ["X-1"]})
    async with serving(database_url, tenant="mossgate") as other:
        assert (await data_of(other, "{ assortments { nodes { id } } }"))["assortments"]["nodes"] == []
        for document, told in ((READ, {}), (CHANGE, {"input": {"name": "Fair"}}), (REMOVE, {})):
            assert codes_of(await ask(other, document, variables={"id": kept["id"], **told})) == ["not-found"]
    async with open_store(database_url) as store:
        entries = await store.audit.page(tenant=TenantId("tarn-and-tether"))
    deeds = [entry.deed for entry in entries if entry.subject == kept["restId"]]
    assert deeds == [Deed.ASSORTMENT_CHANGED, Deed.ASSORTMENT_CHANGED]


class TestAnsweredFrom:
    """Matches and plans that name an assortment come with the SKU to put in the basket."""

    async def test_a_match_names_the_skus(self, shop: httpx.AsyncClient) -> None:
        kept = await made(shop)
        form = as_input({**HORSE, "assortment": {"id": kept["restId"], "prefer_stock": True}}, MATCH)
        document = """mutation($input: MatchInput!) { createMatch(input: $input) {
          hooves { boots { boot { id } best { size sold { sku price currency stock } } } }
          versions { assortment assortmentAsOf }
        } }"""
        answer = (await data_of(shop, document, input=form))["createMatch"]
        boots = [boot for hoof in answer["hooves"] for boot in hoof["boots"]]
        assert {boot["boot"]["id"] for boot in boots} == {"vellory-oak"}
        for boot in boots:
            (sold,) = boot["best"]["sold"]
            assert (sold["sku"], sold["price"], sold["currency"]) == (f"OAK {boot['best']['size']}", "64.90", "EUR")
        assert answer["versions"] == {"assortment": f"{kept['restId']}@1", "assortmentAsOf": kept["asOf"]}

    async def test_an_order_plan_names_the_skus_and_their_prices(self, shop: httpx.AsyncClient) -> None:
        stocked = [{**item, "stock": 4} for item in FORM["items"]]
        kept = await made(shop, {**FORM, "items": stocked})
        form = as_input({**HORSE, "assortment": {"id": kept["restId"]}}, PLAN)
        document = """query($input: OrderPlanInput!) { orderPlan(input: $input) {
          plan { items { what { boot size } sku price { amount } } } versions { assortment }
        } }"""
        answer = (await data_of(shop, document, input=form))["orderPlan"]
        bought = answer["plan"]["items"]
        assert bought
        for item in bought:
            assert item["what"]["boot"] == "vellory-oak"
            assert (item["sku"], item["price"]["amount"]) == (f"OAK {item['what']['size']}", "64.90")
        assert answer["versions"]["assortment"] == f"{kept['restId']}@1"

    async def test_an_assortment_there_is_not_is_a_fault_of_the_input(self, client: httpx.AsyncClient) -> None:
        unknown = {**HORSE, "assortment": {"id": "0199aa3c-7e61-7c55-9c3a-3a1f0f6f2b11"}}
        for document, takes in (
            ("mutation($input: MatchInput!) { createMatch(input: $input) { id } }", MATCH),
            ("query($input: OrderPlanInput!) { orderPlan(input: $input) { horseName } }", PLAN),
        ):
            answer = await ask(client, document, variables={"input": as_input(unknown, takes)})
            assert faults_of(answer) == {("/assortment/id", "assortment-unknown")}
