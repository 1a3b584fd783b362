"""Known keys: what the store says of keys and origins, asked again every few seconds.

Only what is there is kept: a key or an origin that nobody knows is asked for each time, so that a new one is known at
once, and so that made-up ids do not push out those that are real. From where too many made-up ones came, keys are asked
for together.
"""

import asyncio
from collections.abc import Awaitable, Callable
from datetime import datetime
from enum import Enum, auto
from typing import Final, Generic, TypeVar

from cachetools import LRUCache

from hooflast.access.key import Key
from hooflast.access.origin import read_origin
from hooflast.access.secret import Presented
from hooflast.api.gathering import Gathering, pause
from hooflast.store import Store

KEPT_SECONDS: Final = 5
"""A key that is revoked is refused after so many seconds at the latest."""

MOST_KEPT: Final = 4096

Answer = TypeVar("Answer")
Ask = Callable[[str], Awaitable[Answer | None]]


class Asking(Enum):
    """How the store is asked for a key: at once, or soon, together with others."""

    ALONE = auto()
    TOGETHER = auto()


class KnownKeys:
    """What one process knows of keys."""

    def __init__(
        self, store: Store, *, timer: Callable[[], float], pause: Callable[[], Awaitable[None]] = pause
    ) -> None:
        self._keys = _Asked(store.client_keys.shown, timer=timer)
        self._together = Gathering(store.client_keys.shown_together, pause=pause)
        self._origins = _Asked(store.client_keys.is_origin_known, timer=timer)

    async def genuine(self, presented: Presented, *, now: datetime, asking: Asking = Asking.ALONE) -> Key | None:
        """The key that was presented, if it is there and has that secret. Raises StoreError.

        A secret that what is kept of a key does not accept may be a new one: then the store is asked again.
        """
        key = self._keys.kept(presented.key_id)
        if key is None or not key.is_shown_by(presented, now=now):
            ask = self._together.ask if asking is Asking.TOGETHER else None
            key = await self._keys.ask(presented.key_id, by=ask)
        return key if key is not None and key.is_shown_by(presented, now=now) else None

    async def is_origin_known(self, origin: str) -> bool:
        """Whether any browser key is for pages of `origin`, as browsers write it. Raises StoreError."""
        try:
            if read_origin(origin) != origin:
                return False
        except ValueError:
            return False
        return self._origins.kept(origin) or await self._origins.ask(origin) or False


class _Asked(Generic[Answer]):
    """Answers kept for a while; of many who ask the same at once, one asks the store."""

    def __init__(self, ask: Ask[Answer], *, timer: Callable[[], float]) -> None:
        self._ask = ask
        self._timer = timer
        self._kept: LRUCache[str, tuple[float, Answer]] = LRUCache(MOST_KEPT)
        self._asking: dict[str, asyncio.Task[Answer | None]] = {}

    def kept(self, name: str) -> Answer | None:
        """What was answered lately."""
        asked_at, answer = self._kept.get(name, (0.0, None))
        return None if answer is None or self._timer() - asked_at >= KEPT_SECONDS else answer

    async def ask(self, name: str, *, by: Ask[Answer] | None = None) -> Answer | None:
        """What the store says now. Asking goes on when whoever began it leaves; what goes wrong is not kept."""
        if name not in self._asking:
            self._asking[name] = asyncio.create_task(self._answer(name, by=by or self._ask))
        return await asyncio.shield(self._asking[name])

    async def _answer(self, name: str, *, by: Ask[Answer]) -> Answer | None:
        asked_at = self._timer()
        try:
            answer = await by(name)
        finally:
            del self._asking[name]
        if answer:
            self._kept[name] = (asked_at, answer)
        else:
            self._kept.pop(name, None)
        return answer
