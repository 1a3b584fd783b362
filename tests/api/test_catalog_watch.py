"""Catalog watch: on PostgreSQL a change is taken up at once; without notifications it is taken up all the same."""

import asyncio
from collections.abc import AsyncIterator, Callable
from typing import Any

import pytest
from sqlalchemy import text
from tests.api.samples import NEWER, NOW, OLDER
from tests.databases import engine_at

from hooflast.api.catalog_watch import keeping_up
from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.values import ReleaseId
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.publishing import publish_new
from hooflast.store import Store, open_store
from hooflast.store.change_listener import Heard, Patience

pytestmark = [pytest.mark.anyio, pytest.mark.full]
BY = Signature(by="mossgate", at=NOW)
NEVER = 86_400.0
OFTEN = 0.05
QUICK = Patience(first_seconds=0.02, most_seconds=0.05)
WITHIN = 60.0


@pytest.fixture
async def store(anyio_backend: str, postgresql_url: str) -> AsyncIterator[Store]:
    async with open_store(postgresql_url) as opened:
        yield opened


class Seen(LiveCatalog):
    """A live catalog that says when it has been looked at, and when another catalog release is served."""

    def __init__(self, store: Store) -> None:
        super().__init__(store.releases, most_bytes=1_000_000_000)
        self.looked = asyncio.Condition()

    async def refresh(self) -> bool:
        changed = await super().refresh()
        async with self.looked:
            self.looked.notify_all()
        return changed

    async def until(self, met: Callable[[], object]) -> None:
        async with asyncio.timeout(WITHIN), self.looked:
            await self.looked.wait_for(met)

    def serves(self, release: ReleaseId) -> bool:
        return self.revision > 0 and self.active.release.id == release


async def end_listeners(url: str) -> int:
    """End every connection that listens, as a restart of the server would; how many there were."""
    query = text(
        "select count(pg_terminate_backend(pid)) from pg_stat_activity"
        " where pid <> pg_backend_pid() and datname = current_database() and query like 'LISTEN%'"
    )
    async with engine_at(url) as engine, engine.begin() as connection:
        ended = await connection.scalar(query)
    return int(ended or 0)


class Ear:
    """Counts what a listener tells."""

    def __init__(self) -> None:
        self.told = asyncio.Condition()
        self.changes, self.reasons = 0, 0
        self._tasks: set[asyncio.Task[None]] = set()

    @property
    def heard(self) -> Heard:
        return Heard(changed=self._change, deaf=self._reason)

    async def until(self, met: Callable[[], object]) -> None:
        async with asyncio.timeout(WITHIN), self.told:
            await self.told.wait_for(met)

    def _change(self) -> None:
        self.changes += 1
        self._tell()

    def _reason(self, _: str) -> None:
        self.reasons += 1
        self._tell()

    def _tell(self) -> None:
        async def tell() -> None:
            async with self.told:
                self.told.notify_all()

        task = asyncio.create_task(tell())
        self._tasks.add(task)
        task.add_done_callback(self._tasks.discard)


async def test_a_publication_wakes_the_look_that_would_be_a_day_away(store: Store) -> None:
    catalog = Seen(store)
    await publish_new([OLDER], releases=store.releases, signature=BY)
    async with keeping_up(catalog, every_seconds=NEVER, changes=store.changes):
        assert catalog.serves(OLDER.id)
        await publish_new([NEWER], releases=store.releases, signature=BY)
        await catalog.until(lambda: catalog.serves(NEWER.id))
        await store.releases.roll_back(signature=BY)
        await catalog.until(lambda: catalog.serves(OLDER.id))


async def test_what_is_published_before_the_listener_stands_is_not_missed(store: Store) -> None:
    """A listener tells once when it begins, so that nothing falls between the first look and its connection."""
    ear = Ear()
    async with store.changes.listening(ear.heard):
        await ear.until(lambda: ear.changes == 1)
    assert ear.reasons == 0


async def test_a_step_that_is_not_committed_tells_nobody(store: Store) -> None:
    ear = Ear()
    await publish_new([OLDER], releases=store.releases, signature=BY)
    async with store.changes.listening(ear.heard):
        await ear.until(lambda: ear.changes == 1)
        with pytest.raises(ValueError, match="published"):
            await store.releases.publish(OLDER.id, signature=BY)
        await publish_new([NEWER], releases=store.releases, signature=BY)
        await ear.until(lambda: ear.changes == 2)
    assert ear.changes == 2


async def test_the_listener_comes_back_when_its_connection_is_ended(store: Store, postgresql_url: str) -> None:
    catalog, ear = Seen(store), Ear()
    await publish_new([OLDER], releases=store.releases, signature=BY)
    async with (
        keeping_up(catalog, every_seconds=NEVER, changes=store.changes, patience=QUICK),
        store.changes.listening(ear.heard, patience=QUICK),
    ):
        await ear.until(lambda: ear.changes == 1)
        assert await end_listeners(postgresql_url) >= 1
        await ear.until(lambda: ear.reasons >= 1 and ear.changes >= 2)
        await publish_new([NEWER], releases=store.releases, signature=BY)
        await catalog.until(lambda: catalog.serves(NEWER.id))


async def test_without_any_notification_the_look_every_so_often_takes_it_up(store: Store, postgresql_url: str) -> None:
    catalog = Seen(store)
    deaf = Patience(first_seconds=NEVER, most_seconds=NEVER)
    await publish_new([OLDER], releases=store.releases, signature=BY)
    ear = Ear()
    async with (
        keeping_up(catalog, every_seconds=OFTEN, changes=store.changes, patience=deaf),
        store.changes.listening(ear.heard, patience=deaf),
    ):
        await ear.until(lambda: ear.changes == 1)
        await end_listeners(postgresql_url)
        await ear.until(lambda: ear.reasons == 1)
        await publish_new([NEWER], releases=store.releases, signature=BY)
        await catalog.until(lambda: catalog.serves(NEWER.id))


async def test_a_database_that_refuses_is_asked_again_and_again(anyio_backend: str, unreachable: Store) -> None:
    ear = Ear()
    async with unreachable.changes.listening(ear.heard, patience=QUICK):
        await ear.until(lambda: ear.reasons >= 3)
    assert ear.changes == 0


@pytest.fixture
async def unreachable(anyio_backend: str) -> AsyncIterator[Store]:
    async with open_store("postgresql+asyncpg://nobody@127.0.0.1:1/none") as opened:
        yield opened


async def test_a_connection_that_says_nothing_is_seen_to_live(store: Store) -> None:
    ear = Ear()
    patience = Patience(first_seconds=NEVER, alive_seconds=0.01)
    async with store.changes.listening(ear.heard, patience=patience):
        await ear.until(lambda: ear.changes == 1)
        await publish_new([OLDER], releases=store.releases, signature=BY)
        await ear.until(lambda: ear.changes >= 2)
    assert ear.reasons == 0


async def test_sqlite_has_nothing_to_listen_to(anyio_backend: str, sqlite_url: str) -> None:
    def never(*_: Any) -> None:
        pytest.fail("it tells of nothing")

    async with open_store(sqlite_url) as store, store.changes.listening(Heard(changed=never, deaf=never)):
        await publish_new([OLDER], releases=store.releases, signature=BY)
