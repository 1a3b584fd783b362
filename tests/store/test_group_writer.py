"""Group writer: nothing is lost, nothing is reordered, and each item answers for itself alone."""

import asyncio
from collections.abc import Sequence

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.store import StoreClosed, StoreUnavailable
from hooflast.store.group_writer import GroupWriter

pytestmark = pytest.mark.anyio


class Disk:
    """Keeps batches; what is in `poison` fails a whole batch, and while `gate` is shut nothing gets through."""

    def __init__(self, *, poison: frozenset[int] = frozenset(), failure: Exception | None = None) -> None:
        self.batches: list[list[int]] = []
        self.asked = 0
        self.poison = poison
        self.failure = failure or ValueError("poison")
        self.reached = asyncio.Event()
        self.gate = asyncio.Event()
        self.gate.set()

    @property
    def kept(self) -> list[int]:
        return [item for batch in self.batches for item in batch]

    async def commit(self, items: Sequence[int]) -> None:
        self.asked += 1
        self.reached.set()
        await self.gate.wait()
        if self.poison & set(items):
            raise self.failure
        self.batches.append(list(items))


@given(
    count=st.integers(0, 60),
    batch_size=st.integers(1, 9),
    most_waiting=st.integers(1, 20),
    poison=st.sets(st.integers(0, 59)),
)
async def test_each_item_is_kept_once_in_order_or_fails_alone(
    count: int, batch_size: int, most_waiting: int, poison: set[int]
) -> None:
    disk = Disk(poison=frozenset(poison))
    writer = GroupWriter(disk.commit, batch_size=batch_size, most_waiting=most_waiting)
    await writer.start()
    outcomes = await asyncio.gather(*(writer.write(item) for item in range(count)), return_exceptions=True)
    await writer.stop()
    assert disk.kept == [item for item in range(count) if item not in poison]
    assert [outcome is disk.failure for outcome in outcomes] == [item in poison for item in range(count)]
    assert max(map(len, disk.batches), default=0) <= batch_size


async def test_writes_that_wait_for_one_commit_share_the_next() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit)
    await writer.start()
    first = asyncio.create_task(writer.write(0))
    await disk.reached.wait()
    others = [asyncio.create_task(writer.write(item)) for item in range(1, 11)]
    await asyncio.sleep(0)
    disk.gate.set()
    await asyncio.gather(first, *others)
    assert disk.batches == [[0], list(range(1, 11))]
    await writer.stop()


async def test_a_write_returns_only_when_its_commit_has() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit)
    await writer.start()
    write = asyncio.create_task(writer.write(1))
    await disk.reached.wait()
    assert not write.done()
    disk.gate.set()
    await write
    assert disk.kept == [1]
    await writer.stop()


async def test_stopping_loses_nothing_even_of_callers_who_still_wait_for_room() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit, batch_size=2, most_waiting=3)
    await writer.start()
    writes = [asyncio.create_task(writer.write(item)) for item in range(20)]
    await disk.reached.wait()
    stop = asyncio.create_task(writer.stop())
    await asyncio.sleep(0)
    disk.gate.set()
    await asyncio.gather(*writes, stop)
    assert disk.kept == list(range(20))


async def test_nothing_is_taken_before_the_start_nor_after_a_stop() -> None:
    disk = Disk()
    writer = GroupWriter(disk.commit)
    with pytest.raises(StoreClosed):
        await writer.write(1)
    await writer.start()
    await writer.stop()
    with pytest.raises(StoreClosed):
        await writer.write(2)
    assert disk.kept == []


async def test_nothing_is_taken_while_stopping() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit)
    await writer.start()
    early = asyncio.create_task(writer.write(1))
    await disk.reached.wait()
    stop = asyncio.create_task(writer.stop())
    await asyncio.sleep(0)
    with pytest.raises(StoreClosed):
        await writer.write(2)
    disk.gate.set()
    await asyncio.gather(early, stop)
    assert disk.kept == [1]


async def test_a_stopped_writer_can_start_again_and_both_can_be_asked_twice() -> None:
    disk = Disk()
    writer = GroupWriter(disk.commit)
    for item in (1, 2):
        await writer.start()
        await writer.start()
        await writer.write(item)
        await writer.stop()
        await writer.stop()
    assert disk.kept == [1, 2]


async def test_a_full_writer_makes_further_callers_wait() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit, batch_size=100, most_waiting=3)
    await writer.start()
    writes = [asyncio.create_task(writer.write(item)) for item in range(10)]
    await disk.reached.wait()
    disk.gate.set()
    await asyncio.gather(*writes)
    assert max(map(len, disk.batches)) <= 3
    assert disk.kept == list(range(10))
    await writer.stop()


async def test_what_nobody_waits_for_any_more_is_not_written() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit)
    await writer.start()
    first = asyncio.create_task(writer.write(1))
    await disk.reached.wait()
    gone = asyncio.create_task(writer.write(2))
    await asyncio.sleep(0)
    gone.cancel()
    disk.gate.set()
    await asyncio.gather(first, gone, return_exceptions=True)
    await writer.stop()
    assert disk.kept == [1]


async def test_a_caller_who_goes_in_the_middle_of_a_commit_does_not_disturb_its_neighbours() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit, batch_size=1)
    await writer.start()
    gone = asyncio.create_task(writer.write(1))
    await disk.reached.wait()
    neighbour = asyncio.create_task(writer.write(2))
    gone.cancel()
    stop = asyncio.create_task(writer.stop())
    await asyncio.sleep(0)
    disk.gate.set()
    await asyncio.gather(neighbour, stop)
    assert disk.kept == [1, 2]


async def test_a_commit_that_has_begun_ends_before_the_stop_even_if_nobody_waits_for_it() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit)
    await writer.start()
    gone = asyncio.create_task(writer.write(1))
    await disk.reached.wait()
    gone.cancel()
    await asyncio.gather(gone, return_exceptions=True)
    stop = asyncio.create_task(writer.stop())
    await asyncio.sleep(0)
    disk.gate.set()
    await stop
    assert disk.kept == [1]


async def test_a_database_that_is_away_is_not_asked_again_for_each_item() -> None:
    disk = Disk(poison=frozenset(range(50)), failure=StoreUnavailable(reason="away"))
    writer = GroupWriter(disk.commit)
    await writer.start()
    outcomes = await asyncio.gather(*(writer.write(item) for item in range(50)), return_exceptions=True)
    await writer.stop()
    assert {type(outcome) for outcome in outcomes} == {StoreUnavailable}
    assert disk.asked == 2


async def test_nobody_waits_for_ever_if_the_loop_is_torn_down() -> None:
    disk = Disk()
    disk.gate.clear()
    writer = GroupWriter(disk.commit, batch_size=1, most_waiting=2)
    await writer.start()
    writes = [asyncio.create_task(writer.write(item)) for item in range(5)]
    await disk.reached.wait()
    (task,) = (task for task in asyncio.all_tasks() if task.get_name() == "hooflast-group-writer")
    task.cancel()
    outcomes = await asyncio.gather(*writes, return_exceptions=True)
    assert {type(outcome) for outcome in outcomes} == {StoreClosed}
    await writer.stop()
