"""Killed at any statement, a job has the answers to its first horses, each once; its end is the same, and told once."""

import json
import subprocess
import sys
from dataclasses import replace

import pytest
from tests import databases
from tests.jobs.job_samples import clerk_of, results_of, start_job
from tests.project.checkout import ROOT
from tests.store.hook_samples import a_hook
from tests.store.samples import NOW, SHOP

from hooflast.store import open_store

HORSES = 4


async def _prepared(url: str) -> tuple[str, list[str]]:
    """A job to be worked on, and what one like it answered undisturbed."""
    async with open_store(url) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        await store.hooks.add(replace(a_hook(SHOP), events=("match_job.done",)))
        done = await start_job(store, HORSES)
        clerk = clerk_of(store, clock=lambda: NOW)
        while await clerk.take_turn():
            pass
        answers = [one.body.decode() for one in await results_of(store, done)]
        return (await start_job(store, HORSES)).id, answers


@pytest.mark.full
@pytest.mark.skipif("sys.platform == 'win32'", reason="it has no fork")
def test_killed_at_any_statement_no_line_is_answered_twice_or_lost_and_the_end_is_told_once(database_url: str) -> None:
    job, answers = databases.complete(_prepared(database_url))
    done = subprocess.run(
        [sys.executable, "-m", "tests.jobs.killed_answering", database_url, job],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    seen = [json.loads(line) for line in done.stdout.splitlines()]
    *killed, last = [attempt for attempt in seen if attempt["at"] == "answer"]
    assert len(killed) > 20
    assert len({attempt["counted"] for attempt in killed}) > 2
    for attempt in seen:
        assert attempt["bodies"] == answers[: len(attempt["bodies"])]
        assert attempt["counted"] == attempt["answered_to"] == len(attempt["bodies"])
        assert attempt["ends"] == (attempt["state"] == "done")
    assert (last["killed"], last["state"], last["bodies"]) == (False, "done", answers)

    *killed, last = [attempt for attempt in seen if attempt["at"] == "tell"]
    assert {len(attempt["told"]) for attempt in killed} == {0, 1}, "killed before, and after"
    assert [json.loads(body)["type"] for body in last["told"]] == ["match_job.done"]
