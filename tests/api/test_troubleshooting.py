"""Troubleshooting over HTTP."""

import httpx
import pytest

from hooflast.matching.troubleshooting import GUIDES, Trouble

pytestmark = pytest.mark.anyio


async def test_every_trouble_is_listed_with_its_causes_in_the_order_to_look(client: httpx.AsyncClient) -> None:
    items = (await client.get("/v1/troubleshooting")).json()["items"]
    assert [(item["trouble"], [cause["cause"] for cause in item["causes"]]) for item in items] == [
        (guide.trouble, list(guide.causes)) for guide in GUIDES
    ]
    for item in items:
        assert item["text"]
        assert item["source"]
        assert all(cause["text"] and cause["look_at"] and cause["change"] for cause in item["causes"])


@pytest.mark.parametrize("trouble", Trouble)
async def test_one_trouble_is_read_as_it_stands_in_the_list(client: httpx.AsyncClient, trouble: Trouble) -> None:
    items = (await client.get("/v1/troubleshooting")).json()["items"]
    one = await client.get(f"/v1/troubleshooting/{trouble}")
    assert one.status_code == 200
    assert one.json() == next(item for item in items if item["trouble"] == trouble)


async def test_an_answer_says_its_language_and_that_it_depends_on_the_one_asked_for(client: httpx.AsyncClient) -> None:
    for address in ("/v1/troubleshooting", "/v1/troubleshooting/turns"):
        answer = await client.get(address, headers={"Accept-Language": "xx, en;q=0.4"})
        assert answer.headers["content-language"] == "en"
        assert "Accept-Language" in answer.headers["vary"]


async def test_who_holds_it_is_told_so(client: httpx.AsyncClient) -> None:
    tags = set()
    for address in ("/v1/troubleshooting", "/v1/troubleshooting/turns", "/v1/troubleshooting/comes_off"):
        tag = (await client.get(address)).headers["etag"]
        again = await client.get(address, headers={"If-None-Match": tag})
        assert (again.status_code, again.content, again.headers["etag"]) == (304, b"", tag)
        tags.add(tag)
    assert len(tags) == 3


@pytest.mark.parametrize("name", ["nothing", "Turns", "%00", "é"])
async def test_a_trouble_nobody_knows_is_not_found(client: httpx.AsyncClient, name: str) -> None:
    assert (await client.get(f"/v1/troubleshooting/{name}")).status_code == 404


async def test_pain_in_the_boot_says_stop(client: httpx.AsyncClient) -> None:
    trouble = (await client.get("/v1/troubleshooting/worse_in_the_boot")).json()
    assert trouble["severity"] == "stop"
    assert trouble["causes"][0]["cause"] == "pain"
    assert "veterinarian" in trouble["causes"][0]["change"]
