"""Pads over HTTP."""

import httpx
import pytest

pytestmark = pytest.mark.anyio

ASKED = {"hooves": [{"limb": "LF", "width": 124, "length": 122}], "pad": 0, "uses": ["road"]}


async def test_a_question_about_a_pad_is_answered_and_not_kept(client: httpx.AsyncClient) -> None:
    answered = await client.post("/v1/pads", json=ASKED | {"horse": {"name": "Moth"}})
    assert answered.status_code == 200
    assert answered.headers["cache-control"] == "no-store"
    assert answered.headers["content-language"] == "en"
    document = answered.json()
    assert document["horse_name"] == "Moth"
    assert document["hooves"][0]["boots"]
    assert "id" not in document


async def test_a_boot_model_that_is_not_there_is_a_fault_of_the_question(client: httpx.AsyncClient) -> None:
    refused = await client.post("/v1/pads", json=ASKED | {"boot": "nowhere"})
    assert refused.status_code == 422
    (error,) = refused.json()["errors"]
    assert (error["pointer"], error["code"]) == ("/boot", "boot-unknown")


async def test_an_unknown_catalog_release_is_a_fault_of_the_question(client: httpx.AsyncClient) -> None:
    refused = await client.post("/v1/pads", json=ASKED | {"catalog_release": "sha256-0"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["pointer"] == "/catalog_release"


async def test_the_picture_is_drawn_from_the_same_form(client: httpx.AsyncClient) -> None:
    drawn = await client.post("/v1/pads/picture.svg", json=ASKED | {"pad": 6})
    assert drawn.status_code == 200
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert "From behind" in drawn.text
    assert "room lost" in drawn.text
