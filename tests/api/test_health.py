"""Health: live as long as the process runs, ready only when requests can be answered."""

import httpx
import pytest
from tests.api.samples import LIBRARY, NEWER, NOW, put_out, serving

from hooflast.api.app import create_app
from hooflast.api.running import Running
from hooflast.catalog.library import Library
from hooflast.settings import Settings
from hooflast.store import open_store

pytestmark = pytest.mark.anyio


async def test_a_service_with_tables_and_a_catalog_is_ready(client_on_both: httpx.AsyncClient) -> None:
    ready = await client_on_both.get("/health/ready")
    assert (ready.status_code, ready.json()) == (200, {"status": "ready", "catalog_release": NEWER.id})
    assert (await client_on_both.get("/health/live")).json() == {"status": "live"}


async def test_a_service_without_a_catalog_lives_and_is_not_ready(sqlite_url: str) -> None:
    async with serving(sqlite_url, library=Library(releases=())) as client:
        ready = await client.get("/health/ready")
        assert (ready.status_code, ready.json()["type"]) == (503, "/problems/not-ready")
        assert [error["code"] for error in ready.json()["errors"]] == ["catalog-unavailable"]
        assert (await client.get("/health/live")).status_code == 200
        assert (await client.get("/v1/boots")).status_code == 503


async def test_a_service_asked_to_stop_is_not_ready_and_answers_on(sqlite_url: str) -> None:
    running = Running()
    await put_out(LIBRARY, sqlite_url)
    app = create_app(
        Settings(database_url=sqlite_url),
        store=open_store(sqlite_url),
        clock=lambda: NOW,
        running=running,
    )
    transport = httpx.ASGITransport(app)  # type: ignore[arg-type]
    async with app.lifespan(), httpx.AsyncClient(transport=transport, base_url="http://hooflast.test") as client:
        running.stop()
        ready = await client.get("/health/ready")
        assert (ready.status_code, [error["code"] for error in ready.json()["errors"]]) == (503, ["stopping"])
        assert (await client.get("/v1/boots")).status_code == 200


async def test_waiting_for_running_requests_ends_with_the_last_of_them() -> None:
    running = Running()
    with running.one():
        assert not await running.finished(within_seconds=0.01)
    assert await running.finished(within_seconds=0)


async def test_plugins_are_listed_with_what_became_of_them(client: httpx.AsyncClient) -> None:
    assert (await client.get("/v1/plugins")).json() == {"items": []}
