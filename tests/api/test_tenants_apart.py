"""Clients apart: whatever is another client's is not found, at every address there is, and nothing of it changes."""

import json
from typing import Any, Final

import httpx
import pytest
from tests.api.belongings import OF_A_CLIENT, Ids, names_in
from tests.api.keys import Made, made
from tests.api.samples import NEWER, serving

from hooflast.api.openapi import openapi_document
from hooflast.api.routes import operations
from hooflast.settings import Access

pytestmark = pytest.mark.anyio
DOCUMENT: Final = openapi_document()
OPERATIONS: Final = [
    (method.upper(), path, operation)
    for path, methods in DOCUMENT["paths"].items()
    for method, operation in methods.items()
]

OF_NOBODY: Final = {
    "boot_id", "maker_id", "release_id", "kind", "record_id", "trouble", "picture", "limb", "page", "code",
}  # fmt: skip
"""What names something that belongs to no client."""

FILLED: Final = {"picture": "hooves.svg", "limb": "LF"}


CLIENTS_OWN: Final = [
    (method, path, operation) for method, path, operation in OPERATIONS if set(names_in(path)) & set(OF_A_CLIENT)
]


def test_of_every_parameter_it_is_known_whether_it_names_what_belongs_to_a_client() -> None:
    known = set(OF_A_CLIENT) | OF_NOBODY
    unknown = {name for _, path, _ in OPERATIONS for name in names_in(path)} - known
    assert unknown == set(), "say in OF_A_CLIENT how one is made, or in OF_NOBODY that it belongs to no client"


def test_whatever_can_be_made_is_tried() -> None:
    """Each list of a client's own is the list of something that the table knows."""
    tried = {path.partition("/{")[0] for _, path, _ in CLIENTS_OWN}
    kept = {operation.path for operation in operations() if operation.status == 201 and not operation.path_parameters}
    assert kept <= tried


def body_of(operation: dict[str, Any]) -> dict[str, Any]:
    """A body that the operation would take, so that it is not refused for what it says."""
    content = operation.get("requestBody", {}).get("content", {})
    for media_type, described in content.items():
        for example in described.get("examples", {}).values():
            value = example["value"]
            return {
                "content": value if isinstance(value, str) else json.dumps(value),
                "headers": {"content-type": media_type},
            }
    return {}


def address_of(path: str, ids: Ids) -> str:
    for name in names_in(path):
        path = path.replace("{" + name + "}", (ids | FILLED)[name])
    return path


async def everything(client: httpx.AsyncClient, key: Made, ids: Ids) -> dict[str, tuple[int, bytes]]:
    """All that a client reads of its own."""
    found = {}
    for method, path, _ in OPERATIONS:
        if method == "GET" and set(names_in(path)) <= set(OF_A_CLIENT) | set(FILLED) and path.startswith("/v1/"):
            answer = await client.get(address_of(path, ids), headers=key.shown)
            found[path] = (answer.status_code, answer.content)
    return found


@pytest.fixture
async def both(anyio_backend: str, database_url: str) -> Any:
    """A service that two clients use, each with one of everything."""
    keys = {name: await made(database_url, client=name) for name in ("tarn-and-tether", "mossgate")}
    async with serving(database_url, access=Access.KEYS) as client:
        ids: dict[str, Ids] = {name: {} for name in keys}
        for parameter, make in OF_A_CLIENT.items():
            for name, key in keys.items():
                ids[name][parameter] = await make(client, key.shown, ids[name])
        yield client, keys, ids


async def test_what_is_another_clients_is_not_found_and_does_not_change(both: Any) -> None:
    client, keys, ids = both
    mine, theirs = keys["mossgate"], keys["tarn-and-tether"]
    before = await everything(client, theirs, ids["tarn-and-tether"])
    assert {status for status, _ in before.values()} == {200}
    for method, path, operation in CLIENTS_OWN:
        for stranger in _strangers(path, own=ids["mossgate"], other=ids["tarn-and-tether"]):
            options = body_of(operation)
            headers = {**mine.shown, **options.pop("headers", {})}
            answer = await client.request(method, address_of(path, stranger), headers=headers, **options)
            assert answer.status_code == 404, (method, path, answer.status_code, answer.text)
            assert "ETag" not in answer.headers
    assert await everything(client, theirs, ids["tarn-and-tether"]) == before


def _strangers(path: str, *, own: Ids, other: Ids) -> list[Ids]:
    """Addresses in which at least one thing is another client's: all of them, and each alone among one's own."""
    named = [name for name in names_in(path) if name in OF_A_CLIENT]
    return [other, *(own | {name: other[name]} for name in named if len(named) > 1)]


async def test_what_is_ones_own_is_found_at_the_same_addresses(both: Any) -> None:
    """So that the test above does not pass for another reason."""
    client, keys, ids = both
    removing = [one for one in CLIENTS_OWN if one[0] == "DELETE"]
    for method, path, operation in [*(one for one in CLIENTS_OWN if one[0] != "DELETE"), *removing]:
        options = body_of(operation)
        headers = {**keys["mossgate"].shown, **options.pop("headers", {})}
        answer = await client.request(method, address_of(path, ids["mossgate"]), headers=headers, **options)
        assert answer.status_code != 404, (method, path, answer.text)
        assert answer.status_code < 500


async def test_lists_hold_what_is_ones_own_alone(both: Any) -> None:
    client, keys, ids = both
    for path in ("/v1/hooks", "/v1/assortments", "/v1/match-jobs"):
        for name, key in keys.items():
            listed = (await client.get(path, headers=key.shown)).text
            others = {value for other, held in ids.items() if other != name for value in held.values()}
            assert not any(value in listed for value in others), path


async def test_the_catalog_is_the_same_for_all(both: Any) -> None:
    client, keys, _ = both
    assert {(await client.get("/v1/makers", headers=key.shown)).json()["catalog_release"] for key in keys.values()} == {
        NEWER.id
    }
