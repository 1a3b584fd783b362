"""Receiving: the input of a match job, kept horse by horse as it comes; an input that breaks off leaves nothing."""

import asyncio
from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Final

from hooflast.exchange.job_lines import JobLines
from hooflast.store import Store, TenantId
from hooflast.store.audit import Actor
from hooflast.store.match_job_values import JobId, JobInput, JobLine, JobWish, MatchJob

LONGEST_HORSE: Final = 65_536
"""How many bytes one horse may take."""
KEPT_TOGETHER: Final = 200
"""How many horses are kept in one transaction."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bounds:
    """How much the input of a job may hold."""

    most_horses: int
    longest_horse: int = LONGEST_HORSE


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenIn:
    """An input that has come whole; its job does not count yet."""

    job: JobId
    given: JobInput


async def receive_job(
    wish: JobWish, pieces: AsyncIterator[bytes], *, store: Store, tenant: TenantId, by: Actor, bounds: Bounds
) -> MatchJob:
    """Keep an input as it comes, and let its job be worked on. Raises as `take_in` does."""
    taken = await take_in(wish, pieces, store=store, tenant=tenant, now=by.at, bounds=bounds)
    return await store.match_jobs.received(taken.job, taken.given, tenant=tenant, by=by)


async def take_in(
    wish: JobWish, pieces: AsyncIterator[bytes], *, store: Store, tenant: TenantId, now: datetime, bounds: Bounds
) -> TakenIn:
    """Keep an input as it comes.

    Raises InputRefused where there is no horse, too many, or a heading of no use; TooManyJobs, StoreError, and whatever
    `pieces` raises: then nothing is kept.
    """
    jobs = store.match_jobs
    lines = JobLines(written_as=wish.written_as, longest=bounds.longest_horse, most=bounds.most_horses)
    digest, size = sha256(), 0
    waiting: list[JobLine] = []
    job_id = await jobs.begin(wish, tenant=tenant, now=now)
    try:
        async for piece in pieces:
            digest.update(piece)
            size += len(piece)
            waiting += lines.take(piece)
            while len(waiting) >= KEPT_TOGETHER:
                await jobs.add(job_id, waiting[:KEPT_TOGETHER], tenant=tenant)
                del waiting[:KEPT_TOGETHER]
        await jobs.add(job_id, [*waiting, *lines.end()], tenant=tenant)
    except BaseException:
        await asyncio.shield(jobs.abandon(job_id, tenant=tenant))
        raise
    given = JobInput(horses=lines.horses, bytes=size, digest=digest.hexdigest(), heading=lines.heading)
    return TakenIn(job=job_id, given=given)
