"""Known keys: what the store says of keys and origins, asked again every few seconds."""

import asyncio
from collections.abc import Awaitable, Callable
from typing import Final, Generic, TypeVar

from cachetools import TTLCache

from hooflast.access.key import Key
from hooflast.store import Store

KEPT_SECONDS: Final = 5
"""A key that is revoked is refused after so many seconds at the latest."""

MOST_KEPT: Final = 4096

Answer = TypeVar("Answer")


class KnownKeys:
    """What one process knows of keys."""

    def __init__(self, store: Store, *, timer: Callable[[], float]) -> None:
        self._keys = _Asked(store.client_keys.shown, timer=timer)
        self._origins = _Asked(store.client_keys.is_origin_known, timer=timer)

    async def key(self, key_id: str) -> Key | None:
        """The key of that id, if there is one. Raises StoreError."""
        return await self._keys.get(key_id)

    async def is_origin_known(self, origin: str) -> bool:
        """Whether any browser key is for pages of `origin`. Raises StoreError."""
        return await self._origins.get(origin)


class _Asked(Generic[Answer]):
    """Answers kept for a while; of many who ask the same at once, one asks the store."""

    def __init__(self, ask: Callable[[str], Awaitable[Answer]], *, timer: Callable[[], float]) -> None:
        self._ask = ask
        self._kept: TTLCache[str, Answer] = TTLCache(MOST_KEPT, KEPT_SECONDS, timer=timer)
        self._asking: dict[str, asyncio.Future[Answer]] = {}

    async def get(self, name: str) -> Answer:
        if name in self._kept:
            return self._kept[name]
        if name not in self._asking:
            asking = asyncio.ensure_future(self._ask(name))
            self._asking[name] = asking
            asking.add_done_callback(lambda _: self._asking.pop(name, None))
        answer = await asyncio.shield(self._asking[name])
        self._kept[name] = answer
        return answer
