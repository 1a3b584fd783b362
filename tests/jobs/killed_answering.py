"""Killed answering: works on a match job and then tells hooks of its end, killed one statement later each time.

`python -m tests.jobs.killed_answering URL JOB` forks a process for each attempt, which kills itself (SIGKILL) before or
after one of its statements, and prints after each what the job and its hooks have then, as a line of JSON. Each of the
two ends with the first attempt that found nothing left to do.
"""

import asyncio
import json
import os
import signal
import sys
from datetime import datetime, timedelta
from typing import Protocol

import structlog
from sqlalchemy import event
from tests.jobs.job_samples import clerk_of
from tests.store.samples import NOW, SHOP

from hooflast.jobs.match_jobs import LEASE
from hooflast.jobs.telling import tell_hooks
from hooflast.store import Store
from hooflast.store.engine import make_engine
from hooflast.store.match_job_values import JobId


class Work(Protocol):
    """What is killed again and again."""

    async def __call__(self, store: Store, *, now: datetime) -> None: ...


async def answer(store: Store, *, now: datetime) -> None:
    """Take turns while there are any."""
    clerk = clerk_of(store, clock=lambda: now, at_a_turn=1, most_attempts=10_000)
    while await clerk.take_turn():
        pass


async def tell(store: Store, *, now: datetime) -> None:
    """Tell hooks what there is to tell, and once more."""
    for _ in range(2):
        await tell_hooks(store, tenant=SHOP, now=now)


async def attempt(url: str, work: Work, *, killed_at: int) -> None:
    """Die at the event of that number: the beginnings and ends of each statement, and the commits."""
    engine = make_engine(url)
    passed = 0

    def pass_by(*_: object) -> None:
        nonlocal passed
        passed += 1
        if passed == killed_at:
            os.kill(os.getpid(), signal.SIGKILL)

    for name in ("before_cursor_execute", "after_cursor_execute", "commit"):
        event.listen(engine.sync_engine, name, pass_by)
    async with Store(engine) as store:
        await work(store, now=NOW + killed_at * (LEASE + timedelta(seconds=1)))


async def look(url: str, job_id: JobId) -> dict[str, object]:
    """What the job has, and what its client's hooks are to be told of it."""
    async with Store(make_engine(url)) as store:
        job = await store.match_jobs.find(job_id, tenant=SHOP)
        found = await store.match_jobs.results(job, after=0, limit=200)
        ends = [end.job for end in await store.match_job_ends.after(0, tenant=SHOP)]
        (hook,) = await store.hooks.all(tenant=SHOP)
        told = await store.hook_deliveries.page(hook=hook, limit=200)
    return {
        "ends": ends.count(job_id),
        "told": [one.event.body.decode() for one in told if job_id in one.event.body.decode()],
        "state": job.state.value,
        "counted": job.answered + job.refused,
        "answered_to": job.answered_to,
        "bodies": [one.body.decode() for one in found],
    }


def main(url: str, job_id: JobId) -> None:
    """One attempt after the other."""
    for work in (answer, tell):
        killed_at = 0
        was_killed = True
        while was_killed:
            killed_at += 1
            child = os.fork()
            if child == 0:
                asyncio.run(attempt(url, work, killed_at=killed_at))
                os._exit(0)
            was_killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
            found = {"at": work.__name__, "killed": was_killed, **asyncio.run(look(url, job_id))}
            sys.stdout.write(json.dumps(found) + "\n")
            sys.stdout.flush()


if __name__ == "__main__":
    structlog.configure(logger_factory=structlog.PrintLoggerFactory(sys.stderr))
    main(sys.argv[1], JobId(sys.argv[2]))
