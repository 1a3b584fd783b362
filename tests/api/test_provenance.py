"""Provenance over HTTP: every record with its proof, page by page or alone, and the keys to verify it with."""

from typing import Any

import httpx
import pytest
from tests.api.samples import NEWER, serving
from tests.matching.test_seals import verified_by_a_stranger

from hooflast.catalog.provenance import provenance_of

pytestmark = pytest.mark.anyio
ADDRESS = f"/v1/catalog-releases/{NEWER.id}/provenance"


async def keys(client: httpx.AsyncClient) -> dict[str, Any]:
    answer = await client.get("/.well-known/jwks.json")
    assert answer.status_code == 200
    found: dict[str, Any] = answer.json()
    return found


@pytest.mark.parametrize("limit", [1, 3, 100])
async def test_every_statement_is_told_once_however_the_pages_are_cut(client: httpx.AsyncClient, limit: int) -> None:
    told, following = [], f"{ADDRESS}?limit={limit}"
    while following:
        page = (await client.get(following)).json()
        told += [(item["index"], item["statement"]["kind"], item["statement"]["id"]) for item in page["items"]]
        following = page["next"]
    statements = provenance_of(NEWER).statements
    assert told == [(index, one.kind.value, one.id) for index, one in enumerate(statements)]


async def test_each_record_can_be_verified_alone_on_both_databases(client_on_both: httpx.AsyncClient) -> None:
    known = await keys(client_on_both)
    for one in provenance_of(NEWER).statements:
        answer = (await client_on_both.get(f"{ADDRESS}/{one.kind}/{one.id}")).json()
        assert (answer["statement"]["id"], answer["statement"]["plugin"]) == (one.id, one.plugin)
        assert verified_by_a_stranger(answer, key_sets=known)


async def test_the_keys_hold_nothing_private_and_need_no_key_of_ones_own(client: httpx.AsyncClient) -> None:
    (key,) = (await keys(client))["keys"]
    assert {"kty": "OKP", "crv": "Ed25519", "alg": "EdDSA", "use": "sig"}.items() <= key.items()
    assert "d" not in key


async def test_what_the_client_holds_already_is_not_sent_again(client: httpx.AsyncClient) -> None:
    for address in (ADDRESS, f"{ADDRESS}/boot/{next(iter(NEWER.boots))}"):
        first = await client.get(address)
        again = await client.get(address, headers={"If-None-Match": first.headers["ETag"]})
        assert (first.status_code, again.status_code) == (200, 304)


@pytest.mark.parametrize("path", ["/boot/nobody", "/horse/bramble", "/maker/" + next(iter(NEWER.boots))])
async def test_what_is_not_there_is_not_found(client: httpx.AsyncClient, path: str) -> None:
    assert (await client.get(ADDRESS + path)).status_code == 404


async def test_before_anything_is_published_there_is_no_key(anyio_backend: str, sqlite_url: str) -> None:
    async with serving(sqlite_url, library=None) as client:
        assert (await keys(client))["keys"] == []
        assert (await client.get(ADDRESS)).status_code == 404
