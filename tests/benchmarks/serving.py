"""Serving clients: what a match costs with key, limits and tenant; how long it takes under load; what workers add.

`share`: requests per second of a match with a key that is checked, counted and whose tenant keeps the answer, against a
handler that decodes the same request and encodes the same answer with msgspec and does nothing else, once in the same
application and once in one that holds nothing else. `latency`: the median and the 99th percentile at 70 % of the rate
that was reached before, requests falling due at random. `workers`: requests per second of two workers against one.
All on the demo catalog, SQLite, in turns. (Linux.)
"""

import asyncio
import json
import multiprocessing
import socket
import sys
import tempfile
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import replace
from itertools import cycle, islice
from pathlib import Path
from statistics import median, quantiles
from typing import Any, Final

import msgspec
import numpy as np
import uvicorn
from litestar import Litestar, Request, Response, post
from tests.api.keys import made, made_for_pages
from tests.api.processes import served
from tests.benchmarks.generator import Generator, Load
from tests.benchmarks.http import ASKED, Asked, answer, application, horses

from hooflast.access.key import KeyLimits
from hooflast.api.logs import configure_logs
from hooflast.api.server import prepare
from hooflast.exchange.answer_parts import encode
from hooflast.settings import Access, LogLevel, Settings

ROUNDS, SECONDS, CONNECTIONS = 5, 4.0, 16
OPEN_CONNECTIONS, OPEN_SECONDS = 64, 10.0
LOAD: Final = 0.7
SEEN, DRAWN = 3_000, 12_000
"""Drawn horses that are asked about before anything is measured, and how many different ones there are."""

LIMITS: Final = KeyLimits(per_minute=1_000_000, per_day=100_000_000, per_visitor_minute=1_000_000)

Ask = Callable[[], Load]


def plain() -> Litestar:
    """The bare handler, and nothing else."""
    made_once, decoder = answer(), msgspec.json.Decoder(Asked)

    @post("/bare", status_code=201)
    async def bare(request: Request[None, None, Any]) -> Response[bytes]:
        decoder.decode(await request.body())
        return Response(encode(made_once), media_type="application/json")

    return Litestar([bare], openapi_config=None, logging_config=None)


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


def request(path: str, document: object, *, fields: dict[str, str]) -> bytes:
    body = json.dumps(document).encode()
    head = {"Host": "127.0.0.1", "Content-Type": "application/json", "Content-Length": str(len(body)), **fields}
    return "".join([f"POST {path} HTTP/1.1\r\n", *(f"{n}: {v}\r\n" for n, v in head.items()), "\r\n"]).encode() + body


def drawn(fields: dict[str, str]) -> Iterator[bytes]:
    """Horses drawn from the engine's own prior, over and over, written before anything is measured."""
    made_once = islice(horses("/v1/matches", np.random.default_rng(7)), DRAWN)
    bodies = [json.loads(one.partition(b"\r\n\r\n")[2]) for one in made_once]
    return cycle([request("/v1/matches", body, fields=fields) for body in bodies])


def ask(port: int, requests: Iterator[bytes], *, seconds: float = SECONDS, connections: int = CONNECTIONS) -> Load:
    generator = Generator(port, connections=connections)
    try:
        return all_answered(generator.closed_loop(requests, seconds=seconds))
    finally:
        generator.close()


def all_answered(load: Load) -> Load:
    if set(load.statuses) - {201}:
        sys.exit(f"not every request was answered: {dict(load.statuses)}")
    return load


def spread(values: list[float]) -> str:
    return f"{median(values):.2f} (from {min(values):.2f} to {max(values):.2f})"


def bearer(written: str, **more: str) -> dict[str, str]:
    return {"Authorization": f"Bearer {written}", **more}


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
        add("match, asked again", service, cycle([request("/v1/matches", ASKED, fields=fields)]))
        add("match, drawn horses", service, drawn(fields))
        add("match, from a page", service, drawn(of_page))
        warm(service, drawn(fields))
        rounds = [{name: one() for name, one in asked.items()} for _ in range(ROUNDS)]
    print(f"share: {size:,} bytes an answer, {CONNECTIONS} connections, {ROUNDS} × {SECONDS:g} s each")
    for name in asked:
        loads = [each[name] for each in rounds]
        of = {base: [each[name].rate / each[base].rate for each in rounds] for base in list(asked)[:2]}
        ratios = ", ".join(f"of {base}: {spread(ratio)}" for base, ratio in of.items())
        own = median(load.own for load in loads)
        print(f"  {name:22}{median(load.rate for load in loads):8.0f}/s; {ratios}; generator {own:.0%} of a core")


def latency() -> None:
    """How long a match takes at 70 % of what the service reaches."""
    rng = np.random.default_rng(11)
    with prepared() as settings, served(settings, log=Path(settings.database_url[20:]).with_name("log")) as service:
        requests = drawn(bearer(asyncio.run(made(settings.database_url, limits=LIMITS)).written))
        warm(service.port, requests)
        print(f"latency: {LOAD:.0%} of the rate reached just before, requests falling due at random (Poisson)")
        ratios = []
        for _ in range(ROUNDS):
            reached = ask(service.port, requests).rate
            due = np.cumsum(rng.exponential(1.0 / (LOAD * reached), int(LOAD * reached * OPEN_SECONDS)))
            generator = Generator(service.port, connections=OPEN_CONNECTIONS)
            load = all_answered(generator.open_loop(requests, due=due.tolist()))
            generator.close()
            middle, cuts = median(load.took), quantiles(load.took, n=100)
            ratios.append(cuts[98] / middle)
            print(
                f"  {reached:6.0f}/s reached; asked {len(due) / due[-1]:6.0f}/s: median {1000 * middle:5.2f} ms, "
                f"p90 {1000 * cuts[89]:5.2f} ms, p99 {1000 * cuts[98]:5.2f} ms, p99/median {ratios[-1]:.2f}; "
                f"generator {load.own:.0%} of a core"
            )
        print(f"  p99/median {spread(ratios)}")


def workers() -> None:
    """Two workers against one."""
    with prepared() as settings, ExitStack() as stack:
        requests = drawn(bearer(asyncio.run(made(settings.database_url, limits=LIMITS)).written))
        folder = Path(settings.database_url[20:]).parent
        ports = {}
        for count in (1, 2):
            own = replace(settings, workers=count)
            ports[count] = stack.enter_context(served(own, log=folder / f"log{count}")).port
        for count, port in ports.items():
            for _ in range(count):
                warm(port, requests)
        rounds = [{count: ask(port, requests) for count, port in ports.items()} for _ in range(ROUNDS)]
    print(f"workers: {CONNECTIONS} connections, {ROUNDS} × {SECONDS:g} s each")
    for count in ports:
        rate, own = (median(getattr(each[count], of) for each in rounds) for of in ("rate", "own"))
        print(f"  {count}: {rate:6.0f}/s; generator {own:.0%} of a core")
    print(f"  two against one: {spread([each[2].rate / each[1].rate for each in rounds])}")


PARTS: Final = {"share": share, "latency": latency, "workers": workers}

if __name__ == "__main__":
    for part in sys.argv[1:] or PARTS:
        PARTS[part]()
