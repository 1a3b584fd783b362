"""Killed answering: works on a match job again and again, killed one statement later each time.

`python -m tests.jobs.killed_answering URL JOB` forks a process for each attempt, which kills itself (SIGKILL) before or
after one of its statements, and prints after each what the job has then, as a line of JSON. It ends with the first
attempt that found nothing left to do.
"""

import asyncio
import json
import os
import signal
import sys
from datetime import timedelta

import structlog
from sqlalchemy import event
from tests.jobs.job_samples import clerk_of
from tests.store.samples import NOW, SHOP

from hooflast.jobs.match_jobs import LEASE
from hooflast.store import Store
from hooflast.store.engine import make_engine
from hooflast.store.match_job_values import JobId


async def answer(url: str, *, killed_at: int) -> None:
    """Take turns while there are any; die at the event of that number: the ends of each statement, and the commits."""
    engine = make_engine(url)
    passed = 0

    def pass_by(*_: object) -> None:
        nonlocal passed
        passed += 1
        if passed == killed_at:
            os.kill(os.getpid(), signal.SIGKILL)

    for name in ("before_cursor_execute", "after_cursor_execute", "commit"):
        event.listen(engine.sync_engine, name, pass_by)
    now = NOW + killed_at * (LEASE + timedelta(seconds=1))
    async with Store(engine) as store:
        clerk = clerk_of(store, clock=lambda: now, at_a_turn=1, most_attempts=10_000)
        while await clerk.take_turn():
            pass


async def look(url: str, job_id: JobId) -> dict[str, object]:
    """What the job has."""
    async with Store(make_engine(url)) as store:
        job = await store.match_jobs.find(job_id, tenant=SHOP)
        found = await store.match_jobs.results(job, after=0, limit=200)
    return {
        "state": job.state.value,
        "counted": job.answered + job.refused,
        "answered_to": job.answered_to,
        "bodies": [one.body.decode() for one in found],
    }


def main(url: str, job_id: JobId) -> None:
    """One attempt after the other."""
    killed_at = 0
    was_killed = True
    while was_killed:
        killed_at += 1
        child = os.fork()
        if child == 0:
            asyncio.run(answer(url, killed_at=killed_at))
            os._exit(0)
        was_killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
        sys.stdout.write(json.dumps({"killed": was_killed, **asyncio.run(look(url, job_id))}) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    structlog.configure(logger_factory=structlog.PrintLoggerFactory(sys.stderr))
    main(sys.argv[1], JobId(sys.argv[2]))
