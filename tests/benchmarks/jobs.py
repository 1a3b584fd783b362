"""A match job of 10,000 horses: what it takes of memory and time, and what it leaves live matching.

The service runs in a process of its own on the demo catalog. A job of a tenth as many horses comes first, so that
everything is laid out; then the memory that the process takes at most while the large one is handed over, answered and
read, against what it took before. Live matches are asked by one connection, one after the other, before the job and
while it is worked on. (Linux.)
"""

import json
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from statistics import median, quantiles
from time import perf_counter, sleep
from typing import Any, Final

import httpx
import numpy as np
from tests.api.processes import served

from hooflast.settings import Settings

HORSES: Final = 10_000
LIVE_SECONDS: Final = 10.0
LOOK_SECONDS: Final = 0.2
NDJSON: Final = {"content-type": "application/x-ndjson"}


def horses(count: int, *, seed: int) -> Iterator[bytes]:
    """Horses with two hooves each, to half a millimetre, drawn evenly."""
    drawn = np.random.default_rng(seed)
    for number in range(count):
        width = round(float(drawn.uniform(95, 150)) * 2) / 2
        hooves = [{"limb": limb, "width": width, "length": width + 3} for limb in ("LF", "RF")]
        yield json.dumps({"horse": {"name": f"Sable {number}"}, "hooves": hooves, "uses": ["hacking"]}).encode() + b"\n"


def memory_mb(pid: int, *, name: str) -> float:
    """`VmRSS`, what the process takes now, or `VmHWM`, the most it took since that was last reset."""
    lines = Path(f"/proc/{pid}/status").read_text("ascii").splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith(name)) / 1024


def forget_peak(pid: int) -> None:
    Path(f"/proc/{pid}/clear_refs").write_text("5", "ascii")


def job_of(client: httpx.Client, count: int, *, answer: str, seed: int) -> Any:
    sent = client.post("/v1/match-jobs", params={"answer": answer}, content=horses(count, seed=seed), headers=NDJSON)
    assert sent.status_code == 201, sent.text
    return sent.json()


def is_over(client: httpx.Client, job: Any) -> bool:
    return client.get(f"/v1/match-jobs/{job['id']}").json()["state"] not in ("queued", "running")


def read(client: httpx.Client, job: Any) -> tuple[int, int]:
    """How many results there are, and their bytes."""
    lines = size = 0
    with client.stream("GET", job["results"]) as answer:
        for piece in answer.iter_raw():
            lines, size = lines + piece.count(b"\n"), size + len(piece)
    return lines, size


def live(client: httpx.Client, *, seconds: float, seed: int) -> list[float]:
    """How long live matches take, one after the other."""
    took, ends = [], perf_counter() + seconds
    for body in horses(10_000_000, seed=seed):
        begun = perf_counter()
        if begun >= ends:
            break
        client.post("/v1/matches", content=body, headers={"content-type": "application/json"}).raise_for_status()
        took.append(perf_counter() - begun)
    return took


def told(took: list[float]) -> str:
    return f"median {median(took) * 1000:.1f} ms, p99 {quantiles(took, n=100)[-1] * 1000:.1f} ms, {len(took)} asked"


def main(count: int = HORSES) -> None:
    with tempfile.TemporaryDirectory() as folder:
        settings = Settings(database_url=f"sqlite+aiosqlite:///{folder}/hooflast.sqlite3", port=0)
        with (
            served(settings, log=Path(folder) / "log") as service,
            httpx.Client(base_url=f"http://127.0.0.1:{service.port}", timeout=120) as client,
        ):
            pid = service.process.pid
            for answer in ("short", "full"):
                first = job_of(client, count // 10, answer=answer, seed=1)
                while not is_over(client, first):
                    sleep(LOOK_SECONDS)
                read(client, first)
                alone = live(client, seconds=LIVE_SECONDS, seed=2)
                before = memory_mb(pid, name="VmRSS")
                forget_peak(pid)
                begun = perf_counter()
                job = job_of(client, count, answer=answer, seed=3)
                handed = perf_counter() - begun
                beside = live(client, seconds=LIVE_SECONDS, seed=4)
                while not is_over(client, job):
                    sleep(LOOK_SECONDS)
                took = perf_counter() - begun
                lines, size = read(client, job)
                peak = memory_mb(pid, name="VmHWM")
                print(f"{answer}: {count} horses handed over in {handed:.1f} s, answered in {took:.0f} s")
                print(
                    f"  {lines} results of {size / 2**20:.1f} MB; memory {before:.0f} MB before, {peak:.0f} MB at most"
                )
                print(f"  live matches alone: {told(alone)}")
                print(f"  beside the job:     {told(beside)}")


if __name__ == "__main__":
    main(*map(int, sys.argv[1:]))
