"""Catalog reads: pages, cursors, filters, pins and ETags."""

from base64 import urlsafe_b64decode
from datetime import date
from typing import Any

import httpx
import pytest
from tests.api.samples import BOOTS, LIBRARY, MAKERS, NEWER, OLDER, serving, with_own_id

from hooflast.api.paging import cursor_text
from hooflast.api.parameters import Query
from hooflast.catalog.library import Library

pytestmark = pytest.mark.anyio


async def walk(client: httpx.AsyncClient, address: str) -> list[Any]:
    """Every item of a list, following `next`."""
    items: list[Any] = []
    following: str | None = address
    while following:
        answer = await client.get(following)
        assert answer.status_code == 200, answer.text
        page = answer.json()
        linked = answer.links.get("next", {}).get("url")
        assert linked == page["next"]
        items += page["items"]
        following = page["next"]
    return items


@pytest.mark.parametrize("limit", [1, 3, 7, 19, 20, 21, 100])
async def test_following_next_gives_every_boot_model_once_in_order(client: httpx.AsyncClient, limit: int) -> None:
    items = await walk(client, f"/v1/boots?limit={limit}")
    assert [item["id"] for item in items] == sorted(BOOTS)


async def test_every_list_can_be_walked(client: httpx.AsyncClient) -> None:
    assert [item["id"] for item in await walk(client, "/v1/makers?limit=1")] == sorted(MAKERS)
    releases = await walk(client, "/v1/catalog-releases?limit=1")
    assert [release["id"] for release in releases] == [NEWER.id, OLDER.id]
    sizes = await walk(client, "/v1/boots/vellory-oak/sizes?limit=3")
    assert [size["place"] for size in sizes] == list(range(1, 9))
    assert [size["width"]["low_mm"] for size in sizes] == sorted(size["width"]["low_mm"] for size in sizes)


async def test_only_the_newest_catalog_release_is_active(client: httpx.AsyncClient) -> None:
    releases = await walk(client, "/v1/catalog-releases")
    assert [release["is_active"] for release in releases] == [True, False]
    one = (await client.get(f"/v1/catalog-releases/{OLDER.id}")).json()
    assert one == releases[1]


@pytest.mark.parametrize(
    ("name", "word"), [("maker", "vellory"), ("use", "arena"), ("closure", "lace"), ("animal_type", "draft")]
)
async def test_a_filter_keeps_all_that_have_the_word_and_nothing_else(
    client: httpx.AsyncClient, name: str, word: str
) -> None:
    members = {"maker": "maker", "use": "intended_uses", "closure": "closure", "animal_type": "animal_types"}
    everything = await walk(client, "/v1/boots")
    kept = [item for item in everything if word == item[members[name]] or word in item[members[name]]]
    assert 0 < len(kept) < len(everything)
    assert await walk(client, f"/v1/boots?limit=2&{name}={word}") == kept


async def test_filters_are_joined_by_and(client: httpx.AsyncClient) -> None:
    by_maker = await walk(client, "/v1/boots?maker=ombrick")
    by_use = await walk(client, "/v1/boots?use=arena")
    assert await walk(client, "/v1/boots?maker=ombrick&use=arena") == [item for item in by_maker if item in by_use]


async def test_a_pinned_catalog_release_is_read_instead_of_the_active_one(client: httpx.AsyncClient) -> None:
    items = await walk(client, f"/v1/boots?limit=5&catalog_release={OLDER.id}")
    assert [item["id"] for item in items] == sorted(OLDER.boots)
    one = (await client.get(f"/v1/boots/ombrick-alder?catalog_release={OLDER.id}")).json()
    assert (one["boot"]["note"], one["catalog_release"]) == ("", OLDER.id)
    assert (await client.get("/v1/boots/ombrick-alder")).json()["boot"]["note"] == "New."


async def test_a_list_begun_on_one_catalog_release_ends_on_it(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=Library(releases=(OLDER,))) as before:
        begun = (await before.get("/v1/boots?limit=4")).json()
    async with serving(sqlite_url, library=LIBRARY) as after:
        rest = await walk(after, begun["next"])
    assert [item["id"] for item in begun["items"] + rest] == sorted(OLDER.boots)


async def test_links_lead_to_the_public_address_when_there_is_one(sqlite_url: str) -> None:
    async with serving(sqlite_url, public_url="https://fits.example/hoof") as client:
        following = (await client.get("/v1/boots?limit=4")).json()["next"]
    assert following.startswith("https://fits.example/hoof/v1/boots?")


async def test_a_cursor_changed_anywhere_is_refused(client: httpx.AsyncClient) -> None:
    following = (await client.get("/v1/boots?limit=4")).json()["next"]
    head, cursor = following.split("cursor=")
    for place in range(len(cursor)):
        other = "A" if cursor[place] != "A" else "B"
        tampered = f"{cursor[:place]}{other}{cursor[place + 1 :]}"
        if same_bytes(tampered, cursor):
            continue  # the last character has bits that mean nothing
        answer = await client.get(f"{head}cursor={tampered}")
        assert answer.status_code == 400
        assert [error["parameter"] for error in answer.json()["errors"]] == ["cursor"]


@pytest.mark.parametrize("cursor", ["", "x", "x" * 40, "%00", "é", "=" * 20, "A" * 5000])
async def test_what_is_no_cursor_is_refused_by_name(client: httpx.AsyncClient, cursor: str) -> None:
    answer = await client.get("/v1/boots", params={"cursor": cursor})
    assert answer.status_code == 400
    assert answer.json()["errors"][0]["parameter"] == "cursor"


