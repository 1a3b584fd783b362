"""Kept assortments: a change by SKU is made anew where another one came between, and not for ever."""

import json
from typing import Any

import httpx
import pytest
from tests.api.test_assortments import ITEMS, PATCH, made

from hooflast.api.kept_assortments import TRIES
from hooflast.store.assortments import Assortments
from hooflast.store.errors import AssortmentChanged

pytestmark = pytest.mark.anyio


@pytest.fixture
def come_between(monkeypatch: pytest.MonkeyPatch) -> list[int]:
    """How often another change is still to come between; one is counted down for each."""
    left, change = [0], Assortments.change

    async def interrupted(self: Assortments, assortment_id: Any, **told: Any) -> Any:
        if left[0]:
            left[0] -= 1
            raise AssortmentChanged(assortment=assortment_id, revision=7)
        return await change(self, assortment_id, **told)

    monkeypatch.setattr(Assortments, "change", interrupted)
    return left


@pytest.mark.parametrize(("times", "status"), [(0, 200), (1, 200), (TRIES - 1, 200), (TRIES, 412)])
async def test_a_change_is_tried_again_where_others_come_between(
    client: httpx.AsyncClient, come_between: list[int], *, times: int, status: int
) -> None:
    kept = await made(client)
    come_between[0] = times
    patch = json.dumps({"items": {next(iter(ITEMS)): {"stock": 9}}})
    answer = await client.patch(kept["location"], content=patch, headers=PATCH)
    assert (answer.status_code, come_between) == (status, [0])


async def test_a_change_of_what_was_seen_is_tried_once(client: httpx.AsyncClient, come_between: list[int]) -> None:
    kept = await made(client)
    come_between[0] = 2
    patch = json.dumps({"items": {next(iter(ITEMS)): {"stock": 9}}})
    answer = await client.patch(kept["location"], content=patch, headers={**PATCH, "if-match": kept["etag"]})
    assert (answer.status_code, come_between) == (412, [1])


async def test_a_change_that_was_worked_out_from_another_revision_than_it_names_is_not_kept(
    client: httpx.AsyncClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who sends two changes at once, the second for the revision that the first will make, must not lose the first."""
    kept, sku, find_some = await made(client), next(iter(ITEMS)), Assortments.find_some

    async def overtaken(self: Assortments, assortment_id: Any, **told: Any) -> Any:
        found = await find_some(self, assortment_id, **told)
        monkeypatch.setattr(Assortments, "find_some", find_some)
        first = json.dumps({"items": {sku: {"price": "70.00"}}})
        assert (await client.patch(kept["location"], content=first, headers=PATCH)).json()["revision"] == 2
        return found

    monkeypatch.setattr(Assortments, "find_some", overtaken)
    second = json.dumps({"items": {sku: {"stock": 9}}})
    refused = await client.patch(kept["location"], content=second, headers={**PATCH, "if-match": '"2.seen"'})
    (item,) = [
        one["item"]
        for one in (await client.get(f"{kept['location']}/items")).json()["items"]
        if one["item"]["sku"] == sku
    ]
    assert (refused.status_code, item["price"], item["stock"]) == (412, "70.00", ITEMS[sku]["stock"])
