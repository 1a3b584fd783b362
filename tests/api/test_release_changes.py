"""Release changes over HTTP: every change once, page by page, against any other catalog release."""

from typing import Any

import httpx
import pytest
from tests.api.samples import LIBRARY, NEWER, OLDER, serving

from hooflast.catalog.comparing import compare_releases
from hooflast.catalog.library import Library

pytestmark = pytest.mark.anyio


async def walk(client: httpx.AsyncClient, address: str) -> list[Any]:
    items: list[Any] = []
    following: str | None = address
    while following:
        answer = await client.get(following)
        assert answer.status_code == 200, answer.text
        items += answer.json()["items"]
        following = answer.json()["next"]
    return items


def told(changes: list[Any]) -> list[tuple[str, str, str]]:
    return [(one["kind"], one["id"], one["change"]) for one in changes]


@pytest.mark.parametrize("limit", [1, 4, 100])
@pytest.mark.parametrize("since", [None, OLDER.id, NEWER.id])
async def test_every_change_is_told_once_however_the_pages_are_cut(
    client: httpx.AsyncClient, limit: int, since: str | None
) -> None:
    asked = "" if since is None else f"&since={since}"
    found = await walk(client, f"/v1/catalog-releases/{NEWER.id}/changes?limit={limit}{asked}")
    expected = compare_releases(NEWER if since == NEWER.id else OLDER, NEWER).records
    assert told(found) == [(one.kind, one.id, one.change) for one in expected]


async def test_the_other_way_round_what_was_added_is_removed(client: httpx.AsyncClient) -> None:
    there = await walk(client, f"/v1/catalog-releases/{NEWER.id}/changes?since={OLDER.id}")
    back = await walk(client, f"/v1/catalog-releases/{OLDER.id}/changes?since={NEWER.id}")
    other = {"added": "removed", "removed": "added", "changed": "changed"}
    assert told(back) == [(kind, name, other[change]) for kind, name, change in told(there)]


async def test_a_page_counts_all_and_names_both_catalog_releases(client: httpx.AsyncClient) -> None:
    page = (await client.get(f"/v1/catalog-releases/{NEWER.id}/changes?limit=1")).json()
    assert (page["since"], page["catalog_release"]) == (OLDER.id, NEWER.id)
    counts = {one["kind"]: one for one in page["counts"]}
    assert (counts["boot"]["added"], counts["boot"]["removed"], counts["boot"]["changed"]) == (8, 0, 1)


async def test_the_oldest_was_all_added(client: httpx.AsyncClient) -> None:
    page = (await client.get(f"/v1/catalog-releases/{OLDER.id}/changes?limit=100")).json()
    assert page["since"] is None
    assert {one["change"] for one in page["items"]} == {"added"}
    assert len(page["items"]) == len(OLDER.makers) + len(OLDER.boots)


async def test_a_list_begun_goes_on_against_the_same_one_when_another_comes_between(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=LIBRARY) as client:
        first = (await client.get(f"/v1/catalog-releases/{NEWER.id}/changes?limit=2")).json()
    assert f"since={OLDER.id}" in first["next"]
    async with serving(sqlite_url, library=Library(releases=(OLDER, NEWER))) as client:
        rest = await walk(client, first["next"])
    assert len(first["items"] + rest) == len(compare_releases(OLDER, NEWER).records)


async def test_a_changed_field_is_told_with_both_values(client: httpx.AsyncClient) -> None:
    found = await walk(client, f"/v1/catalog-releases/{NEWER.id}/changes")
    (changed,) = [one for one in found if one["change"] == "changed"]
    assert changed["id"] == "ombrick-alder"
    assert changed["fields"] == [{"name": "note", "before": "", "after": "New."}]


async def test_what_is_held_already_is_not_sent_again(client: httpx.AsyncClient) -> None:
    address = f"/v1/catalog-releases/{NEWER.id}/changes"
    first = await client.get(address)
    again = await client.get(address, headers={"If-None-Match": first.headers["etag"]})
    assert again.status_code == 304
    other = await client.get(f"{address}?since={NEWER.id}", headers={"If-None-Match": first.headers["etag"]})
    assert other.status_code == 200


@pytest.mark.parametrize(
    ("address", "status"),
    [
        ("/v1/catalog-releases/nothing/changes", 404),
        (f"/v1/catalog-releases/{NEWER.id}/changes?since=sha256-{'0' * 64}", 404),
        (f"/v1/catalog-releases/{NEWER.id}/changes?since=yesterday", 400),
    ],
)
async def test_what_is_not_there_is_said_so(client: httpx.AsyncClient, address: str, status: int) -> None:
    answer = await client.get(address)
    assert (answer.status_code, answer.headers["content-type"]) == (status, "application/problem+json")
