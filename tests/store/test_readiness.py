"""Readiness: the database answers, in time, and its tables are those of this version."""

import asyncio

import pytest

from hooflast.store import SchemaNotCurrent, StoreUnavailable, migrations, open_store

pytestmark = pytest.mark.anyio


async def test_a_migrated_database_is_ready(database_url: str) -> None:
    async with open_store(database_url) as store:
        await store.require_ready()


async def test_a_bare_database_is_not_ready(bare_database_url: str) -> None:
    async with open_store(bare_database_url) as store:
        with pytest.raises(SchemaNotCurrent) as refusal:
            await store.require_ready()
    assert (refusal.value.found, refusal.value.expected) == (None, migrations.head())


async def test_a_database_one_step_behind_is_not_ready(database_url: str) -> None:
    await migrations.downgrade(database_url, "-1")
    async with open_store(database_url) as store:
        with pytest.raises(SchemaNotCurrent) as refusal:
            await store.require_ready()
    assert refusal.value.found == await migrations.current(database_url)
    assert refusal.value.found not in (None, migrations.head())


async def test_a_server_that_never_answers_is_unavailable_in_time() -> None:
    async def listen(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        await reader.read()
        writer.close()

    server = await asyncio.start_server(listen, "127.0.0.1", 0)
    port = server.sockets[0].getsockname()[1]
    async with server, open_store(f"postgresql://bramble@127.0.0.1:{port}/hooflast?sslmode=disable") as store:
        with pytest.raises(StoreUnavailable) as refusal:
            await store.require_ready(within_seconds=0.05)
    assert refusal.value.reason == "no answer within 0.05 s"
