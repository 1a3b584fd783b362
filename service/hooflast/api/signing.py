"""Signing: the key this process signs receipts with, read again now and then, so that a renewed one reaches it."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Final

from hooflast.store import SigningKey, Store, TenantId

Clock = Callable[[], datetime]
KEPT_FOR: Final = timedelta(seconds=30)


class CurrentKey:
    """The newest signing key of the store; the first is made, with the tenant, when it is asked for."""

    def __init__(self, store: Store, *, tenant: TenantId, clock: Clock) -> None:
        self._store = store
        self._tenant = tenant
        self._clock = clock
        self._key: SigningKey | None = None
        self._read_at: datetime | None = None

    async def get(self) -> SigningKey:
        """The key to sign with now. Raises StoreUnavailable."""
        now = self._clock()
        if self._key is None or self._read_at is None or now - self._read_at > KEPT_FOR:
            if self._key is None:
                await self._store.tenants.ensure(self._tenant, now=now)
            self._key = await self._store.signing_keys.ensure_first(now=now)
            self._read_at = now
        return self._key
