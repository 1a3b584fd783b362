"""Group writer: concurrent writes share one commit, and each caller waits until its own is durable.

While one batch commits, the next gathers by itself, so no timer is needed: a lone write goes at once, a crowd goes
together. Nothing here knows SQL.
"""

import asyncio
from collections.abc import Awaitable, Callable, Sequence
from dataclasses import dataclass
from typing import Generic, TypeVar

from hooflast.store.errors import StoreClosed, StoreUnavailable

Item = TypeVar("Item")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Waiting(Generic[Item]):
    item: Item
    done: asyncio.Future[None]

    def settle(self, error: BaseException | None = None) -> None:
        if self.done.done():
            return
        if error is None:
            self.done.set_result(None)
        else:
            self.done.set_exception(error)


class GroupWriter(Generic[Item]):
    """Hands items to `commit` in batches, in the order they came; `commit` keeps all of a batch or none.

    A batch that fails is tried again item by item, so that each item answers for itself. StoreUnavailable is no
    item's fault: once a lone item meets it, the rest of that batch is given up with the same error. At most
    `most_waiting` items are held; further callers wait for their turn.
    """

    def __init__(
        self, commit: Callable[[Sequence[Item]], Awaitable[None]], *, batch_size: int = 64, most_waiting: int = 1024
    ) -> None:
        self._commit = commit
        self._batch_size = batch_size
        self._most_waiting = most_waiting
        self._task: asyncio.Task[None] | None = None

    async def start(self) -> None:
        """Begin to take items. A writer that was stopped can start again."""
        if self._task is not None:
            return
        self._room = asyncio.Semaphore(self._most_waiting)  # wakes its waiters in order
        self._queue: asyncio.Queue[_Waiting[Item]] = asyncio.Queue()
        self._open_writes = 0
        self._no_open_writes = asyncio.Event()
        self._no_open_writes.set()
        self._takes_more = True
        self._task = asyncio.create_task(self._run(), name="hooflast-group-writer")

    async def stop(self) -> None:
        """Take nothing more, finish every write that has begun, and end."""
        if self._task is None:
            return
        self._takes_more = False
        await self._no_open_writes.wait()
        await self._queue.join()
        task, self._task = self._task, None
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)

    async def write(self, item: Item) -> None:
        """Return once `item` is durable. Raises what `commit` raised for it, and StoreClosed."""
        if self._task is None or not self._takes_more:
            raise StoreClosed
        self._open_writes += 1
        self._no_open_writes.clear()
        try:
            async with self._room:
                if self._task.done():
                    raise StoreClosed
                waiting = _Waiting(item=item, done=asyncio.get_running_loop().create_future())
                self._queue.put_nowait(waiting)
                await waiting.done
        finally:
            self._open_writes -= 1
            if self._open_writes == 0:
                self._no_open_writes.set()

    async def _run(self) -> None:
        batch: list[_Waiting[Item]] = []
        try:
            while True:
                batch = [await self._queue.get()]
                while len(batch) < self._batch_size and not self._queue.empty():
                    batch.append(self._queue.get_nowait())
                await self._write_together([waiting for waiting in batch if not waiting.done.done()])
                self._tick_off(batch)
        finally:
            # Only reached with work left if the task is cancelled from outside: nobody may wait for ever.
            self._takes_more = False
            left = [*batch, *(self._queue.get_nowait() for _ in range(self._queue.qsize()))]
            for waiting in left:
                waiting.settle(StoreClosed())
            self._tick_off(left)

    def _tick_off(self, batch: list[_Waiting[Item]]) -> None:
        for _ in batch:
            self._queue.task_done()
        batch.clear()

    async def _write_together(self, batch: Sequence[_Waiting[Item]]) -> None:
        if not batch:
            return
        try:
            await self._commit([waiting.item for waiting in batch])
        except Exception as error:
            if len(batch) == 1:
                batch[0].settle(error)
            else:
                await self._write_apart(batch)
        else:
            for waiting in batch:
                waiting.settle()

    async def _write_apart(self, batch: Sequence[_Waiting[Item]]) -> None:
        given_up: StoreUnavailable | None = None
        for waiting in batch:
            if given_up is not None:
                waiting.settle(StoreUnavailable(reason=given_up.reason))
                continue
            try:
                await self._commit([waiting.item])
            except StoreUnavailable as error:
                given_up = error
                waiting.settle(error)
            except Exception as error:
                waiting.settle(error)
            else:
                waiting.settle()
