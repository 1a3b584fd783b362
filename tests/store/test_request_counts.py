"""Request counts: what several processes take from one count at once adds up exactly, and nothing old stays."""

import asyncio
import multiprocessing
from datetime import datetime, timedelta

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import text
from tests.databases import engine_at
from tests.store.samples import NOW

from hooflast.access.errors import LimitReached
from hooflast.access.limit import Limit
from hooflast.access.meter import Asked, Counted, Meter
from hooflast.store import Store, new_id, open_store

pytestmark = pytest.mark.anyio
MINUTE = Limit(name="minute", most=30, seconds=60)
DAY = Limit(name="day", most=1000, seconds=86_400)


def asked(requests: int, *, whom: str = "juniper", limit: Limit = MINUTE, now: datetime = NOW) -> Asked:
    return Asked(counted=Counted(whom=whom, limit=limit, window=limit.window(now)), requests=requests)


async def rows(store_url: str) -> int:
    async with engine_at(store_url) as engine, engine.connect() as connection:
        return await connection.scalar(text("select count(*) from request_counts")) or 0


async def test_what_was_taken_is_told_before_and_added(store: Store) -> None:
    taken = [await store.request_counts.take([asked(3), asked(1, limit=DAY)]) for _ in range(3)]
    assert taken == [(0, 0), (3, 1), (6, 2)]
    assert await store.request_counts.take([asked(1, limit=DAY), asked(2)]) == (3, 9)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=20)
@given(
    takes=st.lists(
        st.lists(st.tuples(st.sampled_from("abc"), st.sampled_from([MINUTE, DAY]), st.integers(1, 50)), min_size=1,
                 max_size=4, unique_by=lambda one: one[:2]),
        min_size=1, max_size=12,
    )
)  # fmt: skip
async def test_takes_at_once_add_up_and_each_sees_what_was_before(
    store: Store, takes: list[list[tuple[str, Limit, int]]]
) -> None:
    mine = new_id()
    told = await asyncio.gather(
        *(
            store.request_counts.take([asked(number, whom=mine + whom, limit=limit) for whom, limit, number in take])
            for take in takes
        )
    )
    spans: dict[tuple[str, str], list[tuple[int, int]]] = {}
    for take, befores in zip(takes, told, strict=True):
        for (whom, limit, number), before in zip(take, befores, strict=True):
            spans.setdefault((whom, limit.name), []).append((before, before + number))
    for found in spans.values():
        in_order = sorted(found)
        assert [before for before, _ in in_order] == [0, *(after for _, after in in_order[:-1])]


def _take_in_a_process(url: str, let: "multiprocessing.SimpleQueue[int]", tasks: int) -> None:
    async def ask() -> int:
        async with open_store(url) as store:
            meter = Meter(store.request_counts.take)

            async def one() -> bool:
                try:
                    await meter.count([("juniper", MINUTE), ("juniper", DAY)], now=NOW)
                except LimitReached:
                    return False
                return True

            return sum(await asyncio.gather(*(one() for _ in range(tasks))))

    let.put(asyncio.run(ask()))


@pytest.mark.full
def test_processes_together_let_through_exactly_what_a_limit_allows(database_url: str) -> None:
    spawning = multiprocessing.get_context("spawn")
    let: multiprocessing.SimpleQueue[int] = spawning.SimpleQueue()
    processes = [spawning.Process(target=_take_in_a_process, args=(database_url, let, 25)) for _ in range(3)]
    for process in processes:
        process.start()
    for process in processes:
        process.join()
    assert [process.exitcode for process in processes] == [0, 0, 0]
    assert sum(let.get() for _ in processes) == MINUTE.most


async def test_counts_of_windows_long_over_are_dropped_when_another_begins(store: Store, database_url: str) -> None:
    for number in range(5):
        await store.request_counts.take([asked(1, whom=f"visitor {number}")])
    await store.request_counts.take([asked(1, limit=DAY)])
    assert await rows(database_url) == 6
    await store.request_counts.take([asked(1, whom="later", now=NOW + timedelta(hours=2))])
    assert await rows(database_url) == 2


async def test_a_clock_that_is_behind_does_not_begin_a_count_anew(store: Store) -> None:
    await store.request_counts.take([asked(30)])
    for seconds in range(60, 3600, 60):
        await store.request_counts.take([asked(1, whom="ahead", now=NOW + timedelta(seconds=seconds))])
    assert await store.request_counts.take([asked(1)]) == (30,)


async def test_all_begin_windows_at_once_without_waiting_for_each_other(store: Store) -> None:
    """Each drops the same old counts, in whatever order it meets them."""
    for number in range(40):
        await store.request_counts.take([asked(1, whom=f"visitor {number}")])
    later = NOW + timedelta(hours=3)
    told = await asyncio.gather(
        *(store.request_counts.take([asked(1, whom=f"visitor {number}", now=later)]) for number in range(12))
    )
    assert told == [(0,)] * 12
