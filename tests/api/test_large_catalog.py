"""A catalog too large to be laid out at once: a service starts with it and takes up the next, on every worker."""

import json
from pathlib import Path
from typing import Final

import pytest
from tests.api.processes import Served, served, whole_answer
from tests.api.samples import NOW
from tests.matching.worlds import boot, release_of

from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.release import write_release
from hooflast.catalog.values import CatalogRelease
from hooflast.matching.laying_apart import AT_ONCE_BYTES
from hooflast.matching.publishing import publish_new
from hooflast.settings import LogFormat, PluginUse, Settings
from hooflast.store import migrations, open_store

pytestmark = [pytest.mark.anyio, pytest.mark.full]
WORKERS: Final = 2
READY: Final = b"GET /health/ready HTTP/1.1\r\nHost: hooflast.test\r\n\r\n"


def large(boots: int) -> CatalogRelease:
    release = release_of(*(boot(f"moor-{number}") for number in range(boots)))
    assert len(write_release(release)) > AT_ONCE_BYTES
    return release


async def publish(release: CatalogRelease, *, url: str) -> None:
    async with open_store(url) as store:
        await publish_new([release], releases=store.releases, signature=Signature(by="mossgate", at=NOW))


def taken_up(service: Served, *, revision: int) -> int:
    """By how many workers."""
    return sum(event["event"] == "catalog" and event["revision"] == revision for event in service.events())


def served_now(service: Served) -> str:
    with service.connect() as asking:
        asking.sendall(READY)
        return str(json.loads(whole_answer(asking)[2])["catalog_release"])


async def test_every_worker_starts_with_a_large_catalog_and_takes_up_the_next(tmp_path: Path) -> None:
    url = f"sqlite+aiosqlite:///{tmp_path / 'hooflast.sqlite3'}"
    await migrations.upgrade(url)
    first, second = large(400), large(401)
    await publish(first, url=url)
    settings = Settings(
        database_url=url,
        port=0,
        workers=WORKERS,
        log_format=LogFormat.JSON,
        catalog_seconds=1,
        catalog_plugins=PluginUse.LEAVE,
    )
    with served(settings, log=tmp_path / "log") as service:
        while taken_up(service, revision=1) < WORKERS:
            pass
        assert served_now(service) == first.id
        await publish(second, url=url)
        while taken_up(service, revision=2) < WORKERS:
            pass
        assert {served_now(service) for _ in range(8)} == {second.id}
        service.stop()
        assert service.ended() == 0
