"""Collecting: Python's full garbage collections kept away from requests.

A full collection looks through everything there is, and stops every thread meanwhile: with a catalog, remembered
answers and the libraries in memory, for a fifth of a second, every few seconds under load. What a start has made stays
for good and is never looked through again; what was made since is, when no request is being answered. Nearly all
garbage holds no cycles and goes at once, so that a full collection is seldom needed.
"""

import asyncio
import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from time import monotonic
from typing import Final

from hooflast.api.running import Running

LOOK_SECONDS: Final = 1.0
EVERY_SECONDS: Final = 30.0
"""How long after one the next is due [C]: then the first moment without a request is taken."""

AT_LATEST_SECONDS: Final = 120.0
"""How long a service that is never without a request goes without one [C]."""

_NEVER: Final = 1_000_000
"""So many collections of the middle generation, and the full one would come by itself."""


@asynccontextmanager
async def collecting_between_requests(running: Running) -> AsyncIterator[None]:
    """From now on until the block ends, full collections come between requests."""
    before = gc.get_threshold()
    gc.collect()
    gc.freeze()
    gc.set_threshold(*before[:2], _NEVER)
    task = asyncio.create_task(_collect(running))
    try:
        yield
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)
        gc.set_threshold(*before)
        gc.unfreeze()


def is_time(*, running: Running, seconds: float) -> bool:
    """Whether to collect so many seconds after the last time."""
    return seconds >= (EVERY_SECONDS if not running.count else AT_LATEST_SECONDS)


async def _collect(running: Running) -> None:
    last = monotonic()
    while True:
        await asyncio.sleep(LOOK_SECONDS)
        if is_time(running=running, seconds=monotonic() - last):
            gc.collect()
            last = monotonic()
