"""Guesses: how often somebody may show keys that are not known, counted by the address that they come from.

A secret of 256 random bits is not guessed; what is bounded is the work that looking for made-up keys makes. What counts
against an address never counts against a key: one that is genuine is let in from there all the same.
"""

from datetime import datetime
from typing import Final

from hooflast.access.limit import Limit, Standing
from hooflast.access.meter import Meter, TakeBlocks
from hooflast.access.visitor import visitor_of

LIMIT: Final = Limit(name="unknown-keys", most=60, seconds=60)
MOST_ADDRESSES: Final = 16_384
"""How many addresses a process remembers, apart from the counts of genuine keys, which made-up ones cannot push out."""


class Guesses:
    """Keys that are not known, as one process sees them; counted once for all processes."""

    def __init__(self, take: TakeBlocks) -> None:
        self._meter = Meter(take, most_remembered=MOST_ADDRESSES)

    @property
    def limit(self) -> Limit:
        """How many are allowed from one address."""
        return LIMIT

    def are_spent(self, address: str, *, now: datetime) -> bool:
        """Whether so many came from an address that the next is refused, as far as this process knows."""
        return self._meter.is_spent(_whom(address), self.limit, now=now)

    async def count(self, address: str, *, now: datetime) -> Standing:
        """Count one more. Raises LimitReached, and what taking raises."""
        (standing,) = await self._meter.count([(_whom(address), self.limit)], now=now)
        return standing


def _whom(address: str) -> str:
    return f"{LIMIT.name}/{visitor_of(address, key_id=LIMIT.name)}"
