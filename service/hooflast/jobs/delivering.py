"""Delivering: deliveries that are due, each claimed, attempted and settled, by as many processes as there are.

A delivery is claimed for longer than an attempt can take. If its process ends in between, it is due again when the
claim ends: at least once, with the same id each time, and as a rule only once.
"""

import asyncio
import time
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass
from datetime import datetime, timedelta
from http import HTTPStatus
from typing import Final

import structlog

from hooflast.errors import HooflastError
from hooflast.jobs.retrying import Chance, next_attempt
from hooflast.jobs.sending import Attempt, Sender
from hooflast.jobs.signing import signed_headers
from hooflast.jobs.telling import tell_hooks
from hooflast.store import Store, TenantId
from hooflast.store.hook_values import Claim, DeliveryId, DeliveryStatus, Settlement, WhyDisabled

LEASE: Final = timedelta(seconds=60)
MOST_AT_ONCE: Final = 16
KEPT_FOR: Final = timedelta(days=90)
"""How long a settled delivery can be looked up."""
_TIDY_SECONDS: Final = 86_400.0

log = structlog.stdlib.get_logger("hooflast.hooks")


@dataclass(frozen=True, slots=True, kw_only=True)
class Postman:
    """What deliveries are made with."""

    store: Store
    sender: Sender
    clock: Callable[[], datetime]
    chance: Chance

    async def claim(self, tenant: TenantId, *, limit: int, only: DeliveryId | None = None) -> tuple[Claim, ...]:
        """What is due to a tenant's hooks, for this process alone for a while. Raises StoreError."""
        deliveries, now = self.store.hook_deliveries, self.clock()
        if not limit or not await deliveries.has_due(tenant=tenant, now=now):
            return ()
        return await deliveries.claim(tenant=tenant, now=now, lease=LEASE, limit=limit, only=only)

    async def attempt(self, claim: Claim) -> Settlement:
        """One attempt, and what it comes to. Raises StoreError."""
        event, now = claim.delivery.event, self.clock()
        headers = signed_headers(event.body, message_id=event.id, at=now, secrets=claim.hook.secrets(now=now))
        attempt = await self.sender.send(event.body, url=claim.hook.url, headers=headers, now=now)
        settlement = await self._settlement(claim, attempt)
        await self.store.hook_deliveries.settle(claim, settlement, now=self.clock())
        return settlement

    async def _settlement(self, claim: Claim, attempt: Attempt) -> Settlement:
        now = self.clock()
        status, disable, next_at = DeliveryStatus.DELIVERED, None, now
        if attempt.status == HTTPStatus.GONE:
            status, disable = DeliveryStatus.GIVEN_UP, WhyDisabled.GONE
        elif attempt.failure is not None:
            again = next_attempt(claim.delivery.attempts, now=now, chance=self.chance, retry_after=attempt.retry_after)
            status, next_at = DeliveryStatus.PENDING, again or now
            if again is None:
                status = DeliveryStatus.GIVEN_UP
                disable = None if await self._still_takes(claim) else WhyDisabled.FAILING
        return Settlement(
            status=status, next_at=next_at, last_status=attempt.status, last_failure=attempt.failure, disable=disable
        )

    async def _still_takes(self, claim: Claim) -> bool:
        """Whether the hook took another delivery while this one was tried in vain."""
        return await self.store.hook_deliveries.has_arrived_since(claim.delivery.created_at, hook=claim.hook)


class Round:
    """Deliveries under way in this process: as many at once as MOST_AT_ONCE, so that a slow one holds up no other."""

    def __init__(self, postman: Postman) -> None:
        self._postman = postman
        self._under_way: set[asyncio.Task[None]] = set()

    async def look(self) -> int:
        """Put down what happened, and begin what is due; how much was begun. Raises StoreError."""
        begun = 0
        for tenant in await self._postman.store.hooks.tenants():
            begun += await self._look(tenant)
        return begun

    async def _look(self, tenant: TenantId) -> int:
        await tell_hooks(self._postman.store, tenant=tenant, now=self._postman.clock())
        claims = await self._postman.claim(tenant, limit=MOST_AT_ONCE - len(self._under_way))
        for claim in claims:
            task = asyncio.create_task(self._bring(claim))
            self._under_way.add(task)
            task.add_done_callback(self._under_way.discard)
        return len(claims)

    async def forget(self) -> None:
        """Erase what was settled long ago. Raises StoreError."""
        store, before = self._postman.store, self._postman.clock() - KEPT_FOR
        for tenant in await store.hooks.tenants():
            await store.hook_deliveries.forget(tenant=tenant, settled_before=before)

    async def finished(self) -> None:
        """Wait for what is under way."""
        await asyncio.gather(*self._under_way)

    async def stop(self) -> None:
        """Break off what is under way: it is due again when its claim ends."""
        for task in self._under_way:
            task.cancel()
        await asyncio.gather(*self._under_way, return_exceptions=True)

    async def _bring(self, claim: Claim) -> None:
        event = claim.delivery.event
        try:
            settlement = await self._postman.attempt(claim)
        except HooflastError as error:
            log.warning("hook delivery not settled", delivery=claim.delivery.id, reason=str(error))
            return
        log.info(
            "hook attempt",
            hook=claim.hook.id,
            message=event.id,
            kind=event.type,
            attempt=claim.delivery.attempts,
            status=settlement.last_status,
            failure=settlement.last_failure,
            delivery=settlement.status,
            disabled=settlement.disable,
        )


@asynccontextmanager
async def delivering(postman: Postman, *, every_seconds: float) -> AsyncIterator[None]:
    """Deliver in the background, looking every so many seconds what is due, until the block ends."""
    going = Round(postman)
    rounds = asyncio.create_task(_go_round(going, every_seconds=every_seconds))
    try:
        yield
    finally:
        rounds.cancel()
        await asyncio.gather(rounds, return_exceptions=True)
        await going.stop()


async def _go_round(going: Round, *, every_seconds: float) -> None:
    tidied_at: float | None = None
    while True:
        try:
            await going.look()
            if tidied_at is None or time.monotonic() - tidied_at > _TIDY_SECONDS:
                tidied_at = time.monotonic()
                await going.forget()
        except HooflastError as error:
            log.warning("hooks not told", reason=str(error))
        except Exception as error:
            log.error("hooks not told", exc_info=error)
        await asyncio.sleep(every_seconds)
