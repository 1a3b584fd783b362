"""Served catalog: what requests are answered from: the catalog as it is now, or as it is fixed for a client."""

from abc import ABC, abstractmethod

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.values import ReleaseId
from hooflast.matching.shelf import Shelf


class ServedCatalog(ABC):
    """The catalog releases that questions are answered from."""

    @property
    @abstractmethod
    def active(self) -> Shelf:
        """The one that is served where none is pinned. Raises CatalogUnavailable."""

    @property
    @abstractmethod
    def published(self) -> tuple[KeptRelease, ...]:
        """Every catalog release that can be pinned, newest first."""

    @abstractmethod
    def before(self, release_id: ReleaseId) -> ReleaseId | None:
        """The one published for the day before that of another, if there is one. Raises NotFound."""

    @abstractmethod
    async def pinned(self, release_id: str | None) -> Shelf:
        """A published one, or the active one. Raises NotFound, ReleaseGone, CatalogUnavailable."""

    @abstractmethod
    async def asked_for(self, release_id: str | None) -> Shelf:
        """The same for a question's pin. Raises InputRefused for one that is unknown, else as `pinned` does."""

    @abstractmethod
    def from_thread(self, release_id: str | None) -> Shelf:
        """What `asked_for` gives, for a thread beside the event loop."""

    @abstractmethod
    async def answered_from(self, release_id: str) -> Shelf:
        """One that an answer was given from, withdrawn or not. Raises NotFound, ReleaseGone."""
