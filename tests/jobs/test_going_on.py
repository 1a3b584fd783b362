"""What goes on in the background goes on, also after a fault of ours that nobody foresaw."""

import asyncio
from typing import Any

import pytest
from tests.jobs.conftest import HandClock
from tests.jobs.job_samples import clerk_of, start_job
from tests.store.samples import SHOP

from hooflast.jobs.delivering import Postman, Round, delivering
from hooflast.jobs.match_jobs import working_on_jobs
from hooflast.store import Store
from hooflast.store.match_job_turns import MatchJobTurns

pytestmark = pytest.mark.anyio
LONG_ENOUGH_SECONDS = 60


async def test_match_jobs_are_worked_on(store: Store, clock: HandClock, monkeypatch: pytest.MonkeyPatch) -> None:
    has_due = MatchJobTurns.has_due

    async def fails_once(*_: Any, **__: Any) -> bool:
        monkeypatch.setattr(MatchJobTurns, "has_due", has_due)
        raise ZeroDivisionError

    monkeypatch.setattr(MatchJobTurns, "has_due", fails_once)
    job = await start_job(store, 2)
    async with asyncio.timeout(LONG_ENOUGH_SECONDS), working_on_jobs(clerk_of(store, clock=clock), every_seconds=0):
        while not (await store.match_jobs.find(job.id, tenant=SHOP)).state.is_over:
            pass


async def test_hooks_are_told(postman: Postman, monkeypatch: pytest.MonkeyPatch) -> None:
    look, looked_again = Round.look, asyncio.Event()

    async def looks(going: Round) -> int:
        looked_again.set()
        return await look(going)

    async def fails_once(_: Round) -> int:
        monkeypatch.setattr(Round, "look", looks)
        raise ZeroDivisionError

    monkeypatch.setattr(Round, "look", fails_once)
    async with asyncio.timeout(LONG_ENOUGH_SECONDS), delivering(postman, every_seconds=0):
        await looked_again.wait()
