"""Fixed catalog: the live catalog with one catalog release in the place of the active one, whatever is published."""

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.values import ReleaseId
from hooflast.matching.served_catalog import ServedCatalog
from hooflast.matching.shelf import Shelf


class FixedCatalog(ServedCatalog):
    """What a client in test mode is answered from."""

    def __init__(self, live: ServedCatalog, *, active: Shelf) -> None:
        self._live = live
        self._active = active

    @property
    def active(self) -> Shelf:
        """The fixed one."""
        return self._active

    @property
    def published(self) -> tuple[KeptRelease, ...]:
        """Every catalog release that can be pinned, newest first."""
        return self._live.published

    def before(self, release_id: ReleaseId) -> ReleaseId | None:
        """The one published for the day before that of another, if there is one. Raises NotFound."""
        return self._live.before(release_id)

    async def pinned(self, release_id: str | None) -> Shelf:
        """A published catalog release, or the fixed one. Raises NotFound, ReleaseGone."""
        return self._active if self._is_fixed(release_id) else await self._live.pinned(release_id)

    async def asked_for(self, release_id: str | None) -> Shelf:
        """The same for a question's pin. Raises InputRefused for one that is unknown, ReleaseGone."""
        return self._active if self._is_fixed(release_id) else await self._live.asked_for(release_id)

    def from_thread(self, release_id: str | None) -> Shelf:
        """The same, for a thread beside the event loop."""
        return self._active if self._is_fixed(release_id) else self._live.from_thread(release_id)

    async def answered_from(self, release_id: str) -> Shelf:
        """A catalog release that an answer was given from, withdrawn or not. Raises NotFound, ReleaseGone."""
        return await self._live.answered_from(release_id)

    def _is_fixed(self, release_id: str | None) -> bool:
        return release_id is None or release_id == self._active.release.id
