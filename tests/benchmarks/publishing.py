"""Matching while a large catalog release of 5,000 boot models × 12 sizes is staged, checked, published and taken up.

One connection asks without a pause about hooves never asked about before, all on one pinned catalog release of 300 boot
models, so that a request is the same work throughout; another process publishes with the command line, each step a
command of its own. A stage is told against the time before it, round by round. Beside the rate, which also falls with
whatever else the machine does, the service's processor time a request is told; the processes that it starts for laying
out are told apart. (Linux.)
"""

import asyncio
import os
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import timedelta
from itertools import count
from math import inf
from pathlib import Path
from statistics import median
from time import perf_counter, sleep
from typing import Any, Final, NamedTuple

import numpy as np
from tests.api.processes import Served, served, whole_answer
from tests.benchmarks.http import ASKED, cpu_seconds, never_asked
from tests.benchmarks.releases import BOOTS, SIGNATURE, SIZES, files
from tests.store.samples import NOW

from hooflast.catalog.reading import read_files
from hooflast.catalog.release import compose_release
from hooflast.catalog.values import CatalogRelease
from hooflast.matching.publishing import publish_new
from hooflast.settings import LogFormat, PluginUse, Settings, as_environ
from hooflast.store import migrations, open_store

MATCHED, SECONDS, WARM_SECONDS = 300, 15.0, 5.0
STAGES: Final = ("before", "staging", "checking", "publishing", "taking up", "after")
DURING: Final = STAGES[1:-1]
PATIENCE_SECONDS: Final = 300.0
COMMAND: Final = "from hooflast.cli.command_line import main; main()"
TAKEN_UP: Final = (b'"event":"catalog"', b'"event": "catalog"')


class Request(NamedTuple):
    """When one ended, how long it took, and its status; 0 where there was no answer."""

    ended: float
    seconds: float
    status: int


class Moment(NamedTuple):
    """A time, and the processor time spent by then: the service's own, and that of what it started and has ended."""

    at: float
    own: float
    started: float

    @classmethod
    def now(cls, process: int) -> "Moment":
        fields = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()
        children = sum(map(int, fields[13:15])) / os.sysconf("SC_CLK_TCK")
        return cls(perf_counter(), cpu_seconds(process), children)


class Load(NamedTuple):
    """What one stage, or several together, came to."""

    seconds: float
    rate: float
    cpu_ms: float
    started: float
    middle_ms: float
    late_ms: float
    latest_ms: float
    failed: int


def the_matched() -> CatalogRelease:
    """The catalog release that all requests pin."""
    records = read_files(files(wider_mm=0, boots=MATCHED), plugin="benchmark")
    return compose_release(records, released_on=NOW.date(), note="")


async def prepare(url: str, matched: CatalogRelease) -> None:
    await migrations.upgrade(url)
    async with open_store(url) as store:
        await publish_new([matched], releases=store.releases, signature=SIGNATURE)


@contextmanager
def asking(service: Served, requests: Iterator[bytes]) -> Iterator[list[Request]]:
    """Ask on one connection, each time as soon as the last was answered, until the block ends."""
    done: list[Request] = []
    over = threading.Event()

    def ask() -> None:
        connection = service.connect()
        while not over.is_set():
            began = perf_counter()
            try:
                connection.sendall(next(requests))
                status = whole_answer(connection)[0]
            except OSError:
                connection, status = service.connect(), 0
            ended = perf_counter()
            done.append(Request(ended, ended - began, status))

    asker = threading.Thread(target=ask)
    asker.start()
    try:
        yield done
    finally:
        over.set()
        asker.join()


def run(step: str, *given: str, environ: dict[str, str]) -> None:
    """One step by the command line, in a process of its own."""
    subprocess.run(
        [sys.executable, "-c", COMMAND, "catalog", step, *given],
        env=environ,
        check=True,
        stdout=subprocess.DEVNULL,
        timeout=PATIENCE_SECONDS,
    )


def wait_until_taken_up(log: Path, *, beyond: int) -> None:
    """Until the service has told, past a place in its log, that it serves what was published."""
    ends = perf_counter() + PATIENCE_SECONDS
    while perf_counter() < ends:
        with log.open("rb") as lines:
            lines.seek(beyond)
            written = lines.read()
        if any(sign in written for sign in TAKEN_UP):
            return
        beyond += max(0, len(written) - max(map(len, TAKEN_UP)))
        sleep(0.05)
    sys.exit("what was published was not taken up")


