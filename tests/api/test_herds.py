"""Trial sets and coverage over HTTP."""

import httpx
import pytest

pytestmark = pytest.mark.anyio

HERD = {
    "method": "calliper",
    "horses": [
        {"hooves": [{"limb": "LF", "width": 124, "length": 126}, {"limb": "LH", "width": 119, "length": 125}]},
        {"animal_type": "pony", "hooves": [{"limb": "RF", "width": 108, "length": 109}]},
    ],
}


async def test_a_trial_set_is_chosen_and_not_kept(client: httpx.AsyncClient) -> None:
    answered = await client.post("/v1/trial-sets", json=HERD | {"share": 1, "most": 4})
    assert answered.status_code == 200
    assert answered.headers["cache-control"] == "no-store"
    document = answered.json()
    assert (document["horses"], document["hooves"]) == (2, 3)
    assert document["sizes"]
    assert [point["count"] for point in document["curve"]] == sorted(point["count"] for point in document["curve"])
    assert document["versions"]["catalog_release"].startswith("sha256-")
    assert {caution["code"] for caution in document["cautions"]} >= {"sound-feet-only", "chances-not-calibrated"}


async def test_coverage_is_told_by_kind_of_animal_and_end(client: httpx.AsyncClient) -> None:
    document = (await client.post("/v1/coverage", json=HERD)).json()
    assert {(plane["animal_type"], plane["limbs"]) for plane in document["planes"]} == {
        ("horse", "fore"),
        ("horse", "hind"),
        ("pony", "fore"),
    }


@pytest.mark.parametrize("address", ["/v1/trial-sets/curve.svg", "/v1/coverage/picture.svg"])
async def test_pictures_are_drawn_from_the_same_form(client: httpx.AsyncClient, address: str) -> None:
    drawn = await client.post(address, json=HERD)
    assert drawn.status_code == 200
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert "default-src 'none'" in drawn.headers["content-security-policy"]
    assert drawn.text.startswith("<svg")


async def test_a_herd_of_which_nothing_is_left_has_no_picture(client: httpx.AsyncClient) -> None:
    foals = {"horses": [{"is_foal": True, "hooves": [{"limb": "LF", "width": 84, "length": 86}]}]}
    assert (await client.post("/v1/coverage/picture.svg", json=foals)).status_code == 404
    answered = (await client.post("/v1/trial-sets", json=foals)).json()
    assert answered["sizes"] == []
    assert answered["cautions"][0]["severity"] == "stop"


async def test_every_name_that_is_not_in_the_catalog_is_told(client: httpx.AsyncClient) -> None:
    refused = await client.post("/v1/trial-sets", json=HERD | {"makers": ["nobody"], "boots": ["nothing"]})
    assert refused.status_code == 422
    assert [error["code"] for error in refused.json()["errors"]] == ["maker-unknown", "boot-unknown"]


async def test_an_unknown_catalog_release_is_a_fault_of_the_question(client: httpx.AsyncClient) -> None:
    refused = await client.post("/v1/coverage", json=HERD | {"catalog_release": "sha256-0"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/catalog_release"


async def test_five_hundred_horses_with_all_their_hooves_are_taken(client: httpx.AsyncClient) -> None:
    hooves = [{"limb": limb, "width": 124, "length": 126} for limb in ("LF", "RF", "LH", "RH")]
    asked = {"horses": [{"hooves": hooves}] * 500, "share": 0.1, "most": 1}
    answered = await client.post("/v1/trial-sets", json=asked)
    assert answered.status_code == 200, answered.text
    assert answered.json()["hooves"] == 2000
