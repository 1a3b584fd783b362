"""Belongings: what belongs to a client, named by the parameters of addresses, and how one of each is made."""

import json
from collections.abc import Awaitable, Callable
from typing import Final

import httpx
from tests.api.samples import HORSE

Ids = dict[str, str]
Make = Callable[[httpx.AsyncClient, dict[str, str], Ids], Awaitable[str]]


async def _match(client: httpx.AsyncClient, shown: dict[str, str], _: Ids) -> str:
    return await _id(client.post("/v1/matches", json=HORSE, headers=shown))


async def _hook(client: httpx.AsyncClient, shown: dict[str, str], _: Ids) -> str:
    return await _id(client.post("/v1/hooks", json={"url": "https://harrowmere.example/told"}, headers=shown))


async def _delivery(client: httpx.AsyncClient, shown: dict[str, str], ids: Ids) -> str:
    return await _id(client.post(f"/v1/hooks/{ids['hook_id']}/tests", headers=shown))


async def _assortment(client: httpx.AsyncClient, shown: dict[str, str], _: Ids) -> str:
    form = {"name": "Webshop", "currency": "EUR", "items": {"A": {"product": "vellory-oak", "size": "s"}}}
    return await _id(client.post("/v1/assortments", json=form, headers=shown))


async def _job(client: httpx.AsyncClient, shown: dict[str, str], _: Ids) -> str:
    """A match job that is over, so that it does not change by itself."""
    headers = {**shown, "content-type": "application/x-ndjson"}
    job = await _id(client.post("/v1/match-jobs", content=json.dumps(HORSE) + "\n", headers=headers))
    state = "queued"
    while state != "done":
        state = (await client.get(f"/v1/match-jobs/{job}", headers=shown)).json()["state"]
    return job


async def _id(asking: Awaitable[httpx.Response]) -> str:
    answer = await asking
    assert answer.is_success, answer.text
    return str(answer.json()["id"])


OF_A_CLIENT: Final[dict[str, Make]] = {
    "match_id": _match,
    "hook_id": _hook,
    "delivery_id": _delivery,
    "assortment_id": _assortment,
    "job_id": _job,
}
"""What belongs to a client, by the parameter that names it in addresses, and how one is made, in the order to do so."""


def names_in(path: str) -> list[str]:
    """The parameters of an address."""
    return [part.partition("}")[0] for part in path.split("{")[1:]]
