"""Metrics: every request is counted once, under its route, and nothing tells whose it was."""

import httpx
import pytest
from prometheus_client.parser import text_string_to_metric_families
from tests.api.samples import HORSE, serving

from hooflast.api.metrics import MEDIA_TYPE
from hooflast.settings import Access, Switch

pytestmark = pytest.mark.anyio


async def counted(client: httpx.AsyncClient) -> dict[tuple[str, ...], float]:
    """The values of all samples, by name and labels; read as Prometheus reads them."""
    answer = await client.get("/metrics")
    assert answer.status_code == 200
    assert answer.headers["content-type"] == f"{MEDIA_TYPE}; charset=utf-8"
    return {
        (sample.name, *sample.labels.values()): sample.value
        for family in text_string_to_metric_families(answer.text)
        for sample in family.samples
    }


async def test_every_request_is_counted_under_its_route_and_status(sqlite_url: str) -> None:
    async with serving(sqlite_url, metrics=Switch.ON) as client:
        made = await client.post("/v1/matches", json=HORSE)
        await client.get(made.headers["location"])
        await client.get("/v1/matches/nothing")
        await client.get("/nowhere")
        await client.head("/v1/boots")
        found = await counted(client)
        assert found["hooflast_requests_total", "POST", "/v1/matches", "201"] == 1
        assert found["hooflast_requests_total", "GET", "/v1/matches/{match_id}", "200"] == 1
        assert found["hooflast_requests_total", "GET", "/v1/matches/{match_id}", "404"] == 1
        assert found["hooflast_requests_total", "GET", "none", "404"] == 1
        assert found["hooflast_requests_total", "HEAD", "/v1/boots", "200"] == 1
        assert found["hooflast_request_seconds_count", "GET", "/v1/matches/{match_id}"] == 2
        assert found["hooflast_request_seconds_sum", "POST", "/v1/matches"] > 0
        assert found["hooflast_requests_running",] == 1
        assert found["hooflast_catalog_revision",] >= 1


async def test_no_id_stands_in_what_is_told(sqlite_url: str) -> None:
    async with serving(sqlite_url, metrics=Switch.ON) as client:
        made = await client.post("/v1/matches", json=HORSE)
        await client.get(made.headers["location"])
        told = (await client.get("/metrics")).text
        assert made.json()["id"] not in told
        assert "Bramble" not in told


async def test_without_the_setting_there_are_none(client: httpx.AsyncClient) -> None:
    assert (await client.get("/metrics")).status_code == 404


async def test_where_keys_are_needed_they_take_one(sqlite_url: str) -> None:
    async with serving(sqlite_url, metrics=Switch.ON, access=Access.KEYS) as client:
        assert (await client.get("/metrics")).status_code == 401
