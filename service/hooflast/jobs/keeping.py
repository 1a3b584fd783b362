"""Keeping: hooks made, renewed, tried and caught up, on behalf of a tenant."""

import secrets
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Final
from urllib.parse import urlsplit

from hooflast.catalog.live_events import ReleaseEvent, release_events
from hooflast.errors import Fault, InputRefused
from hooflast.exchange.event_document import TEST_KIND, write_test_event
from hooflast.exchange.event_kinds import kind_of_end
from hooflast.exchange.hook_form import HookWish
from hooflast.jobs.addresses import PrivateAddresses, is_private_literal
from hooflast.jobs.signing import SECRET_BYTES
from hooflast.jobs.telling import EventWriter
from hooflast.store import Store, TenantId, new_id
from hooflast.store.audit import Actor
from hooflast.store.hook_values import DeliveryId, Event, Hook, HookId
from hooflast.store.match_job_values import JobEnd, JobState

FORMER_VALID: Final = timedelta(hours=24)
"""How long the secret before still signs beside a new one."""
MOST_REPEATED: Final = 200
"""How many events are delivered again at once."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Caught:
    """What is delivered again, oldest event first, and the moment to go on from where that is not all."""

    deliveries: tuple[DeliveryId, ...]
    go_on_from: datetime | None = None


async def make_hook(
    wish: HookWish, *, store: Store, tenant: TenantId, private: PrivateAddresses, now: datetime, by: Actor | None = None
) -> Hook:
    """A new hook with a secret of its own. Raises InputRefused, TooManyHooks."""
    if private is PrivateAddresses.REFUSE and is_private_literal(urlsplit(wish.url).hostname or ""):
        raise InputRefused(faults=(Fault(path=("url",), code="address-not-public", received=wish.url),))
    await store.tenants.ensure(tenant, now=now)
    return await store.hooks.add(
        Hook(
            id=HookId(new_id()),
            tenant=tenant,
            url=wish.url,
            events=wish.events,
            secret=secrets.token_bytes(SECRET_BYTES),
            created_at=now,
        ),
        by=by,
    )


async def renew_secret(
    hook_id: HookId, *, store: Store, tenant: TenantId, now: datetime, by: Actor | None = None
) -> Hook:
    """Sign with a new secret, and for a while with the one before as well. Raises NotFound."""
    secret = secrets.token_bytes(SECRET_BYTES)
    return await store.hooks.rotate(hook_id, tenant=tenant, secret=secret, until=now + FORMER_VALID, by=by)


async def try_hook(hook_id: HookId, *, store: Store, tenant: TenantId, now: datetime) -> DeliveryId:
    """Put down an event that tells nothing but that the hook is tried; a hook that was disabled is enabled.

    Raises NotFound.
    """
    hook = await store.hooks.enable(hook_id, tenant=tenant)
    event = Event(
        id=f"evt_{new_id().replace('-', '')}",
        type=TEST_KIND,
        happened_at=now,
        body=write_test_event(hook.id, at=now),
    )
    (delivery,) = await store.hook_deliveries.repeat(hook, [event], now=now)
    return delivery


async def repeat_one(
    delivery_id: DeliveryId, *, hook_id: HookId, store: Store, tenant: TenantId, now: datetime
) -> Caught:
    """Deliver one event again, whatever became of it; a hook that was disabled is enabled. Raises NotFound."""
    hook = await store.hooks.find(hook_id, tenant=tenant)
    delivery = await store.hook_deliveries.find(delivery_id, hook=hook)
    await store.hooks.enable(hook.id, tenant=tenant)
    return Caught(deliveries=await store.hook_deliveries.repeat(hook, [delivery.event], now=now))


async def repeat_since(since: datetime, *, hook_id: HookId, store: Store, tenant: TenantId, now: datetime) -> Caught:
    """Deliver every event again that the hook wants and that happened since, also from before there was the hook.

    Ends of match jobs as long as they are kept. At most MOST_REPEATED; a hook that was disabled is enabled.
    Raises NotFound.
    """
    hook = await store.hooks.enable(hook_id, tenant=tenant)
    happened = await _happened(since, hook=hook, store=store)
    events: Sequence[Event] = await EventWriter(store).write(happened[:MOST_REPEATED])
    go_on_from = _moment_of(happened[MOST_REPEATED]) if len(happened) > MOST_REPEATED else None
    return Caught(
        deliveries=await store.hook_deliveries.repeat(hook, events, now=now) if events else (), go_on_from=go_on_from
    )


async def _happened(since: datetime, *, hook: Hook, store: Store) -> list[ReleaseEvent | JobEnd]:
    """What a hook wants to be told of from a moment on, the oldest first; one more than is delivered at once."""
    releases = [
        event
        for event in release_events(await store.releases.steps())
        if event.kind in hook.events and event.taken.at >= since
    ]
    states = [state for state in JobState if state.is_over and kind_of_end(state) in hook.events]
    ends = await store.match_job_ends.since(since, tenant=hook.tenant, states=states, limit=MOST_REPEATED + 1)
    happened: list[ReleaseEvent | JobEnd] = [*releases, *ends]
    return sorted(happened, key=_moment_of)[: MOST_REPEATED + 1]


def _moment_of(event: ReleaseEvent | JobEnd) -> datetime:
    return event.at if isinstance(event, JobEnd) else event.taken.at
