"""Processes that start at the same moment migrate once, agree on the first key, and all serve."""

import subprocess
import sys

import pytest

pytestmark = pytest.mark.full
START = """
import asyncio, sys
from datetime import UTC, datetime
from hooflast.store import TenantId, migrations, open_store

async def start(url):
    await migrations.upgrade(url)
    async with open_store(url) as store:
        await store.require_ready()
        now = datetime.now(UTC)
        await store.tenants.ensure(TenantId("local"), now=now)
        print((await store.signing_keys.ensure_first(now=now)).kid)

print("here", flush=True)
url = sys.stdin.readline().strip()
asyncio.run(start(url))
"""


def test_processes_that_start_at_once_share_one_migration_and_one_key(bare_database_url: str) -> None:
    starting = [
        subprocess.Popen(
            [sys.executable, "-c", START],
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
        )
        for _ in range(4)
    ]
    for process in starting:
        assert process.stdout
        assert process.stdout.readline() == "here\n"
    for process in starting:
        assert process.stdin
        process.stdin.write(f"{bare_database_url}\n")
        process.stdin.flush()
    said = [process.communicate(timeout=600) for process in starting]
    assert [process.returncode for process in starting] == [0, 0, 0, 0], said
    assert len({kid for kid, _ in said}) == 1
