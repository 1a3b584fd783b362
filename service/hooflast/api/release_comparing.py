"""Release comparing: what changed from one catalog release to another, whichever way it was asked for."""

import asyncio
from dataclasses import dataclass

from hooflast.api.service import Service
from hooflast.catalog.comparing import ReleaseChanges, compare_releases
from hooflast.catalog.values import ReleaseId


@dataclass(frozen=True, slots=True, kw_only=True)
class Compared:
    """What changed in a catalog release since an older one; None: there is none before it."""

    changes: ReleaseChanges
    release: ReleaseId
    since: ReleaseId | None

    @property
    def keys(self) -> list[str]:
        """A key for each record that changed, in their order."""
        return [f"{change.kind}/{change.id}" for change in self.changes.records]


async def compared(service: Service, release_id: str, *, since: str | None) -> Compared:
    """What changed since `since`, or since the release before. Raises NotFound, ReleaseGone, CatalogUnavailable."""
    new = (await service.catalog.pinned(release_id)).release
    since_id = since or service.catalog.before(new.id)
    old = None if since_id is None else (await service.catalog.pinned(since_id)).release
    async with service.working:
        changes = await asyncio.to_thread(compare_releases, old, new)
    return Compared(changes=changes, release=new.id, since=None if old is None else old.id)
