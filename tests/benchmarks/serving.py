"""Serving clients: what a match costs with key, limits and tenant; how long it takes under load; what workers add.

`share`: requests per second of a match with a key that is checked, counted and whose tenant keeps the answer, against a
handler that decodes the same request and encodes the same answer with msgspec and does nothing else, once in the same
application and once in one that holds nothing else. `latency`: the median and the 99th percentile at 70 % of the rate
that was reached just before, requests falling due evenly, and at random. `workers`: requests per second of two workers
on two cores against one on one. One question asked again and again, and horses drawn from the engine's own prior, as
`http` draws them. All on the demo catalog, SQLite, in turns. (Linux.)
"""

import asyncio
import json
import multiprocessing
import os
import socket
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path
from statistics import median, quantiles
from typing import Any, Final

import numpy as np
import uvicorn
from litestar import Litestar
from tests.api.keys import made, made_for_pages
from tests.api.processes import served
from tests.benchmarks.generator import Generator, Load
from tests.benchmarks.http import ASKED, answer, application, bare_handler, horses, request

from hooflast.access.key import KeyLimits
from hooflast.api.logs import configure_logs
from hooflast.api.server import prepare
from hooflast.exchange.answer_parts import encode
from hooflast.fit.normal import Floats
from hooflast.settings import Access, LogLevel, Settings

ROUNDS, SECONDS, CONNECTIONS = 5, 4.0, 16
OPEN_CONNECTIONS, OPEN_SECONDS = 64, 10.0
LOAD: Final = 0.7
SEEN, DRAWN = 3_000, 12_000
"""Drawn horses that are asked about before anything is measured, and how many different ones there are."""

LIMITS: Final = KeyLimits(per_minute=1_000_000, per_day=100_000_000, per_visitor_minute=1_000_000)

ASKED_AGAIN: Final = "asked again"
DRAWN_HORSES: Final = "drawn horses"

Ask = Callable[[], Load]
FallDue = Callable[[float, np.random.Generator], Floats]


def plain() -> Litestar:
    """The bare handler, and nothing else."""
    return Litestar([bare_handler()], openapi_config=None, logging_config=None)


def run(make: Callable[[], Litestar], listener: socket.socket) -> None:
    configure_logs(form=Settings().log_format, level=LogLevel.WARNING)
    uvicorn.Server(uvicorn.Config(make(), log_config=None, access_log=False, ws="none")).run(sockets=[listener])


@contextmanager
def running(make: Callable[[], Litestar]) -> Iterator[int]:
    """An application in a process of its own; its port."""
    with socket.create_server(("127.0.0.1", 0), backlog=256) as listener:
        process = multiprocessing.get_context("fork").Process(target=run, args=(make, listener), daemon=True)
        process.start()
        try:
            yield listener.getsockname()[1]
        finally:
            process.terminate()
            process.join()


def drawn(fields: dict[str, str]) -> Iterator[bytes]:
    """Horses drawn from the engine's own prior, over and over, written before anything is measured."""
    made_once = islice(horses("/v1/matches", np.random.default_rng(7)), DRAWN)
    bodies = [json.loads(one.partition(b"\r\n\r\n")[2]) for one in made_once]
    return cycle([request("/v1/matches", body, fields=fields) for body in bodies])


def traffic_of(fields: dict[str, str]) -> dict[str, Iterator[bytes]]:
    """What is asked, by its name."""
    return {ASKED_AGAIN: cycle([request("/v1/matches", ASKED, fields=fields)]), DRAWN_HORSES: drawn(fields)}


def ask(port: int, requests: Iterator[bytes], *, seconds: float = SECONDS, connections: int = CONNECTIONS) -> Load:
    with closing(Generator(port, connections=connections)) as generator:
        return all_answered(generator.closed_loop(requests, seconds=seconds))


def all_answered(load: Load) -> Load:
    if set(load.statuses) - {201}:
        sys.exit(f"not every request was answered: {dict(load.statuses)}")
    return load


def spread(values: list[float]) -> str:
    return f"{median(values):.2f} (from {min(values):.2f} to {max(values):.2f})"