async def test_a_cursor_forged_with_what_no_database_takes_is_unreadable(client: httpx.AsyncClient) -> None:
    forged = cursor_text(query=Query(values={}), scope="/v1/match-jobs", release="", after="sable\0")
    answer = await client.get("/v1/match-jobs", params={"cursor": forged})
    assert [error["code"] for error in answer.json()["errors"]] == ["cursor-unreadable"]


async def test_a_cursor_of_another_query_is_refused(client: httpx.AsyncClient) -> None:
    cursor = (await client.get("/v1/boots?limit=4")).json()["next"].split("cursor=")[1]
    for address in (f"/v1/boots?use=road&cursor={cursor}", f"/v1/makers?cursor={cursor}"):
        answer = await client.get(address)
        assert (answer.status_code, answer.json()["errors"][0]["code"]) == (400, "cursor-of-another-query")


async def test_a_cursor_and_a_pin_that_contradict_each_other_are_refused(client: httpx.AsyncClient) -> None:
    following = (await client.get(f"/v1/boots?limit=4&catalog_release={NEWER.id}")).json()["next"]
    answer = await client.get(following.replace(f"catalog_release={NEWER.id}", f"catalog_release={OLDER.id}"))
    assert answer.status_code == 400


async def test_the_limit_may_change_from_page_to_page(client: httpx.AsyncClient) -> None:
    following = (await client.get("/v1/boots?limit=4")).json()["next"]
    items = (await client.get(following.replace("limit=4", "limit=9"))).json()["items"]
    assert [item["id"] for item in items] == sorted(BOOTS)[4:13]


async def test_every_fault_of_a_query_is_told_at_once(client: httpx.AsyncClient) -> None:
    answer = await client.get("/v1/boots?limit=0&lmit=3&closure=zip&closure=lace&cursor=x&maker=Vellory!")
    assert (answer.status_code, answer.headers["content-type"]) == (400, "application/problem+json")
    errors = {(error["parameter"], error["code"], error["received"]) for error in answer.json()["errors"]}
    assert errors == {
        ("limit", "parameter-not-a-whole-number", "0"),
        ("lmit", "parameter-unknown", "3"),
        ("closure", "parameter-not-one-of", "zip"),
        ("closure", "parameter-repeated", "lace"),
        ("cursor", "cursor-unreadable", "x"),
        ("maker", "parameter-not-in-form", "Vellory!"),
    }
    assert all(error["detail"] and error["accepted"] for error in answer.json()["errors"])


@pytest.mark.parametrize(
    "address",
    [
        "/v1/boots",
        "/v1/boots?limit=3",
        "/v1/boots/ombrick-oak",
        "/v1/boots/ombrick-oak/sizes",
        "/v1/makers",
        "/v1/makers/vellory",
        "/v1/catalog-releases",
        f"/v1/catalog-releases/{OLDER.id}",
        "/openapi.json",
        "/reference",
    ],
)
async def test_who_holds_the_answer_is_told_so_and_nothing_more(client: httpx.AsyncClient, address: str) -> None:
    first = await client.get(address)
    tag = first.headers["etag"]
    assert tag.startswith('"')
    for held in (tag, f"W/{tag}", f'"other", {tag}'):
        again = await client.get(address, headers={"If-None-Match": held})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
    anything = await client.get(address, headers={"If-None-Match": "*"})
    assert (anything.status_code, anything.content) == (304, b"")
    assert (await client.get(address, headers={"If-None-Match": '"other"'})).content == first.content


async def test_etags_differ_where_answers_may(client: httpx.AsyncClient) -> None:
    addresses = ("/v1/boots", "/v1/boots?limit=3", "/v1/boots?use=road", "/v1/makers", "/v1/boots/ombrick-oak")
    pinned = tuple(f"{address}{'&' if '?' in address else '?'}catalog_release={OLDER.id}" for address in addresses)
    tags = [(await client.get(address)).headers["etag"] for address in (*addresses, *pinned)]
    assert len(set(tags)) == len(tags)


async def test_the_list_of_catalog_releases_has_another_etag_once_one_is_gone(sqlite_url: str) -> None:
    tags = []
    for releases in ((OLDER, NEWER), (NEWER,)):
        async with serving(sqlite_url, library=Library(releases=releases)) as client:
            tags.append((await client.get("/v1/catalog-releases")).headers["etag"])
    assert tags[0] != tags[1]


async def test_a_list_of_catalog_releases_begun_before_a_new_one_still_says_which_is_active(sqlite_url: str) -> None:
    oldest = with_own_id(OLDER, released_on=date(2024, 3, 1))
    async with serving(sqlite_url, library=Library(releases=(oldest, OLDER))) as before:
        following = (await before.get("/v1/catalog-releases?limit=1")).json()["next"]
    async with serving(sqlite_url, library=Library(releases=(oldest, OLDER, NEWER))) as after:
        items = (await after.get(following)).json()["items"]
    assert [(item["id"], item["is_active"]) for item in items] == [(oldest.id, False)]


@pytest.mark.parametrize(
    "address",
    [
        "/v1/makers/nobody",
        "/v1/boots/nothing",
        "/v1/boots/nothing/sizes",
        "/v1/catalog-releases/none",
        f"/v1/boots?catalog_release=sha256-{'0' * 64}",
        "/v1/boots/a%00b",
        "/v1/boots/%F0%9F%90%B4",
    ],
)
async def test_what_is_not_there_is_not_found(client: httpx.AsyncClient, address: str) -> None:
    answer = await client.get(address)
    assert (answer.status_code, answer.json()["type"]) == (404, "/problems/not-found")


def same_bytes(one: str, other: str) -> bool:
    decoded = [urlsafe_b64decode(text + "=" * (-len(text) % 4)) for text in (one, other)]
    return decoded[0] == decoded[1]
