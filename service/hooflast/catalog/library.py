"""Library: the catalog releases this process serves, and which of them is active."""

from collections.abc import Sequence
from dataclasses import dataclass

from hooflast.catalog.values import CatalogRelease, ReleaseId
from hooflast.errors import CatalogUnavailable, NotFound


@dataclass(frozen=True, slots=True, kw_only=True)
class Library:
    """Catalog releases, oldest first. The active one is the last; a call may pin any other by its id."""

    releases: Sequence[CatalogRelease]

    @property
    def active(self) -> CatalogRelease:
        """The catalog release served when none is pinned. Raises CatalogUnavailable if there is none."""
        if not self.releases:
            raise CatalogUnavailable(reason="no catalog plugin offers one")
        return self.releases[-1]

    def release(self, release_id: str) -> CatalogRelease:
        """The catalog release called `release_id`. Raises NotFound."""
        for release in self.releases:
            if release.id == ReleaseId(release_id):
                return release
        raise NotFound(resource="catalog release", name=release_id)
