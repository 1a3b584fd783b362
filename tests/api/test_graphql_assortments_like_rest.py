"""Assortments in GraphQL say what they say in REST: the same forms through both, answers and faults compared."""

from typing import Any

import httpx
import pytest
from tests.api.graphql_asking import (
    SCHEMA,
    as_input,
    as_listed,
    ask,
    camel_pointer,
    code_of,
    errors_of,
    field_of_root,
    in_graphql,
    told_faults,
    whole,
)

pytestmark = pytest.mark.anyio

SHOP: dict[str, Any] = {
    "name": "Webshop",
    "currency": "EUR",
    "as_of": "2026-03-14T07:30:00Z",
    "items": {
        "TT-1001": {"product": "vellory-oak", "size": "wren", "price": "64.90", "stock": 3, "lead_days": 2},
        "TT-1002": {"product": "Vellory Vellory-Elm", "size": "finch", "sold_as": "pair", "side": "left"},
        "TT-1003": {"gtin": "4012345000009"},
        "TT-1004": {"product": "nimbus", "size": "s"},
    },
}
SPOILED = {
    "name": "",
    "currency": "XXQ",
    "as_of": "soon",
    "items": {
        "TT-1001": {"product": "vellory-oak", "size": "wren", "price": "6,50", "stock": -1},
        "TT-1002": {"product": "vellory-oak"},
        "TT-1003": {"gtin": "1", "lead_days": 731},
    },
}
PATCHES: list[dict[str, Any]] = [
    {"items": {"TT-1001": {"stock": None, "price": 3}, "TT-1002": None, "TT-1005": {"gtin": "4012345000009"}}},
    {"name": "Fair", "as_of": "2026-04-01T00:00:00Z"},
    {"items": {"TT-1001": {"size": None}, "TT-1003": {"price": "1.234"}, "TT-1004": None, "TT-1006": {"stock": 1}}},
    {"name": "x" * 81, "items": {"TT-1003": {"gtin": "1", "stock": 1_000_001}}},
]
WHOLE_ASSORTMENT = (
    f"{whole('Assortment')[:-2]} items(first: 100) {{ revision catalogRelease nodes {whole('AssortmentItem')} }} }}"
)


async def shown(client: httpx.AsyncClient, answer: httpx.Response) -> Any:
    """An assortment as REST shows it with its items, in the words of GraphQL; or what is wrong."""
    if not answer.is_success:
        return answer
    told = answer.json()
    items = (await client.get(f"/v1/assortments/{told['id']}/items?limit=100")).json()
    head = in_graphql(told, SCHEMA.get_type("Assortment"))
    report = in_graphql(told, SCHEMA.get_type("AssortmentReport"))
    nodes = [in_graphql(item, SCHEMA.get_type("AssortmentItem")) for item in items["items"]]
    seen = {"revision": items["revision"], "catalogRelease": items["catalog_release"], "nodes": nodes}
    return {**head, "report": report, "items": seen}


async def listed_alike(
    client: httpx.AsyncClient, mutation: str, form: dict[str, Any], *, rest: httpx.Response, **told: Any
) -> Any:
    """Do in GraphQL what REST has done, and compare; the node, if there is one."""
    takes = field_of_root("Mutation", mutation).args["input"].type
    declared = ", ".join(["$input: " + str(takes), *(f"${name}: {kind}" for name, (kind, _) in told.items())])
    given = ", ".join(f"{name}: ${name}" for name in ("input", *told))
    document = f"mutation({declared}) {{ made: {mutation}({given}) {WHOLE_ASSORTMENT} }}"
    variables = {"input": as_input(as_listed(form), takes), **{name: value for name, (_, value) in told.items()}}
    answer = await ask(client, document, variables=variables)
    expected = await shown(client, rest)
    made = answer.json()["data"]["made"]
    if isinstance(expected, httpx.Response):
        (error,) = errors_of(answer)
        problem = expected.json()
        assert (error["message"], error["extensions"]["code"]) == (problem["detail"], code_of(problem))
        assert told_faults(error["extensions"]["errors"]) == told_faults(
            problem["errors"], spelled=_listed_pointer(form)
        )
        assert made is None
        return None
    assert {name: made[name] for name in expected if name != "createdAt"} == {
        name: value for name, value in expected.items() if name != "createdAt"
    }
    return made


def _listed_pointer(form: dict[str, Any]) -> Any:
    """How GraphQL spells a place that REST names by SKU."""
    items = form.get("items", {})
    lists = {
        "items": [sku for sku in items if items[sku] is not None],
        "remove": [sku for sku in items if items[sku] is None],
    }
    places = {sku: f"/{name}/{at}" for name, skus in lists.items() for at, sku in enumerate(skus)}

    def spell(pointer: str) -> str:
        sku, _, inside = pointer.removeprefix("/items/").partition("/")
        found = f"{places[sku]}/{inside}".rstrip("/") if pointer.startswith("/items/") else pointer
        return camel_pointer(found)

    return spell


async def test_assortments_are_kept_changed_and_told_alike(client_on_both: httpx.AsyncClient) -> None:
    client = client_on_both
    headers = {"content-type": "application/merge-patch+json"}
    kept = await client.post("/v1/assortments", json=SHOP)
    made = await listed_alike(client, "createAssortment", SHOP, rest=kept)
    assert (kept.json()["mapped"], len(kept.json()["not_mapped"])) == (2, 2)
    assert (
        await listed_alike(client, "createAssortment", SPOILED, rest=await client.post("/v1/assortments", json=SPOILED))
        is None
    )
    address, node = f"/v1/assortments/{kept.json()['id']}", ("ID!", made["id"])
    for patch in PATCHES:
        rest = await client.patch(address, json=patch, headers=headers)
        await listed_alike(client, "changeAssortment", patch, rest=rest, id=node)
    for form in (SPOILED, SHOP):
        rest = await client.put(address, json=form)
        await listed_alike(client, "replaceAssortment", form, rest=rest, id=node)
    listed = (await ask(client, f"{{ assortments(first: 5) {{ nodes {whole('Assortment')} }} }}")).json()["data"][
        "assortments"
    ]["nodes"]
    of_rest = [
        in_graphql(one, SCHEMA.get_type("Assortment")) for one in (await client.get("/v1/assortments")).json()["items"]
    ]
    assert [{name: one[name] for name in like} for one, like in zip(listed, of_rest, strict=True)] == of_rest
    assert len(of_rest) == 2


async def test_what_an_assortment_has_changed_from_is_told_alike(client: httpx.AsyncClient) -> None:
    kept = await client.post("/v1/assortments", json=SHOP)
    address, seen = f"/v1/assortments/{kept.json()['id']}", {"if-match": kept.headers["etag"]}
    await client.put(address, json=SHOP)
    problem = (await client.delete(address, headers=seen)).json()
    document = "mutation($id: ID!) { removeAssortment(id: $id, revision: 1) { id } }"
    (error,) = errors_of(await ask(client, document, variables={"id": kept.json()["id"]}))
    assert (error["message"], error["extensions"]["code"]) == (problem["detail"], code_of(problem))
