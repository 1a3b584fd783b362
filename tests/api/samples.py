"""A small invented catalog of two editions, and the service over it."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import replace
from datetime import UTC, date, datetime
from typing import Any, Final

import httpx
from tests.matching.worlds import HERE, boot

from hooflast.api.app import create_app
from hooflast.api.signing import Clock
from hooflast.catalog.library import Library
from hooflast.catalog.lifecycle import ReleaseStatus, Signature, WhenActive
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release, release_id
from hooflast.catalog.values import BootId, CatalogRelease, Maker, MakerId
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.hoof import AnimalType
from hooflast.matching.publishing import publish_new, sealing
from hooflast.settings import Settings
from hooflast.store import open_store

NOW: Final = datetime(2026, 5, 1, 12, tzinfo=UTC)
MAKERS: Final = {
    MakerId(name): Maker(id=MakerId(name), name=name.title(), provenance=HERE) for name in ("ombrick", "vellory")
}
BOOTS: Final = {
    model.id: model
    for model in (
        boot(
            f"{maker}-{name}",
            maker=MakerId(maker),
            closure=list(Closure)[place % len(Closure)],
            intended_uses=frozenset({list(IntendedUse)[place % 5], IntendedUse.ROAD}),
            animal_types=frozenset({list(AnimalType)[place % 3], AnimalType.HORSE}),
        )
        for maker in MAKERS
        for place, name in enumerate(
            ("alder", "birch", "cedar", "elm", "fir", "hazel", "larch", "maple", "oak", "rowan")
        )
    )
}
OLDER: Final = compose_release(
    Records(makers=MAKERS, boots=dict(list(BOOTS.items())[:12]), accessories={}),
    released_on=date(2025, 3, 1),
    note="The first.",
)
NEWER: Final = compose_release(
    Records(
        makers=MAKERS,
        boots={**BOOTS, BootId("ombrick-alder"): replace(BOOTS[BootId("ombrick-alder")], note="New.")},
        accessories={},
    ),
    released_on=date(2026, 3, 1),
    note="The second.",
)
LIBRARY: Final = Library(releases=(OLDER, NEWER))
HORSE: Final[dict[str, Any]] = {
    "horse": {"name": "Bramble"},
    "hooves": [{"limb": "LF", "width": 124, "length": 128}, {"limb": "RF", "width": "4 7/8 in", "length": "5 in"}],
    "uses": ["road"],
}


def with_own_id(release: CatalogRelease, **changes: Any) -> CatalogRelease:
    """A catalog release with something else in it, and the id that belongs to that."""
    changed = replace(release, **changes)
    return replace(changed, id=release_id(changed))


async def put_out(library: Library, database_url: str) -> None:
    """Publish a library; what else was published is withdrawn and its content erased."""
    signature = Signature(by="tarn-and-tether", at=NOW)
    async with open_store(database_url) as store:
        make_seal = await sealing(store, at=NOW)
        await publish_new(library.releases, releases=store.releases, signature=signature, make_seal=make_seal)
        for kept in await store.releases.page(status=ReleaseStatus.PUBLISHED):
            if kept.id not in {release.id for release in library.releases}:
                await store.releases.withdraw(kept.id, signature=signature, when_active=WhenActive.SERVE_NONE)
                await store.releases.purge(kept.id, signature=signature)


@asynccontextmanager
async def serving(
    database_url: str,
    *,
    library: Library | None = LIBRARY,
    clock: Clock = lambda: NOW,
    **settings: Any,
) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service, in this process, with a library published and nothing else."""
    if library is not None:
        await put_out(library, database_url)
    app = create_app(Settings(database_url=database_url, **settings), store=open_store(database_url), clock=clock)
    transport = httpx.ASGITransport(app, raise_app_exceptions=True)  # type: ignore[arg-type]
    async with app.lifespan(), httpx.AsyncClient(transport=transport, base_url="http://hooflast.test") as client:
        yield client
