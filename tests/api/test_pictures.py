"""Pictures of a match over HTTP: drawn from what was kept, and refused where they could disagree with it."""

import re
from base64 import b64encode
from dataclasses import replace
from hashlib import sha256
from typing import Any
from xml.etree import ElementTree as ET

import httpx
import pytest
from tests.api.samples import HORSE, LIBRARY, NEWER, NOW, OLDER, serving, with_own_id
from tests.draw.reading import nodes, numbers, read, shown

from hooflast.catalog.library import Library

pytestmark = pytest.mark.anyio

ALL_PICTURES = ("hooves.svg", "LF.svg", "RF.svg", "LF/sizes.svg", "RF/sizes.svg")


async def matched(client: httpx.AsyncClient, **changes: Any) -> tuple[str, dict[str, Any]]:
    """The address of a new match, and its answer."""
    made = await client.post("/v1/matches", json={**HORSE, **changes})
    assert made.status_code == 201, made.text
    return made.headers["location"], made.json()


@pytest.mark.parametrize("name", ALL_PICTURES)
async def test_a_match_can_be_drawn(client_on_both: httpx.AsyncClient, name: str) -> None:
    address, _ = await matched(client_on_both)
    answer = await client_on_both.get(f"{address}/pictures/{name}", headers={"Accept": "image/avif,image/*;q=0.8"})
    assert (answer.status_code, answer.headers["content-type"]) == (200, "image/svg+xml")
    assert (answer.headers["content-language"], answer.headers["cache-control"]) == ("en", "no-store")
    root = ET.fromstring(answer.text)
    assert root.tag == "{http://www.w3.org/2000/svg}svg"
    assert root.attrib["lang"] == "en"


@pytest.mark.parametrize("name", ALL_PICTURES)
async def test_the_policy_of_a_picture_lets_its_own_style_apply_and_nothing_else(
    client: httpx.AsyncClient, name: str
) -> None:
    address, _ = await matched(client)
    answer = await client.get(f"{address}/pictures/{name}")
    (style,) = [node.text or "" for node in ET.fromstring(answer.text).iter("{http://www.w3.org/2000/svg}style")]
    digest = b64encode(sha256(style.encode()).digest()).decode()
    policy = dict(part.split(" ", 1) for part in answer.headers["content-security-policy"].split("; "))
    assert policy["default-src"] == policy["form-action"] == policy["frame-ancestors"] == "'none'"
    assert policy["style-src"] == f"'sha256-{digest}'"
    assert "<script" not in answer.text
    assert not re.search(r'\b(?:href|src)="(?!#)', answer.text)


async def test_the_picture_says_what_the_kept_answer_says(client: httpx.AsyncClient) -> None:
    address, answer = await matched(client)
    drawing = read((await client.get(f"{address}/pictures/hooves.svg")).text)
    for hoof in answer["hooves"]:
        words = [shown(node) for node in nodes(drawing.layer(f"hoof-{hoof['limb'].lower()}"), "text")]
        fit = hoof["boots"][0]
        assert fit["best"]["size"] in words
        assert f"{fit['boot']['name']}, {fit['boot']['maker_name']}" in words
        sole = read((await client.get(f"{address}/pictures/{hoof['limb']}.svg")).text)
        strip = sole.layer("strip-width")
        (scale,) = numbers(strip, "data-units-per-mm")
        (low,), (middle,) = (
            [numbers(node, "x1")[0] for node in nodes(strip, "line", kind=kind)] for kind in ("smallest", "hoof")
        )
        kept_mm = hoof["width"]["mean_mm"] - fit["best"]["width_range"]["low_mm"]
        assert (middle - low) / scale == pytest.approx(kept_mm, abs=0.11)


async def test_a_match_is_drawn_on_its_own_catalog_release_after_a_newer_one_came(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=Library(releases=(OLDER,))) as before:
        address, _ = await matched(before)
        drawn_before = (await before.get(f"{address}/pictures/hooves.svg")).content
    async with serving(sqlite_url, library=LIBRARY) as after:
        assert (await after.get(f"{address}/pictures/hooves.svg")).content == drawn_before


