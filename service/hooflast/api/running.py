"""Running: the requests being answered, and whether the service has been asked to stop."""

import asyncio
from collections.abc import Iterator
from contextlib import contextmanager


class Running:
    """Counts the requests being answered in this process."""

    def __init__(self) -> None:
        self.is_stopping = False
        self.count = 0
        self._idle = asyncio.Event()
        self._idle.set()

    @contextmanager
    def one(self) -> Iterator[None]:
        """Counts one request while it is being answered."""
        self.count += 1
        self._idle.clear()
        try:
            yield
        finally:
            self.count -= 1
            if not self.count:
                self._idle.set()

    def stop(self) -> None:
        """From now on the service says that it is not ready; what is running goes on."""
        self.is_stopping = True

    async def finished(self, *, within_seconds: float) -> bool:
        """Wait until nothing is running, at most `within_seconds`; whether nothing is."""
        try:
            async with asyncio.timeout(within_seconds):
                await self._idle.wait()
        except TimeoutError:
            return False
        return True
