"""Release effects over HTTP: what two matches would say, told only where they differ."""

from dataclasses import replace
from datetime import date
from typing import Any

import httpx
import pytest
from tests.api.samples import HORSE, MAKERS, NEWER, OLDER, serving
from tests.matching.worlds import RIDING, boot, moved

from hooflast.catalog.library import Library
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import CatalogRelease, MakerId

pytestmark = pytest.mark.anyio
OAK = boot("vellory-oak", maker=MakerId("vellory"), intended_uses=RIDING)


def release_of(*boots: Any, month: int) -> CatalogRelease:
    records = Records(makers=MAKERS, boots={model.id: model for model in boots}, accessories={})
    return compose_release(records, released_on=date(2026, month, 1), note="")


FIRST, SECOND = release_of(OAK, month=1), release_of(moved(OAK, by_mm=-8), month=2)
GONE = release_of(replace(OAK, discontinued_on=date(2026, 3, 1)), month=3)
SOLD = Library(releases=(FIRST, SECOND, GONE))


async def effects(client: httpx.AsyncClient, *horses: Any, **asked: Any) -> Any:
    answer = await client.post("/v1/release-effects", json={"horses": list(horses), **asked})
    assert answer.status_code == 200, answer.text
    return answer.json()


async def test_what_is_told_is_what_both_matches_say(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=SOLD) as client:
        told = await effects(client, HORSE, since=FIRST.id, catalog_release=SECOND.id)
        matches = [
            (await client.post("/v1/matches", json={**HORSE, "catalog_release": release.id})).json()
            for release in (FIRST, SECOND)
        ]
    assert (told["since"], told["versions"]["catalog_release"]) == (FIRST.id, SECOND.id)
    assert (told["horses_asked"], told["hooves_asked"], told["hooves_changed"]) == (1, 2, 2)
    (horse,) = told["horses"]
    assert (horse["place"], horse["horse_name"]) == (0, "Bramble")
    for place, hoof in enumerate(horse["hooves"]):
        assert hoof["effects"] == ["other_size"]
        for side, match in zip(("before", "after"), matches, strict=True):
            best = match["hooves"][place]["boots"][0]["best"]
            assert (hoof[side]["size"], hoof[side]["fit_chance"]) == (best["size"], best["fit_chance"])


async def test_only_horses_with_a_change_are_listed_and_all_are_counted(sqlite_url: str) -> None:
    foal = {**HORSE, "horse": {"name": "Moth", "is_foal": True}}
    async with serving(sqlite_url, library=SOLD) as client:
        told = await effects(client, foal, HORSE, foal, since=FIRST.id, catalog_release=SECOND.id)
    assert (told["horses_asked"], told["hooves_asked"], told["hooves_changed"]) == (3, 6, 2)
    assert [horse["place"] for horse in told["horses"]] == [1]


async def test_left_out_the_active_one_is_compared_with_the_one_before(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=SOLD) as client:
        told = await effects(client, HORSE)
    assert (told["since"], told["versions"]["catalog_release"]) == (SECOND.id, GONE.id)
    assert [hoof["effects"] for hoof in told["horses"][0]["hooves"]] == [["no_boot_now"], ["no_boot_now"]]


async def test_a_horse_keeps_its_cautions(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=SOLD) as client:
        told = await effects(client, {**HORSE, "horse": {"name": "Wicket", "animal_type": "mule"}})
    codes = {caution["code"] for caution in told["horses"][0]["cautions"]}
    assert {"donkey-or-mule", "chances-not-calibrated"} <= codes
    assert {remark["code"] for remark in told["assumptions"]} >= {"as-measured", "method-unknown"}


async def test_every_fault_of_every_horse_is_told_at_its_place(client: httpx.AsyncClient) -> None:
    wrong = {"hooves": [{"limb": "XX", "width": 9, "length": 128}]}
    answer = await client.post("/v1/release-effects", json={"horses": [HORSE, wrong, "Bramble", wrong], "sinse": 1})
    assert answer.status_code == 422
    places = {error["pointer"] for error in answer.json()["errors"]}
    assert places == {
        "/horses/1/hooves/0/limb",
        "/horses/1/hooves/0/width",
        "/horses/2",
        "/horses/3/hooves/0/limb",
        "/horses/3/hooves/0/width",
        "/sinse",
    }


@pytest.mark.parametrize(
    ("asked", "place", "code"),
    [
        ({"since": "sha256-0"}, "/since", "catalog-release-unknown"),
        ({"catalog_release": "sha256-0"}, "/catalog_release", "catalog-release-unknown"),
        ({"catalog_release": OLDER.id}, "/since", "no-release-before"),
        ({"horses": []}, "/horses", "too-few"),
        ({"horses": [HORSE] * 101}, "/horses", "too-many"),
    ],
)
async def test_what_cannot_be_compared_is_refused(
    client: httpx.AsyncClient, asked: dict[str, Any], place: str, code: str
) -> None:
    answer = await client.post("/v1/release-effects", json={"horses": [HORSE], **asked})
    assert answer.status_code == 422
    assert (place, code) in {(error["pointer"], error["code"]) for error in answer.json()["errors"]}


async def test_a_horses_own_pin_plays_no_part(client: httpx.AsyncClient) -> None:
    plain = await effects(client, HORSE, since=OLDER.id, catalog_release=NEWER.id)
    assert await effects(client, {**HORSE, "catalog_release": OLDER.id}, since=OLDER.id) == plain