async def test_a_match_is_not_drawn_once_its_catalog_release_is_gone(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=Library(releases=(OLDER,))) as before:
        address, _ = await matched(before)
    async with serving(sqlite_url, library=Library(releases=(NEWER,))) as after:
        for name in ALL_PICTURES:
            refused = await after.get(f"{address}/pictures/{name}")
            assert (refused.status_code, refused.json()["type"]) == (410, "/problems/cannot-answer-again")
            assert OLDER.id in refused.json()["detail"]
        assert (await after.get(address)).status_code == 200


async def test_a_match_is_drawn_as_of_its_own_day(sqlite_url: str) -> None:
    """A boot model that was discontinued since is still the one that was found."""
    until_june = {
        key: replace(one, discontinued_on=NEWER.released_on.replace(month=6)) for key, one in NEWER.boots.items()
    }
    library = Library(releases=(with_own_id(NEWER, boots=until_june),))
    async with serving(sqlite_url, library=library) as before:
        address, answer = await matched(before)
        drawn_before = (await before.get(f"{address}/pictures/hooves.svg")).content
    assert answer["hooves"][0]["boots"]

    async with serving(sqlite_url, library=library, clock=lambda: NOW.replace(month=9)) as after:
        assert (await after.get(f"{address}/pictures/hooves.svg")).content == drawn_before
        _, later = await matched(after)
    assert not later["hooves"][0]["boots"]


async def test_any_boot_of_the_answer_can_be_named_and_no_other(client: httpx.AsyncClient) -> None:
    address, answer = await matched(client)
    titles = set()
    for fit in answer["hooves"][0]["boots"]:
        drawn = await client.get(f"{address}/pictures/LF/sizes.svg", params={"boot": fit["boot"]["id"]})
        assert drawn.status_code == 200
        titles.add(ET.fromstring(drawn.text).findtext("{http://www.w3.org/2000/svg}title"))
    assert len(titles) == len(answer["hooves"][0]["boots"]) > 1
    assert (await client.get(f"{address}/pictures/LF/sizes.svg?boot=nothing")).status_code == 404
    assert (await client.get(f"{address}/pictures/LF/sizes.svg?boot=No Boot")).status_code == 400


@pytest.mark.parametrize(
    "name", ["LH.svg", "LH/sizes.svg", "XX/sizes.svg", "lf.svg", "hooves.png", "hooves", "%00", "é.svg", "LF/other.svg"]
)
async def test_what_there_is_no_picture_of_is_not_found(client: httpx.AsyncClient, name: str) -> None:
    address, _ = await matched(client)
    assert (await client.get(f"{address}/pictures/{name}")).status_code == 404


@pytest.mark.parametrize("name", ALL_PICTURES)
async def test_an_erased_match_and_one_of_another_tenant_are_not_drawn(database_url: str, name: str) -> None:
    async with serving(database_url, tenant="mossgate") as clinic, serving(database_url, tenant="tarn") as shop:
        address, _ = await matched(clinic)
        assert (await shop.get(f"{address}/pictures/{name}")).status_code == 404
        await clinic.delete(address)
        assert (await clinic.get(f"{address}/pictures/{name}")).status_code == 404


async def test_a_foal_has_its_hooves_drawn_and_no_boot(client: httpx.AsyncClient) -> None:
    address, _ = await matched(client, horse={"is_foal": True})
    drawing = read((await client.get(f"{address}/pictures/hooves.svg")).text)
    words = [shown(node) for node in nodes(drawing.root, "text")]
    assert words.count("stop") == words.count("no boot offered") == 2
    assert (await client.get(f"{address}/pictures/LF.svg")).status_code == 404


async def test_who_accepts_no_picture_gets_none(client: httpx.AsyncClient) -> None:
    address, _ = await matched(client)
    answer = await client.get(f"{address}/pictures/hooves.svg", headers={"Accept": "application/json"})
    assert (answer.status_code, answer.headers["content-type"]) == (406, "application/problem+json")
