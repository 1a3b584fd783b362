"""Meter: requests counted against limits once for all processes, without asking the shared count each time.

A process takes a block of requests from the shared count and lets them through by itself. What it took and does not
use is lost when the window ends: never are more let through than a limit allows, and at the end of a window a process
may refuse while another has some left.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from cachetools import LRUCache

from hooflast.access.errors import LimitReached
from hooflast.access.limit import Limit, Standing

MOST_REMEMBERED: Final = 65_536
"""How many counts a process remembers; of those it forgets, the rest of a block is lost."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Counted:
    """One count: of whom (a key, or one visitor of a key), against which limit, in which window."""

    whom: str
    limit: Limit
    window: datetime


@dataclass(frozen=True, slots=True, kw_only=True)
class Asked:
    """So many requests that a process would take from a shared count."""

    counted: Counted
    requests: int


TakeBlocks = Callable[[Sequence[Asked]], Awaitable[Sequence[int]]]
"""Adds each number to its shared count, all or none; returns what each count was before. Raises what the store does."""


@dataclass(slots=True, kw_only=True)
class _Block:
    """What a process holds of a count: requests it may let through, and what others may take beside."""

    held: int = 0
    left_to_take: int

    @property
    def is_empty(self) -> bool:
        return not self.held and self.left_to_take > 0


class Meter:
    """The counts of one process."""

    def __init__(self, take: TakeBlocks) -> None:
        self._take = take
        self._blocks: LRUCache[Counted, _Block] = LRUCache(MOST_REMEMBERED)
        self._taking: dict[str, asyncio.Lock] = {}

    async def count(self, whom: Iterable[tuple[str, Limit]], *, now: datetime) -> tuple[Standing, ...]:
        """Count one request against every limit, or against none. Raises LimitReached, and what taking raises."""
        counts = [Counted(whom=one, limit=limit, window=limit.window(now)) for one, limit in whom]
        blocks = [self._block(each) for each in counts]
        if any(block.is_empty for block in blocks):
            async with self._taking.setdefault(counts[0].whom, asyncio.Lock()):
                await self._fill(zip(counts, blocks, strict=True))
        for each, block in zip(counts, blocks, strict=True):
            if not block.held:
                raise LimitReached(limit=each.limit.name, most=each.limit.most, seconds=each.limit.begins_anew_in(now))
        for block in blocks:
            block.held -= 1
        return tuple(
            Standing(limit=each.limit, left=block.held + block.left_to_take, seconds=each.limit.begins_anew_in(now))
            for each, block in zip(counts, blocks, strict=True)
        )

    async def _fill(self, pairs: Iterable[tuple[Counted, _Block]]) -> None:
        """Take what is wanted for all blocks that are empty."""
        empty = [(counted, block) for counted, block in pairs if block.is_empty]
        if not empty:
            return
        asked = [Asked(counted=counted, requests=counted.limit.block) for counted, _ in empty]
        for (counted, block), before in zip(empty, await self._take(asked), strict=True):
            left = max(0, counted.limit.most - before)
            block.held = min(counted.limit.block, left)
            block.left_to_take = left - block.held

    def _block(self, counted: Counted) -> _Block:
        known = self._blocks.get(counted)
        if known is None:
            known = self._blocks[counted] = _Block(left_to_take=counted.limit.most)
        return known