def bearer(written: str, **more: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {written}", **more}


def folder_of(settings: Settings) -> Path:
    return Path(settings.database_url.partition("///")[2]).parent


@contextmanager
def prepared(**wished: Any) -> Iterator[Settings]:
    """Settings of a service that answers who shows a key, its database made."""
    with tempfile.TemporaryDirectory() as folder:
        url = f"sqlite+aiosqlite:///{Path(folder) / 'bench.sqlite3'}"
        settings = Settings(database_url=url, access=Access.KEYS, log_level=LogLevel.WARNING, port=0, **wished)
        asyncio.run(prepare(settings))
        yield settings


def warm(port: int, requests: Iterator[bytes]) -> None:
    """Let the service see horses, as it has after a while."""
    seen = 0
    while seen < SEEN:
        seen += len(ask(port, requests).took)


def share() -> None:
    """The match with key, limits and tenant against the two bare handlers."""
    size = len(encode(answer()))
    with prepared() as settings, ExitStack() as stack:
        key = asyncio.run(made(settings.database_url, limits=LIMITS))
        page = asyncio.run(made_for_pages(settings.database_url, limits=LIMITS))
        service = stack.enter_context(running(lambda: application(settings)))
        bare = stack.enter_context(running(plain))
        asked: dict[str, Ask] = {}

        def add(name: str, port: int, requests: Iterator[bytes]) -> None:
            asked[name] = lambda: ask(port, requests)

        fields, of_page = bearer(key.written), bearer(page.written, Origin=page.key.origins[0])
        add("bare, alone", bare, cycle([request("/bare", ASKED, fields={})]))
        add("bare, in the service", service, cycle([request("/bare", ASKED, fields={})]))
        for name, requests in traffic_of(fields).items():
            add(f"match, {name}", service, requests)
        for name, requests in traffic_of(of_page).items():
            add(f"match, {name}, from a page", service, requests)
        warm(service, drawn(fields))
        rounds = [{name: one() for name, one in asked.items()} for _ in range(ROUNDS)]
    print(f"share: {size:,} bytes an answer, {CONNECTIONS} connections, {ROUNDS} × {SECONDS:g} s each")
    for name in asked:
        loads = [each[name] for each in rounds]
        of = {base: [each[name].rate / each[base].rate for each in rounds] for base in list(asked)[:2]}
        ratios = ", ".join(f"of {base}: {spread(ratio)}" for base, ratio in of.items())
        own = median(load.own for load in loads)
        print(f"  {name:32}{median(load.rate for load in loads):8.0f}/s; {ratios}; generator {own:.0%} of a core")


def evenly(rate: float, _: np.random.Generator) -> Floats:
    return np.arange(1, int(rate * OPEN_SECONDS) + 1) / rate


def at_random(rate: float, rng: np.random.Generator) -> Floats:
    """A Poisson process."""
    return np.cumsum(rng.exponential(1.0 / rate, int(rate * OPEN_SECONDS)))


def latency() -> None:
    """How long a match takes at 70 % of what the service reaches.

    At random, a queue with one server has a 99th percentile of ln 100 / ln 2 = 6.6 medians if service times are
    distributed exponentially, and of 4.3 if all take the same (M/M/1; M/D/1, simulated).
    """
    rng = np.random.default_rng(11)
    with prepared() as settings, served(settings, log=folder_of(settings) / "log") as service:
        fields = bearer(asyncio.run(made(settings.database_url, limits=LIMITS)).written)
        traffic = traffic_of(fields)
        warm(service.port, traffic[DRAWN_HORSES])
        print(f"latency: {LOAD:.0%} of the rate reached just before, {ROUNDS} × {OPEN_SECONDS:g} s")
        for name, requests in traffic.items():
            for fall_due in (evenly, at_random):
                rounds = [loaded(service.port, requests, fall_due=fall_due, rng=rng) for _ in range(ROUNDS)]
                print(f"  {name}, due {fall_due.__name__.replace('_', ' ')}: p99/median {spread(rounds)}")


def loaded(port: int, requests: Iterator[bytes], *, fall_due: FallDue, rng: np.random.Generator) -> float:
    """Print one round; the 99th percentile in medians."""
    reached = ask(port, requests).rate
    due = fall_due(LOAD * reached, rng)
    with closing(Generator(port, connections=OPEN_CONNECTIONS)) as generator:
        load = all_answered(generator.open_loop(requests, due=due.tolist()))
    middle, cuts = median(load.took), quantiles(load.took, n=100)
    print(
        f"    {reached:6.0f}/s reached, {len(due) / due[-1]:6.0f}/s asked: median {1000 * middle:6.2f} ms, "
        f"p90 {1000 * cuts[89]:6.2f} ms, p99 {1000 * cuts[98]:6.2f} ms; generator {load.own:.0%} of a core"
    )
    return cuts[98] / middle


@contextmanager
def on_cores(count: int) -> Iterator[None]:
    """What is started within has so many cores for good."""
    all_of_them = os.sched_getaffinity(0)
    os.sched_setaffinity(0, sorted(all_of_them)[:count])
    try:
        yield
    finally:
        os.sched_setaffinity(0, all_of_them)


def workers() -> None:
    """Two workers on two cores against one on one; the generator takes its share of whichever it runs on."""
    with prepared() as settings, ExitStack() as stack:
        traffic = traffic_of(bearer(asyncio.run(made(settings.database_url, limits=LIMITS)).written))
        ports = {}
        for count in (1, 2):
            own, log = replace(settings, workers=count), folder_of(settings) / f"log{count}"
            with on_cores(count):
                ports[count] = stack.enter_context(served(own, log=log)).port
            for _ in range(count):
                warm(ports[count], traffic[DRAWN_HORSES])
        print(f"workers: {CONNECTIONS} connections, {ROUNDS} × {SECONDS:g} s each")
        for name, requests in traffic.items():
            rounds = [{count: ask(port, requests) for count, port in ports.items()} for _ in range(ROUNDS)]
            told = ", ".join(
                f"{count}: {median(each[count].rate for each in rounds):.0f}/s, "
                f"generator {median(each[count].own for each in rounds):.0%} of a core"
                for count in ports
            )
            print(f"  {name}: {told}; two against one {spread([each[2].rate / each[1].rate for each in rounds])}")


PARTS: Final = {"share": share, "latency": latency, "workers": workers}

if __name__ == "__main__":
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
