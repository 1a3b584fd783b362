"""Match jobs: worked on beside requests, a few horses at a turn, by as many processes as there are.

A turn is taken under a lease. What it brings and how far the job has come are kept in one transaction, if the lease
still stands; then the job goes to the end of the row. A process that is killed leaves a lease that ends, and another
goes on at the next line. Live requests are let in between any two horses.
"""

import asyncio
from asyncio import Semaphore
from collections.abc import AsyncIterator, Callable
from contextlib import asynccontextmanager
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Final

import structlog

from hooflast.catalog.errors import ReleaseGone
from hooflast.catalog.values import ReleaseId
from hooflast.errors import CatalogUnavailable, HooflastError, NotFound
from hooflast.jobs.answering_lines import Bench, Selling
from hooflast.matching.question import MatchQuestion
from hooflast.matching.served_catalog import ServedCatalog
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.store import Store
from hooflast.store.audit import Actor
from hooflast.store.match_job_values import JobFailure, JobId, JobResult, MatchJob, Turn, TurnTask
from hooflast.texts import load_texts

LEASE: Final = timedelta(seconds=60)
RENEW_AFTER: Final = LEASE / 3
AT_A_TURN: Final = 25
"""Horses that are answered at one turn."""
MOST_ATTEMPTS: Final = 5
"""How many turns may end with their process before a job is given up."""
ERASER: Final = "service"
"""Who the audit log says erased a job whose time was over."""

log = structlog.stdlib.get_logger("hooflast.jobs")


@dataclass(frozen=True, slots=True, kw_only=True)
class Clerk:
    """What jobs are worked on with. `working` are the turns in which threads work answers out."""

    store: Store
    catalog: ServedCatalog
    shops: ShopShelves
    working: Semaphore
    clock: Callable[[], datetime]
    keep_for: timedelta
    at_a_turn: int = AT_A_TURN
    most_attempts: int = MOST_ATTEMPTS
    _wanted: asyncio.Event = field(default_factory=asyncio.Event)

    def wake(self) -> None:
        """There is work: look at once."""
        self._wanted.set()

    async def rest(self, seconds: float) -> None:
        """Wait so long, or until somebody wakes us."""
        try:
            async with asyncio.timeout(seconds):
                await self._wanted.wait()
        except TimeoutError:
            return
        finally:
            self._wanted.clear()

    async def take_turn(self, *, only: JobId | None = None) -> bool:
        """Do what is due next; False if nothing was. A turn that is broken off is given back. Raises HooflastError.

        One that fails as nobody foresaw is held until its lease ends, and counts as if its process had been killed.
        """
        turns = self.store.match_job_turns
        if not await turns.has_due(now=self.clock()):
            return False
        turn = await turns.take(now=self.clock(), lease=LEASE, only=only)
        if turn is None:
            return False
        try:
            await self._do(turn)
        except NotFound:
            log.info("match job gone", job=turn.job)
        except (HooflastError, asyncio.CancelledError):
            await asyncio.shield(turns.give_back(turn, now=self.clock()))
            raise
        except Exception as error:
            log.error("match job turn failed", job=turn.job, exc_info=error)
        return True

    async def _do(self, turn: Turn) -> None:
        turns = self.store.match_job_turns
        if turn.task is TurnTask.ERASE:
            await turns.erase(turn, by=Actor(who=ERASER, at=self.clock()))
        elif turn.attempts >= self.most_attempts:
            await self._fail(turn, JobFailure.GIVEN_UP)
        else:
            await self._answer(turn)

    async def _answer(self, turn: Turn) -> None:
        job = await self.store.match_job_turns.start(turn, now=self.clock())
        try:
            bench = await self._bench(job)
        except (ReleaseGone, NotFound):
            await self._fail(turn, JobFailure.RELEASE_GONE)
            return
        results = await self._results(turn, bench)
        if results is None:
            return
        now = self.clock()
        kept = await self.store.match_job_turns.write(turn, results, job=job, keep_for=self.keep_for, now=now)
        if kept is not None and kept.state.is_over:
            log.info("match job done", job=job.id, horses=job.given.horses, refused=kept.refused)

    async def _results(self, turn: Turn, bench: Bench) -> list[JobResult] | None:
        """The answers to the next horses; None if the turn was lost meanwhile, as it is to a cancelled job."""
        renewed = self.clock()
        results: list[JobResult] = []
        for line in await self.store.match_jobs.lines(bench.job, limit=self.at_a_turn):
            if self.clock() - renewed > RENEW_AFTER:
                renewed = self.clock()
                if not await self.store.match_job_turns.renew(turn, until=renewed + LEASE):
                    return None
            async with self.working:
                results.append(await asyncio.to_thread(bench.answer, line))
        return results

    async def _bench(self, job: MatchJob) -> Bench:
        """Raises ReleaseGone, NotFound, CatalogUnavailable, StoreError."""
        wish = job.wish
        older = None if wish.compared_with is None else await self._shelf(wish.compared_with, job=job)
        return Bench(
            job=job,
            shelf=await self._shelf(wish.catalog_release, job=job),
            older=older,
            selling=self._selling(job),
            texts=load_texts(wish.language),
            key=await self.store.signing_keys.ensure_first(now=self.clock()) if wish.has_receipts else None,
        )

    def _selling(self, job: MatchJob) -> Selling:
        """What the assortment that a horse names has of a shelf, for the thread that answers the horse."""
        loop = asyncio.get_running_loop()

        def selling(question: MatchQuestion, shelf: Shelf) -> tuple[MatchQuestion, Shelf]:
            asking = self.shops.for_question(question, shelf, tenant=job.tenant)
            return asyncio.run_coroutine_threadsafe(asking, loop).result()

        return selling

    async def _shelf(self, release: ReleaseId, *, job: MatchJob) -> Shelf:
        if job.wish.is_fixed:
            return await self.catalog.answered_from(release)
        return await self.catalog.pinned(release)

    async def _fail(self, turn: Turn, failure: JobFailure) -> None:
        log.warning("match job failed", job=turn.job, failure=failure.value)
        await self.store.match_job_turns.fail(turn, failure, keep_for=self.keep_for, now=self.clock())


@asynccontextmanager
async def working_on_jobs(clerk: Clerk, *, every_seconds: float) -> AsyncIterator[None]:
    """Work on jobs in the background, looking every so many seconds what is due, until the block ends."""
    work = asyncio.create_task(_work(clerk, every_seconds=every_seconds))
    try:
        yield
    finally:
        work.cancel()
        await asyncio.gather(work, return_exceptions=True)


async def _work(clerk: Clerk, *, every_seconds: float) -> None:
    while True:
        try:
            while await clerk.take_turn():
                pass
        except CatalogUnavailable as error:
            log.info("match jobs wait", reason=str(error))
        except HooflastError as error:
            log.warning("match jobs wait", reason=str(error))
        except Exception as error:
            log.error("match jobs wait", exc_info=error)
        await clerk.rest(every_seconds)
