"""Live catalog: the catalog releases that are served, as the store has them now, laid out for matching.

What is active is held; one that is pinned is laid out when it is first asked for and held among the last, of so many
bytes together, and so is one that was active, where there is room. `refresh` takes up what was published, rolled back
or withdrawn since; a request that has begun goes on with what it began with.
"""

import asyncio
from dataclasses import dataclass
from typing import Final

from cachetools import LRUCache

from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.lifecycle import KeptRelease, ReleaseStatus
from hooflast.catalog.values import ReleaseId
from hooflast.errors import CatalogUnavailable, Fault, InputRefused, NotFound
from hooflast.matching.laying_apart import lay_out_apart
from hooflast.matching.served_catalog import ServedCatalog
from hooflast.matching.shelf import Shelf
from hooflast.store.releases import LARGEST_PAGE, Releases

WRITTEN_TO_HELD: Final = 4
"""How many bytes of memory a byte of a written catalog release takes as values, about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """A catalog release laid out, and how many bytes of memory it takes, about."""

    shelf: Shelf
    bytes: int

    @property
    def id(self) -> ReleaseId:
        """The catalog release."""
        return self.shelf.release.id


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """What is served at one revision of the store: the active catalog release, and all that can be pinned."""

    revision: int
    active: Held | None
    published: tuple[KeptRelease, ...]


class LiveCatalog(ServedCatalog):
    """The catalog of one process. All but `from_thread` is for the event loop it was started on."""

    def __init__(self, releases: Releases, *, most_bytes: int) -> None:
        self._releases = releases
        self._served = Served(revision=-1, active=None, published=())
        self._held: LRUCache[ReleaseId, Held] = LRUCache(most_bytes, getsizeof=lambda held: held.bytes)
        self._coming: dict[ReleaseId, asyncio.Task[Held]] = {}
        self._refreshing = asyncio.Lock()
        self._loop: asyncio.AbstractEventLoop | None = None

    @property
    def active(self) -> Shelf:
        """The catalog release that is served where none is pinned. Raises CatalogUnavailable."""
        if self._served.active is None:
            raise CatalogUnavailable(reason="none is published")
        return self._served.active.shelf

    @property
    def published(self) -> tuple[KeptRelease, ...]:
        """Every catalog release that can be pinned, newest first."""
        return self._served.published

    @property
    def revision(self) -> int:
        """The store's revision that is served."""
        return self._served.revision

    def before(self, release_id: ReleaseId) -> ReleaseId | None:
        """The one published for the day before that of another, if there is one. Raises NotFound."""
        oldest_first = [one.id for one in reversed(self._served.published)]
        if release_id not in oldest_first:
            raise NotFound(resource="catalog release", name=release_id)
        place = oldest_first.index(release_id)
        return oldest_first[place - 1] if place else None

    async def refresh(self) -> bool:
        """Take up what changed in the store; whether anything had.

        Raises StoreError and CatalogUnavailable, and then serves on as before.
        """
        self._loop = asyncio.get_running_loop()
        async with self._refreshing:
            now = await self._releases.active()
            if now.revision == self._served.revision:
                return False
            published = await self._all_published()
            active = None if now.release is None else await self._laid_out(now.release)
            before = self._served.active
            self._served = Served(revision=now.revision, active=active, published=published)
            if before is not None and before.id != self._active_id and self._has_room(before):
                self._hold(before)
            for release_id in set(self._held) - {one.id for one in published if one.id != self._active_id}:
                self._held.pop(release_id, None)
        return True

    async def pinned(self, release_id: str | None) -> Shelf:
        """A published catalog release, or the active one. Raises NotFound, ReleaseGone, CatalogUnavailable."""
        if release_id is None or release_id == self._active_id:
            return self.active
        if release_id not in {one.id for one in self._served.published}:
            kept = await self._releases.find(ReleaseId(release_id))
            if kept.status is ReleaseStatus.WITHDRAWN:
                raise ReleaseGone(release=release_id)
            if kept.status is not ReleaseStatus.PUBLISHED:
                raise NotFound(resource="catalog release", name=release_id)
        return await self._shelf(ReleaseId(release_id))

    async def asked_for(self, release_id: str | None) -> Shelf:
        """The same for a question's pin. Raises InputRefused for one that is unknown, else as `pinned` does."""
        try:
            return await self.pinned(release_id)
        except NotFound:
            fault = Fault(path=("catalog_release",), code="catalog-release-unknown", received=release_id)
            raise InputRefused(faults=(fault,)) from None

    def from_thread(self, release_id: str | None) -> Shelf:
        """What `asked_for` gives, for a thread beside the event loop; it waits while a pinned one is laid out."""
        if release_id is None or release_id == self._active_id:
            return self.active
        if self._loop is None:
            raise CatalogUnavailable(reason="it was not started")
        return asyncio.run_coroutine_threadsafe(self.asked_for(release_id), self._loop).result()

    async def answered_from(self, release_id: str) -> Shelf:
        """A catalog release that an answer was given from, withdrawn or not. Raises NotFound, ReleaseGone."""
        return await self._shelf(ReleaseId(release_id))

    @property
    def _active_id(self) -> ReleaseId | None:
        return None if self._served.active is None else self._served.active.id

    async def _all_published(self) -> tuple[KeptRelease, ...]:
        found: list[KeptRelease] = []
        while True:
            after = (found[-1].released_on, found[-1].id) if found else None
            page = await self._releases.page(status=ReleaseStatus.PUBLISHED, after=after, limit=LARGEST_PAGE)
            found += page
            if len(page) < LARGEST_PAGE:
                return tuple(found)

    async def _shelf(self, release_id: ReleaseId) -> Shelf:
        held = await self._laid_out(release_id)
        if release_id != self._active_id:
            self._hold(held)
        return held.shelf

    async def _laid_out(self, release_id: ReleaseId) -> Held:
        """From memory, or laid out once however many ask for it at the same time."""
        if self._served.active is not None and release_id == self._active_id:
            return self._served.active
        if (held := self._held.get(release_id)) is not None:
            return held
        if release_id not in self._coming:
            coming = asyncio.create_task(self._lay_out(release_id))
            self._coming[release_id] = coming
            coming.add_done_callback(lambda _: self._coming.pop(release_id, None))
        return await asyncio.shield(self._coming[release_id])

    async def _lay_out(self, release_id: ReleaseId) -> Held:
        written = await self._releases.written(release_id)
        shelf = await lay_out_apart(written)
        return Held(shelf=shelf, bytes=WRITTEN_TO_HELD * len(written) + shelf.layout.nbytes)

    def _has_room(self, held: Held) -> bool:
        """Whether it can be held without letting go of what somebody pinned."""
        return bool(self._held.currsize + held.bytes <= self._held.maxsize)

    def _hold(self, held: Held) -> None:
        """Hold it among the pinned ones, if there is room for it at all."""
        if held.bytes <= self._held.maxsize:
            self._held[held.id] = held
