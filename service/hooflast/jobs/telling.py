"""Telling: what happened, put down as deliveries to every hook that wants it, exactly once for each.

What happened is read from where it is kept anyway, the numbered steps of catalog releases; each hook remembers how far
it was told. So nothing is lost with a process, and nothing is put down twice by several.
"""

import asyncio
from collections.abc import Iterable, Sequence
from datetime import datetime

from hooflast.catalog.comparing import ReleaseChanges, compare_releases
from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.live_events import ReleaseEvent, release_events
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.exchange.event_document import write_release_event
from hooflast.store import Store, TenantId
from hooflast.store.errors import ReleaseDamaged
from hooflast.store.hook_values import Event


async def tell_hooks(store: Store, *, tenant: TenantId, now: datetime) -> int:
    """Put down what a tenant's hooks have not been told of yet; how many were moved on. Raises StoreError."""
    hooks = [hook for hook in await store.hooks.all(tenant=tenant) if hook.disabled_at is None]
    if not hooks or min(hook.told_to for hook in hooks) >= await store.releases.last_step():
        return 0
    steps = await store.releases.steps()
    told_to = steps[-1].number
    happened = release_events(steps)
    writer = EventWriter(store)
    moved = 0
    for hook in hooks:
        news = [event for event in happened if event.taken.number > hook.told_to and event.kind in hook.events]
        if hook.told_to < told_to:
            moved += await store.hook_deliveries.tell(hook, await writer.write(news), told_to=told_to, now=now)
    return moved


class EventWriter:
    """Events of catalog releases with what is said of them; each is written once, whoever wants it."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._written: dict[str, Event] = {}

    async def write(self, happened: Iterable[ReleaseEvent]) -> Sequence[Event]:
        """The events in their order. Raises StoreError."""
        return [await self._one(event) for event in happened]

    async def _one(self, event: ReleaseEvent) -> Event:
        if event.id not in self._written:
            changes = await self._changes(event)
            self._written[event.id] = Event(
                id=event.id,
                type=event.kind,
                happened_at=event.taken.at,
                body=write_release_event(event, changes=changes),
            )
        return self._written[event.id]

    async def _changes(self, event: ReleaseEvent) -> ReleaseChanges | None:
        """From what was active before to what is now; None if there is nothing to compare, or no longer."""
        if event.active is None:
            return None
        after = await self._read(event.active)
        before = None if event.before is None else await self._read(event.before)
        if after is None or (event.before is not None and before is None):
            return None
        return await asyncio.to_thread(compare_releases, before, after)

    async def _read(self, release_id: ReleaseId) -> CatalogRelease | None:
        try:
            return await self._store.releases.read(release_id)
        except (ReleaseGone, ReleaseDamaged):
            return None
