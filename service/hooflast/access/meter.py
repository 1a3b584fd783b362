"""Meter: requests counted against limits once for all processes, without asking the shared count each time.

A process takes a block of requests from the shared count and lets them through by itself. What it took and does not
use is lost when the window ends: never are more let through than a limit allows, and at the end of a window a process
may refuse while another has some left.
"""

import asyncio
from collections.abc import Awaitable, Callable, Iterable, Mapping, Sequence
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

    @property
    def is_spent(self) -> bool:
        return not self.held and not self.left_to_take


class Meter:
    """The counts of one process."""

    def __init__(self, take: TakeBlocks) -> None:
        self._take = take
        self._blocks: LRUCache[Counted, _Block] = LRUCache(MOST_REMEMBERED)
        self._taking: dict[str, asyncio.Task[None]] = {}

    async def count(self, whom: Iterable[tuple[str, Limit]], *, now: datetime) -> tuple[Standing, ...]:
        """Count one request against every limit, or against none. Raises LimitReached, and what taking raises.

        Whoever waits for a block goes on only when it finds something in each of its own: while it waited, others may
        have used up what was taken.
        """
        counts = [Counted(whom=one, limit=limit, window=limit.window(now)) for one, limit in whom]
        blocks = {each: self._block(each) for each in counts}
        _require_some(blocks, now=now)
        while empty := [each for each in counts if blocks[each].is_empty]:
            await self._filled([each for each in empty if each.whom == empty[0].whom], blocks=blocks)
            _require_some(blocks, now=now)
        for block in blocks.values():
            block.held -= 1
        return tuple(
            Standing(limit=each.limit, left=block.held + block.left_to_take, seconds=each.limit.begins_anew_in(now))
            for each, block in blocks.items()
        )

    async def _filled(self, empty: Sequence[Counted], *, blocks: Mapping[Counted, _Block]) -> None:
        """Wait until something was taken for whom these count, by this request or by another.

        Taking goes on when whoever began it leaves: what was taken is then there for the next.
        """
        whom = empty[0].whom
        if whom not in self._taking:
            self._taking[whom] = asyncio.create_task(self._fill(empty, blocks=blocks))
        await asyncio.shield(self._taking[whom])

    async def _fill(self, empty: Sequence[Counted], *, blocks: Mapping[Counted, _Block]) -> None:
        asked = [Asked(counted=each, requests=each.limit.block) for each in empty]
        try:
            taken = await self._take(asked)
        finally:
            del self._taking[empty[0].whom]
        for each, before in zip(empty, taken, strict=True):
            left = max(0, each.limit.most - before)
            blocks[each].held = min(each.limit.block, left)
            blocks[each].left_to_take = left - blocks[each].held

    def _block(self, counted: Counted) -> _Block:
        known = self._blocks.get(counted)
        if known is None:
            known = self._blocks[counted] = _Block(left_to_take=counted.limit.most)
        return known


def _require_some(blocks: Mapping[Counted, _Block], *, now: datetime) -> None:
    """Raises LimitReached for the first count of which nothing is left."""
    for each, block in blocks.items():
        if block.is_spent:
            raise LimitReached(limit=each.limit.name, most=each.limit.most, seconds=each.limit.begins_anew_in(now))
