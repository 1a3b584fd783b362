"""Telling: what happened, put down as deliveries to every hook that wants it, exactly once for each.

What happened is read from where it is kept by number, the steps of catalog releases and the ends of match jobs; each
hook remembers how far it was told of either. So nothing is lost with a process, and nothing is put down twice by
several.
"""

import asyncio
from collections.abc import Iterable, Sequence
from datetime import datetime

from hooflast.catalog.comparing import ReleaseChanges, compare_releases
from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.live_events import ReleaseEvent, release_events
from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.exchange.event_document import write_job_event, write_release_event
from hooflast.exchange.event_kinds import kind_of_end
from hooflast.store import Store, TenantId
from hooflast.store.errors import ReleaseDamaged
from hooflast.store.hook_values import Event, Hook
from hooflast.store.match_job_values import JobEnd


async def tell_hooks(store: Store, *, tenant: TenantId, now: datetime) -> int:
    """Put down what a tenant's hooks have not been told of yet; how many were moved on. Raises StoreError."""
    hooks = [hook for hook in await store.hooks.all(tenant=tenant) if hook.disabled_at is None]
    if not hooks:
        return 0
    of_releases = await _tell_of_releases(hooks, store=store, now=now)
    return of_releases + await _tell_of_jobs(hooks, store=store, tenant=tenant, now=now)


async def _tell_of_releases(hooks: Sequence[Hook], *, store: Store, now: datetime) -> int:
    if min(hook.told_to for hook in hooks) >= await store.releases.last_step():
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


async def _tell_of_jobs(hooks: Sequence[Hook], *, store: Store, tenant: TenantId, now: datetime) -> int:
    """A page of ends at a time; what is past it is told the next time."""
    ends = await store.match_job_ends.after(min(hook.told_of_jobs_to for hook in hooks), tenant=tenant)
    moved = 0
    for hook in hooks:
        after = [end for end in ends if end.number > hook.told_of_jobs_to]
        news = [job_event(end) for end in after if kind_of_end(end.state) in hook.events]
        if after:
            moved += await store.hook_deliveries.tell_of_jobs(hook, news, told_to=ends[-1].number, now=now)
    return moved


def job_event(end: JobEnd) -> Event:
    """The end of a match job with what is said of it."""
    return Event(id=end.event_id, type=kind_of_end(end.state), happened_at=end.at, body=write_job_event(end))


class EventWriter:
    """Events with what is said of them; each is written once, whoever wants it."""

    def __init__(self, store: Store) -> None:
        self._store = store
        self._written: dict[str, Event] = {}

    async def write(self, happened: Iterable[ReleaseEvent | JobEnd]) -> Sequence[Event]:
        """The events in their order. Raises StoreError."""
        return [job_event(one) if isinstance(one, JobEnd) else await self._one(one) for one in happened]

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
