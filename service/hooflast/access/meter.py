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

    def begins_anew_in(self, now: datetime) -> int:
        """Whole seconds from a moment in the window until the next one, at least one."""
        return self.limit.left_of(self.window, now=now)


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

    counted: Counted
    held: int = 0
    left_to_take: int

    @property
    def is_empty(self) -> bool:
        return not self.held and self.left_to_take > 0

    @property
    def is_spent(self) -> bool:
        return not self.held and not self.left_to_take

    def standing(self, now: datetime) -> Standing:
        seconds = self.counted.begins_anew_in(now)
        return Standing(limit=self.counted.limit, left=self.held + self.left_to_take, seconds=seconds)


class Meter:
    """The counts of one process."""

    def __init__(self, take: TakeBlocks, *, most_remembered: int = MOST_REMEMBERED) -> None:
        self._take = take
        self._blocks: LRUCache[Counted, _Block] = LRUCache(most_remembered)
        self._taking: dict[str, asyncio.Task[None]] = {}

    async def count(self, whom: Iterable[tuple[str, Limit]], *, now: datetime) -> tuple[Standing, ...]:
        """Count one request against every limit, or against none. Raises LimitReached, and what taking raises.

        Whoever waits for a block goes on only when it finds something in each of its own: while it waited, others may
        have used up what was taken.
        """
        blocks = [self._block(Counted(whom=one, limit=limit, window=limit.window(now))) for one, limit in whom]
        _require_some(blocks, now=now)
        while empty := [block for block in blocks if block.is_empty]:
            await self._filled([block for block in empty if block.counted.whom == empty[0].counted.whom])
            _require_some(blocks, now=now)
        for block in blocks:
            block.held -= 1
        return tuple(block.standing(now) for block in blocks)

    def is_spent(self, whom: str, limit: Limit, *, now: datetime) -> bool:
        """Whether the next request would be refused, as far as this process knows."""
        known = self._blocks.get(Counted(whom=whom, limit=limit, window=limit.window(now)))
        return known is not None and known.is_spent

    async def _filled(self, empty: Sequence[_Block]) -> None:
        """Wait until something was taken for whom these count, by this request or by another.

        Taking goes on when whoever began it leaves: what was taken is then there for the next.
        """
        whom = empty[0].counted.whom
        if whom not in self._taking:
            self._taking[whom] = asyncio.create_task(self._fill(empty))
        await asyncio.shield(self._taking[whom])

    async def _fill(self, empty: Sequence[_Block]) -> None:
        asked = [Asked(counted=block.counted, requests=block.counted.limit.block) for block in empty]
        try:
            taken = await self._take(asked)
        finally:
            del self._taking[empty[0].counted.whom]
        for block, before in zip(empty, taken, strict=True):
            limit = block.counted.limit
            left = max(0, limit.most - before)
            block.held = min(limit.block, left)
            block.left_to_take = left - block.held

    def _block(self, counted: Counted) -> _Block:
        known = self._blocks.get(counted)
        if known is None:
            known = self._blocks[counted] = _Block(counted=counted, left_to_take=counted.limit.most)
        return known


def _require_some(blocks: Iterable[_Block], *, now: datetime) -> None:
    """Raises LimitReached for the first count of which nothing is left."""
    for block in blocks:
        if block.is_spent:
            limit = block.counted.limit
            raise LimitReached(limit=limit.name, most=limit.most, seconds=block.counted.begins_anew_in(now))
