"""Clients apart: whatever is another client's is not found, at every address there is, and nothing of it changes."""

import json
from collections.abc import AsyncIterator
from typing import Any, Final

import pytest
from tests.api.belongings import OF_A_CLIENT, Ids, names_in
from tests.api.samples import NEWER
from tests.api.two_clients import MINE, OPERATIONS, THEIRS, TwoClients, address_of, two_clients

from hooflast.api.routes import operations

pytestmark = pytest.mark.anyio

OF_NOBODY: Final = {
    "boot_id", "maker_id", "release_id", "kind", "record_id", "trouble", "picture", "limb", "page", "code",
}  # fmt: skip
"""What names something that belongs to no client."""

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


@pytest.fixture
async def both(anyio_backend: str, database_url: str) -> AsyncIterator[TwoClients]:
    async with two_clients(database_url) as opened:
        yield opened


async def test_what_is_another_clients_is_not_found_and_does_not_change(both: TwoClients) -> None:
    before = await both.everything(THEIRS)
    assert {status for status, _ in before.values()} == {200}
    for method, path, operation in CLIENTS_OWN:
        for stranger in _strangers(path, own=both.ids[MINE], other=both.ids[THEIRS]):
            options = body_of(operation)
            headers = {**both.keys[MINE].shown, **options.pop("headers", {})}
            answer = await both.http.request(method, address_of(path, stranger), headers=headers, **options)
            assert answer.status_code == 404, (method, path, answer.status_code, answer.text)
            assert "ETag" not in answer.headers
    assert await both.everything(THEIRS) == before


def _strangers(path: str, *, own: Ids, other: Ids) -> list[Ids]:
    """Addresses in which at least one thing is another client's: all of them, and each alone among one's own."""
    named = [name for name in names_in(path) if name in OF_A_CLIENT]
    return [other, *(own | {name: other[name]} for name in named if len(named) > 1)]


async def test_what_is_ones_own_is_found_at_the_same_addresses(both: TwoClients) -> None:
    """So that the test above does not pass for another reason."""
    removing = [one for one in CLIENTS_OWN if one[0] == "DELETE"]
    for method, path, operation in [*(one for one in CLIENTS_OWN if one[0] != "DELETE"), *removing]:
        options = body_of(operation)
        headers = {**both.keys[MINE].shown, **options.pop("headers", {})}
        answer = await both.http.request(method, address_of(path, both.ids[MINE]), headers=headers, **options)
        assert answer.status_code != 404, (method, path, answer.text)
        assert answer.status_code < 500


async def test_lists_hold_what_is_ones_own_alone(both: TwoClients) -> None:
    for path in ("/v1/hooks", "/v1/assortments", "/v1/match-jobs"):
        for name, key in both.keys.items():
            listed = (await both.http.get(path, headers=key.shown)).text
            others = {value for other, held in both.ids.items() if other != name for value in held.values()}
            assert not any(value in listed for value in others), path


async def test_the_catalog_is_the_same_for_all(both: TwoClients) -> None:
    told = [(await both.http.get("/v1/makers", headers=key.shown)).json() for key in both.keys.values()]
    assert {one["catalog_release"] for one in told} == {NEWER.id}