def publish(folder: Path, number: int, *, service: Served, environ: dict[str, str]) -> list[Moment]:
    """One round: the moments at which its stages begin, and at which the last one ends."""
    day = (NOW + timedelta(days=number + 1)).date().isoformat()
    edition = folder / day
    edition.mkdir(parents=True)
    for place, file in enumerate(files(wider_mm=0)):
        (edition / f"{place}.json").write_bytes(file.content)
    moments = [Moment.now(service.process.pid)]
    sleep(SECONDS)
    beyond = service.log.stat().st_size
    for step in ("stage", "check", "publish"):
        moments.append(Moment.now(service.process.pid))
        given = ("--edition", day) if step == "stage" else (day,)
        run(step, *given, environ=environ)
    moments.append(Moment.now(service.process.pid))
    wait_until_taken_up(service.log, beyond=beyond)
    moments.append(Moment.now(service.process.pid))
    sleep(SECONDS)
    return [*moments, Moment.now(service.process.pid)]


def load_between(begin: Moment, end: Moment, *, done: list[Request]) -> Load:
    there = [one for one in done if begin.at <= one.ended < end.at]
    answered = sum(one.status == 201 for one in there)
    seconds = end.at - begin.at
    millis = [1000.0 * one.seconds for one in there] or [inf]
    middle, late = np.percentile(millis, (50, 99))
    return Load(
        seconds=seconds,
        rate=answered / seconds,
        cpu_ms=1000.0 * (end.own - begin.own) / max(1, answered),
        started=end.started - begin.started,
        middle_ms=float(middle),
        late_ms=float(late),
        latest_ms=max(millis),
        failed=len(there) - answered,
    )


def loads_of(moments: list[Moment], *, done: list[Request]) -> dict[str, Load]:
    """What each stage came to, and all from staging to being taken up together."""
    edges = zip(STAGES, moments, moments[1:], strict=False)
    stages = {name: load_between(begin, end, done=done) for name, begin, end in edges}
    during = {"during": load_between(moments[1], moments[-2], done=done)}
    return stages | during


def tell(rounds: list[dict[str, Load]]) -> None:
    """Print each stage's median over the rounds, and its ratios to the time before in the same round.

    The last two are ratios to the mean of the time before and the time after, by rate and by processor time: a machine
    that others use, too, is seldom as fast after as it was before.
    """
    head = f"{'':10}{'s':>7}{'req/s':>8}{'p50':>8}{'p99':>8}{'max ms':>8}{'cpu ms':>8}{'started':>9}"
    print(f"{head}   rate (from, to)        cpu     around: rate, cpu")
    for name in (*STAGES, "during"):
        loads, before, after = ([one[of] for one in rounds] for of in (name, "before", "after"))
        shown: dict[str, Any] = {of: median(getattr(one, of) for one in loads) for of in Load._fields}
        by_rate = sorted(one.rate / other.rate for one, other in zip(loads, before, strict=True))
        by_cpu = median(other.cpu_ms / one.cpu_ms for one, other in zip(loads, before, strict=True))
        around = [
            median((first.rate + last.rate) / 2.0 for first, last in zip(before, after, strict=True)),
            median((first.cpu_ms + last.cpu_ms) / 2.0 for first, last in zip(before, after, strict=True)),
        ]
        print(
            f"{name:10}{shown['seconds']:7.1f}{shown['rate']:8.1f}{shown['middle_ms']:8.2f}{shown['late_ms']:8.2f}"
            f"{max(one.latest_ms for one in loads):8.1f}{shown['cpu_ms']:8.3f}{shown['started']:7.1f} s"
            f"   {median(by_rate):.3f} ({by_rate[0]:.3f}, {by_rate[-1]:.3f})   {by_cpu:.3f}"
            f"   {shown['rate'] / around[0]:.3f} {around[1] / shown['cpu_ms']:.3f}"
        )
    print(f"failed: {sum(one[name].failed for one in rounds for name in STAGES)}")


def main(repeats: int) -> None:
    print(f"{BOOTS} boot models × {SIZES} sizes published, {MATCHED} matched, {repeats} rounds; load {os.getloadavg()}")
    with tempfile.TemporaryDirectory() as made:
        folder, url = Path(made), f"sqlite+aiosqlite:///{Path(made) / 'benchmark.sqlite3'}"
        plugins = folder / "plugins.yaml"
        plugins.write_text(f"folder:\n  settings:\n    folder: {folder / 'editions'}\n", encoding="utf-8")
        matched = the_matched()
        asyncio.run(prepare(url, matched))
        settings = Settings(
            database_url=url,
            port=0,
            catalog_plugins=PluginUse.LEAVE,
            plugins_file=str(plugins),
            catalog_seconds=1,
            log_format=LogFormat.JSON,
        )
        environ = {name: value for name, value in os.environ.items() if not name.startswith("HOOFLAST_")}
        pinned = never_asked("/v1/matches", count(), asked=ASKED | {"catalog_release": matched.id})
        with served(settings, log=folder / "log") as service, asking(service, pinned) as done:
            sleep(WARM_SECONDS)
            rounds = [
                publish(folder / "editions", number, service=service, environ=environ | as_environ(settings))
                for number in range(repeats)
            ]
        tell([loads_of(moments, done=done) for moments in rounds])
        print(f"load {os.getloadavg()}")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 3)
