"""Starting: what is prepared before the first request, and what is said when that cannot be done."""

import secrets
import socket
from collections.abc import Iterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from tests import databases
from tests.api.samples import HORSE, NOW, serving
from tests.databases import Run

from hooflast.api.refusals import AddressTaken
from hooflast.api.server import (
    FAULTS_IN_THE_LOG,
    PUBLISHER,
    app_from_environment,
    app_of,
    listen,
    log_plugins,
    prepare,
)
from hooflast.api.signing import KEPT_FOR, CurrentKey
from hooflast.catalog.errors import FourEyesNeeded
from hooflast.catalog.lifecycle import Eyes, ReleaseStatus, Signature
from hooflast.catalog.loading import PluginReport
from hooflast.errors import CatalogUnavailable, Fault, PluginFailed
from hooflast.matching.publishing import publish_sealed
from hooflast.settings import PREFIX, Settings, SettingsRefused
from hooflast.store import TenantId, grant_serving_rights, open_store, read_database_url
from hooflast.texts import load_texts

pytestmark = pytest.mark.anyio


@pytest.fixture
def plain_url(postgresql_url: str, database_run: Run) -> Iterator[str]:
    """The test's database as a role that owns nothing and that row-level security holds back."""
    role, password = f"{database_run.token}_{secrets.token_hex(4)}", secrets.token_hex(8)
    name = read_database_url(postgresql_url).database or ""
    databases.administer(postgresql_url, f"CREATE ROLE \"{role}\" LOGIN PASSWORD '{password}' NOSUPERUSER NOBYPASSRLS")
    databases.complete(grant_serving_rights(postgresql_url, role=role))
    yield databases.database_at(postgresql_url, name=name, user=role, password=password)
    databases.administer(postgresql_url, f'DROP OWNED BY "{role}"', f'DROP ROLE "{role}"')


async def test_preparing_an_empty_database_makes_it_ready_and_can_be_done_again(bare_database_url: str) -> None:
    settings = Settings(database_url=bare_database_url, tenant="mossgate")
    for _ in range(2):
        await prepare(settings)
    async with open_store(bare_database_url) as store:
        await store.require_ready()
        assert await store.tenants.is_known(TenantId("mossgate"))
        assert await store.signing_keys.newest() is not None


async def test_with_four_eyes_a_start_stages_and_checks_and_serves_once_somebody_has_published(
    sqlite_url: str, events: list[Any]
) -> None:
    settings = Settings(database_url=sqlite_url, publish_eyes=Eyes.FOUR)
    with pytest.raises(CatalogUnavailable, match="hooflast catalog publish"):
        await prepare(settings)
    assert any("somebody else has to publish it" in event["event"] for event in events)
    async with open_store(sqlite_url) as store:
        newest = (await store.releases.page())[0]
        assert newest.status is ReleaseStatus.CHECKED
        with pytest.raises(FourEyesNeeded):
            await store.releases.publish(newest.id, signature=Signature(by=PUBLISHER, at=NOW), eyes=Eyes.FOUR)
        signature = Signature(by="juniper", at=NOW)
        await publish_sealed(newest.id, store=store, signature=signature, eyes=Eyes.FOUR)
    await prepare(settings)


async def test_the_log_tells_why_an_edition_is_refused_and_where_to_read_on(events: list[Any]) -> None:
    def inverted(line: int) -> Fault:
        facts = {"low_mm": 6.0, "high_mm": 5.0}
        return Fault(path=("list.txt", f"line {line}"), code="catalog-range-inverted", received=None, facts=facts)

    faults = tuple(inverted(line) for line in range(1, FAULTS_IN_THE_LOG + 5))
    failure = PluginFailed(plugin="late", reason="in `fetch` (boots.json), it took longer than 60 s")
    reports = [
        PluginReport(plugin="list", version="1", refused=(NOW.date(),), faults=faults),
        PluginReport(plugin="late", version="1", failure=failure),
        PluginReport(plugin="sound", version="1", editions=(NOW.date(),)),
    ]
    log_plugins(reports, texts=load_texts("en"))
    refused, set_aside = events
    assert (refused["plugin"], refused["refused_editions"]) == ("list", [NOW.date().isoformat()])
    assert (refused["faults"], refused["see"]) == (len(faults), "hooflast plugins")
    assert len(refused["first"]) == FAULTS_IN_THE_LOG
    assert refused["first"][0].startswith("list.txt line 1 The range does not go from low to high")
    assert (set_aside["plugin"], set_aside["reason"]) == ("late", failure.reason)


@pytest.mark.full
async def test_a_database_role_that_no_wall_holds_back_is_warned_of(
    bare_postgresql_url: str, events: list[Any]
) -> None:
    await prepare(Settings(database_url=bare_postgresql_url))
    assert "database role passes by row-level security" in [event["event"] for event in events]


@pytest.mark.full
async def test_a_plain_role_can_start_and_serve_and_is_not_warned_of(plain_url: str, events: list[Any]) -> None:
    await prepare(Settings(database_url=plain_url))
    assert [event for event in events if event["log_level"] == "warning"] == []
    async with serving(plain_url) as client:
        assert (await client.get("/health/ready")).status_code == 200
        made = await client.post("/v1/matches", json=HORSE)
        assert made.status_code == 201
        assert (await client.get(made.headers["location"])).content == made.content
        assert (await client.delete(made.headers["location"])).status_code == 204
        assert (await client.get(made.headers["location"])).status_code == 404


async def test_an_address_that_is_taken_is_named_with_what_to_do() -> None:
    with listen(Settings(port=0)) as taken:
        port = taken.getsockname()[1]
        with pytest.raises(AddressTaken, match=f"127.0.0.1 port {port}.*HOOFLAST_PORT"):
            listen(Settings(port=port))


async def test_a_listening_socket_keeps_connections_waiting_rather_than_failing() -> None:
    with listen(Settings(port=0)) as listener, socket.create_connection(listener.getsockname(), timeout=5) as early:
        assert early.getpeername() == listener.getsockname()


async def test_another_server_can_make_the_application_from_the_environment(
    monkeypatch: pytest.MonkeyPatch, sqlite_url: str
) -> None:
    monkeypatch.setattr("hooflast.api.server.configure_logs", lambda **_: None)
    monkeypatch.setenv(f"{PREFIX}DATABASE_URL", sqlite_url)
    assert {route.path for route in app_from_environment().routes} == {
        route.path for route in app_of(Settings(database_url=sqlite_url)).routes
    }
    monkeypatch.setenv(f"{PREFIX}PROT", "1")
    with pytest.raises(SettingsRefused):
        app_from_environment()


async def test_a_renewed_key_reaches_a_process_that_runs_on(sqlite_url: str) -> None:
    now = NOW

    def clock() -> datetime:
        return now

    async with open_store(sqlite_url) as store:
        current = CurrentKey(store, tenant=TenantId("local"), clock=clock)
        first = await current.get()
        renewed = await store.signing_keys.renew(now=NOW + timedelta(seconds=1))
        assert await current.get() == first
        now = NOW + KEPT_FOR + timedelta(seconds=1)
        assert await current.get() == renewed
