"""Job samples: two small catalog releases that differ, files of horses, and clerks who work on them."""

import json
from asyncio import Semaphore
from collections.abc import AsyncIterator, Callable
from datetime import date, datetime, timedelta
from typing import Any, Final

from tests.matching.worlds import HERE, RIDING, boot, moved
from tests.store.samples import NOW, SHOP

from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.reading import Records
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import BootModel, CatalogRelease, Maker, MakerId, ReleaseId
from hooflast.errors import NotFound
from hooflast.jobs.match_jobs import Clerk
from hooflast.jobs.receiving import Bounds, receive_job
from hooflast.matching.served_catalog import ServedCatalog
from hooflast.matching.shelf import Shelf, lay_out
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.store import Store, TenantId
from hooflast.store.audit import Actor
from hooflast.store.match_job_values import JobAnswers, JobFormat, JobResult, JobWish, MatchJob

VELLORY: Final = MakerId("vellory")
OAK: Final = boot("vellory-oak", maker=VELLORY, intended_uses=RIDING)
KEEP_FOR: Final = timedelta(days=7)


def _release_of(model: BootModel, *, month: int) -> CatalogRelease:
    makers = {VELLORY: Maker(id=VELLORY, name="Vellory", provenance=HERE)}
    records = Records(makers=makers, boots={model.id: model}, accessories={})
    return compose_release(records, released_on=date(2026, month, 1), note="")


OLD, NEW = lay_out(_release_of(OAK, month=1)), lay_out(_release_of(moved(OAK, by_mm=-8), month=2))


class Laid(ServedCatalog):
    """Two catalog releases laid out; `gone` are served no more."""

    def __init__(self) -> None:
        self.gone: set[ReleaseId] = set()

    @property
    def active(self) -> Shelf:
        return NEW

    @property
    def published(self) -> tuple[KeptRelease, ...]:
        raise NotImplementedError

    def before(self, release_id: ReleaseId, /) -> ReleaseId | None:
        raise NotImplementedError

    async def pinned(self, release_id: str | None) -> Shelf:
        found = {shelf.release.id: shelf for shelf in (OLD, NEW)}.get(ReleaseId(release_id or ""))
        if found is None or found.release.id in self.gone:
            raise NotFound(resource="catalog release", name=release_id or "")
        return found

    async def asked_for(self, release_id: str | None) -> Shelf:
        return await self.pinned(release_id)

    def from_thread(self, release_id: str | None) -> Shelf:
        raise NotImplementedError

    async def answered_from(self, release_id: str) -> Shelf:
        return {shelf.release.id: shelf for shelf in (OLD, NEW)}[ReleaseId(release_id)]


def clerk_of(store: Store, *, clock: Callable[[], datetime], catalog: ServedCatalog | None = None, **how: Any) -> Clerk:
    plain = {
        "store": store,
        "catalog": catalog or Laid(),
        "shops": ShopShelves(store.assortments),
        "working": Semaphore(1),
        "keep_for": KEEP_FOR,
        "at_a_turn": 3,
    }
    return Clerk(clock=clock, **{**plain, **how})


def horse(place: int) -> str:
    """The horse of a line; every fifth cannot be read."""
    width = "wide" if place % 5 == 0 else 108 + place % 24
    return json.dumps({"horse": {"name": f"Sable {place}"}, "hooves": [{"limb": "RF", "width": width, "length": 128}]})


def file_of(count: int) -> bytes:
    return "".join(horse(place) + "\n" for place in range(1, count + 1)).encode()


def a_wish(**wished: Any) -> JobWish:
    plain = {
        "answers": JobAnswers.SHORT,
        "written_as": JobFormat.NDJSON,
        "catalog_release": NEW.release.id,
        "language": "en",
        "day": NOW.date(),
    }
    return JobWish(**{**plain, **wished})


async def in_pieces(body: bytes, *, size: int = 1000) -> AsyncIterator[bytes]:
    for start in range(0, len(body), size):
        yield body[start : start + size]


async def start_job(
    store: Store, count: int, *, tenant: TenantId = SHOP, now: datetime = NOW, **wished: Any
) -> MatchJob:
    return await receive_job(
        a_wish(**wished),
        in_pieces(file_of(count)),
        store=store,
        tenant=tenant,
        by=Actor(who="key:k1", at=now),
        bounds=Bounds(most_horses=10_000),
    )


async def results_of(store: Store, job: MatchJob) -> tuple[JobResult, ...]:
    """All that is answered so far."""
    found = await store.match_jobs.find(job.id, tenant=job.tenant)
    return await store.match_jobs.results(found, after=0, limit=200)
