"""Killed publishing: publishes a catalog release again and again, killed one statement later each time.

`python -m tests.store.killed_publishing URL RELEASE` forks a process for each attempt, which kills itself (SIGKILL)
before or after one of its statements, and prints after each what the database then holds, as a line of JSON. It ends
with the first attempt that was killed too late.
"""

import asyncio
import json
import os
import signal
import sys

from sqlalchemy import event
from tests.store.release_samples import BUYER

from hooflast.catalog.values import ReleaseId
from hooflast.store import Store
from hooflast.store.engine import make_engine


async def publish(url: str, release: ReleaseId, *, killed_at: int) -> None:
    """Publish; die at the event of that number: the start and the end of each statement, and before the commit."""
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
        await store.releases.publish(release, signature=BUYER)


async def look(url: str) -> dict[str, object]:
    """What the database holds."""
    async with Store(make_engine(url)) as store:
        active = await store.releases.active()
        kept = {
            one.id: [one.status.value, one.is_active, len(one.steps)] for one in await store.releases.page(limit=10)
        }
        whole = [(await store.releases.read(one)).id for one in map(ReleaseId, kept)]
    return {"active": active.release, "revision": active.revision, "kept": kept, "whole": whole}


def main(url: str, release: ReleaseId) -> None:
    """One attempt after the other."""
    killed_at = 0
    was_killed = True
    while was_killed:
        killed_at += 1
        child = os.fork()
        if child == 0:
            asyncio.run(publish(url, release, killed_at=killed_at))
            os._exit(0)
        was_killed = os.WIFSIGNALED(os.waitpid(child, 0)[1])
        sys.stdout.write(json.dumps({"killed": was_killed, **asyncio.run(look(url))}) + "\n")
        sys.stdout.flush()


if __name__ == "__main__":
    main(sys.argv[1], ReleaseId(sys.argv[2]))
