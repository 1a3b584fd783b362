"""Publisher lock: one holds it at a time, in one process or in several, and it is free when its holder is gone."""

import asyncio
import subprocess
import sys
from collections.abc import Iterator

import pytest

from hooflast.store import Store, open_store

pytestmark = pytest.mark.anyio
HOLD = """
import asyncio, sys
from hooflast.store import open_store

async def hold(url):
    async with open_store(url) as store, store.publisher_lock.held():
        print("held", flush=True)
        await asyncio.Event().wait()

asyncio.run(hold(sys.argv[1]))
"""


async def test_who_comes_second_waits_and_has_it_next(store: Store) -> None:
    order: list[str] = []
    waiting = asyncio.Event()

    async def second() -> None:
        async with store.publisher_lock.held(on_wait=waiting.set):
            order.append("second")

    async with store.publisher_lock.held():
        task = asyncio.create_task(second())
        await waiting.wait()
        order.append("first")
    await task
    assert order == ["first", "second"]


async def test_it_is_free_again_after_an_error(store: Store) -> None:
    async def fail() -> None:
        async with store.publisher_lock.held():
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        await fail()
    async with store.publisher_lock.held(on_wait=lambda: pytest.fail("it is still held")):
        pass


async def test_whoever_waits_can_be_told_to_stop(store: Store) -> None:
    waiting = asyncio.Event()

    async def wait() -> None:
        async with store.publisher_lock.held(on_wait=waiting.set):
            pytest.fail("it was not free")

    async with store.publisher_lock.held():
        task = asyncio.create_task(wait())
        await waiting.wait()
        task.cancel()
        with pytest.raises(asyncio.CancelledError):
            await task


@pytest.fixture
def holder(database_url: str) -> Iterator["subprocess.Popen[str]"]:
    """Another process that holds the lock."""
    with subprocess.Popen([sys.executable, "-c", HOLD, database_url], stdout=subprocess.PIPE, text=True) as process:
        assert process.stdout is not None
        assert process.stdout.readline() == "held\n"
        yield process
        process.kill()


@pytest.mark.full
async def test_it_is_free_when_the_process_that_held_it_is_killed(
    anyio_backend: str, database_url: str, holder: "subprocess.Popen[str]"
) -> None:
    waiting = asyncio.Event()

    async def take() -> None:
        async with open_store(database_url) as store, store.publisher_lock.held(on_wait=waiting.set):
            pass

    task = asyncio.create_task(take())
    await waiting.wait()
    holder.kill()
    await task
