"""Killed at any statement of a publication, the store holds the old catalog release or the new one, never a mix."""

import json
import subprocess
import sys

import pytest
from tests import databases
from tests.project.checkout import ROOT
from tests.store.release_samples import a_release, publish, stage_and_check

from hooflast.store import open_store

OLD, NEW = a_release(1), a_release(2)
STATEMENTS = 8
"""A publication takes more statements than this."""


async def _prepared(url: str) -> tuple[dict[str, int], int]:
    """The steps taken so far and the revision, with the old one published and the new one ready."""
    async with open_store(url) as store:
        await publish(store, OLD)
        await stage_and_check(store, NEW)
        steps = {str(kept.id): len(kept.steps) for kept in await store.releases.page()}
        return steps, (await store.releases.active()).revision


@pytest.mark.skipif("sys.platform == 'win32'", reason="it has no fork")
def test_killed_at_any_statement_the_store_holds_the_old_or_the_new_one_whole(database_url: str) -> None:
    steps, revision = databases.complete(_prepared(database_url))
    done = subprocess.run(
        [sys.executable, "-m", "tests.store.killed_publishing", database_url, NEW.id],
        cwd=ROOT, capture_output=True, text=True, check=True,
    )  # fmt: skip
    seen = [json.loads(line) for line in done.stdout.splitlines()]
    *killed, last = seen
    assert len(killed) > 2 * STATEMENTS
    assert all(attempt["killed"] for attempt in killed)
    old = {
        "active": OLD.id,
        "revision": revision,
        "kept": {OLD.id: ["published", True, steps[OLD.id]], NEW.id: ["checked", False, steps[NEW.id]]},
    }
    new = {
        "active": NEW.id,
        "revision": revision + 1,
        "kept": {OLD.id: ["published", False, steps[OLD.id]], NEW.id: ["published", True, steps[NEW.id] + 1]},
    }
    for attempt in seen:
        assert set(attempt.pop("whole")) == {OLD.id, NEW.id}
        was_killed = attempt.pop("killed")
        assert attempt == (old if was_killed else new)
    assert last == new
