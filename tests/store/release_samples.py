"""Release samples: small catalog releases to keep, as the tests of their store need them."""

from datetime import date, timedelta
from typing import Final

from tests.store.samples import NOW

from hooflast.catalog.lifecycle import Signature
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release, write_release
from hooflast.catalog.values import CatalogRelease, Maker, MakerId, Provenance
from hooflast.store import Store

HERE: Final = Provenance(plugin="demo", source="all.json", retrieved_on=date(2026, 3, 1), sha256="0" * 64)
EDITOR: Final = Signature(by="mossgate", at=NOW, note="as agreed")
BUYER: Final = Signature(by="tarn-and-tether", at=NOW + timedelta(hours=1))


def a_release(day: int = 1, *, note: str = "Spring.", provenance: Provenance = HERE) -> CatalogRelease:
    maker = Maker(id=MakerId("vellory"), name="Vellory", provenance=provenance)
    records = Records(makers={maker.id: maker}, boots={}, accessories={})
    return compose_release(records, released_on=date(2026, 3, day), note=note)


async def publish(store: Store, release: CatalogRelease) -> None:
    """Take a catalog release all the way."""
    await stage_and_check(store, release)
    await store.releases.publish(release.id, signature=BUYER)


async def stage_and_check(store: Store, release: CatalogRelease) -> None:
    await store.releases.stage(write_release(release), signature=EDITOR)
    await store.releases.mark_checked(release.id, report=b"{}", signature=EDITOR)
