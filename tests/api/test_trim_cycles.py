"""The trim cycle over HTTP: what is asked and answered, drawn, and refused."""

import httpx
import pytest
from tests.api.samples import HORSE
from tests.draw.reading import nodes, read

CYCLE = {**HORSE, "cycle_weeks": 7, "boot": "ombrick-alder"}


@pytest.mark.anyio
async def test_a_boot_is_looked_at_over_the_cycle(client: httpx.AsyncClient) -> None:
    answer = await client.post("/v1/trim-cycles", json=CYCLE)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-language"] == "en"
    assert answer.headers["cache-control"] == "no-store"
    told = answer.json()
    assert [hoof["limb"] for hoof in told["hooves"]] == [hoof["limb"] for hoof in HORSE["hooves"]]
    assert {hoof["boot"]["id"] for hoof in told["hooves"]} == {"ombrick-alder"}
    assert told["versions"]["engine"]


@pytest.mark.anyio
async def test_the_same_form_is_drawn(client: httpx.AsyncClient) -> None:
    answer = await client.post("/v1/trim-cycles/chart.svg", json=CYCLE)
    assert answer.status_code == 200, answer.text
    assert answer.headers["content-type"].startswith("image/svg+xml")
    assert "style-src" in answer.headers["content-security-policy"]
    drawing = read(answer.text)
    assert len(nodes(drawing.root, "polyline", kind="hoof")) == 2 * 2 * len(HORSE["hooves"])


@pytest.mark.anyio
@pytest.mark.parametrize("path", ["/v1/trim-cycles", "/v1/trim-cycles/chart.svg"])
@pytest.mark.parametrize(
    ("changes", "pointer"),
    [
        ({"boot": "ombrick-thistle"}, "/boot"),
        ({"size": "ostrich"}, "/size"),
        ({"cycle_weeks": 0}, "/cycle_weeks"),
        ({"catalog_release": "sha256-none"}, "/catalog_release"),
    ],
)
async def test_what_cannot_be_answered_is_refused(client: httpx.AsyncClient, path, changes, pointer) -> None:
    answer = await client.post(path, json={**CYCLE, **changes})
    assert answer.status_code == 422
    assert answer.headers["content-type"] == "application/problem+json"
    assert [error["pointer"] for error in answer.json()["errors"]] == [pointer]


@pytest.mark.anyio
async def test_a_foal_is_drawn_in_words(client: httpx.AsyncClient) -> None:
    answer = await client.post("/v1/trim-cycles/chart.svg", json={**CYCLE, "horse": {"is_foal": True}})
    assert answer.status_code == 200
    assert nodes(read(answer.text).root, "polyline") == []


@pytest.mark.anyio
async def test_equal_questions_have_equal_answers(client: httpx.AsyncClient) -> None:
    for path in ("/v1/trim-cycles", "/v1/trim-cycles/chart.svg"):
        one, other = [await client.post(path, json=CYCLE) for _ in range(2)]
        assert one.content == other.content
