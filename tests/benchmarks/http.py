"""The match call over HTTP against a bare handler of the same application that decodes and encodes the same."""

import asyncio
import json
import multiprocessing
import os
import socket
import sys
import tempfile
from collections.abc import Mapping
from contextlib import closing
from functools import partial
from itertools import count
from pathlib import Path
from statistics import median
from types import MappingProxyType
from typing import Any, NamedTuple

import msgspec
import numpy as np
import uvicorn
from litestar import Litestar, Request, Response, post
from litestar.handlers import HTTPRouteHandler
from tests.benchmarks.generator import Generator

from hooflast.api.app import create_app
from hooflast.api.logs import configure_logs
from hooflast.api.server import _now, prepare
from hooflast.catalog.loading import load_catalog
from hooflast.exchange import MatchAnswerDocument, match_document, read_match_question
from hooflast.exchange.answer_parts import encode
from hooflast.fit.comparing import FORE_HIND_SPREAD_MM
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.fit.population import population
from hooflast.matching.match_horse import match_horse
from hooflast.matching.shelf import lay_out
from hooflast.settings import LogLevel, Settings
from hooflast.store import open_store
from hooflast.texts import load_texts

CONNECTIONS, SECONDS, ROUNDS = (8, 32), 3.0, 5
LEFT_RIGHT_SD_MM = 1.5
SEEN = 3000
"""Drawn horses that are asked about before anything is measured: what a service has seen after a while."""

ASKED: dict[str, Any] = {
    "horse": {"name": "Bramble"},
    "method": "tape",
    "uses": ["hacking"],
    "hooves": [
        {"limb": "LF", "width": 124, "length": 127},
        {"limb": "RF", "width": 125, "length": 127},
        {"limb": "LH", "width": 119, "length": 125},
        {"limb": "RH", "width": 119, "length": 126},
    ],
}


class Hoof(msgspec.Struct):
    limb: str
    width: float
    length: float


class Asked(msgspec.Struct):
    hooves: list[Hoof]
    horse: dict[str, str] = {}
    method: str = "unknown"
    uses: list[str] = []


def answer() -> MatchAnswerDocument:
    """The answer that the match call gives, made once."""
    shelf = lay_out(load_catalog().library.active)
    today = _now().date()
    question = read_match_question(json.dumps(ASKED).encode(), today=today)
    return match_document(
        match_horse(question, shelf, today=today, language="en"), receipt=None, texts=load_texts("en")
    )


def bare_handler() -> HTTPRouteHandler:
    """Decode with msgspec, encode with msgspec, nothing between."""
    made, decoder = answer(), msgspec.json.Decoder(Asked)

    @post("/bare", status_code=201)
    async def bare(request: Request[None, None, Any]) -> Response[bytes]:
        decoder.decode(await request.body())
        return Response(encode(made), media_type="application/json")

    return bare


def application(settings: Settings) -> Litestar:
    """The service, with one more handler: the bare one."""
    app = create_app(settings, store=open_store(settings.database_url), clock=_now)
    app.register(bare_handler())
    return app


def serve(settings: Settings, listener: socket.socket) -> None:
    configure_logs(form=settings.log_format, level=settings.log_level)
    config = uvicorn.Config(application(settings), log_config=None, access_log=False, ws="none")
    uvicorn.Server(config).run(sockets=[listener])


def request(path: str, document: object, *, fields: Mapping[str, str] = MappingProxyType({})) -> bytes:
    body = json.dumps(document).encode()
    head = {"Host": "127.0.0.1", "Content-Type": "application/json", "Content-Length": str(len(body)), **fields}
    return "".join([f"POST {path} HTTP/1.1\r\n", *(f"{n}: {v}\r\n" for n, v in head.items()), "\r\n"]).encode() + body


def same(path: str) -> Any:
    while True:
        yield request(path, ASKED)


def horses(path: str, rng: np.random.Generator) -> Any:
    """Horses of other names each, their hooves drawn from the engine's own prior and read to whole millimetres.

    The fores are drawn first; the hinds differ from them as the kind's do, and by what single horses differ.
    """
    fore, hind = (population(AnimalType.HORSE, limb=limb) for limb in (Limb.LF, Limb.LH))
    for number in count():
        left = rng.multivariate_normal(fore.mean, fore.covariance)
        behind = left - fore.mean + hind.mean + rng.normal(0.0, FORE_HIND_SPREAD_MM, 2)
        sides = rng.normal(0.0, LEFT_RIGHT_SD_MM, (2, 2))
        drawn = {"LF": left, "RF": left + sides[0], "LH": behind, "RH": behind + sides[1]}
        hooves = [
            {"limb": limb, "width": int(np.clip(round(width), 60, 200)), "length": int(np.clip(round(length), 60, 200))}
            for limb, (width, length) in drawn.items()
        ]
        yield request(path, ASKED | {"horse": {"name": f"Juniper {number}"}, "hooves": hooves})


def never_asked(path: str, numbers: Any, *, asked: dict[str, Any] = ASKED) -> Any:
    """Hooves that nobody has asked about: each a tenth of a millimetre off all others."""
    for number in numbers:
        width, length = 100.0 + number % 499 / 10.0, 100.0 + number // 499 / 10.0
        hooves = [{"limb": limb, "width": round(width, 1), "length": round(length, 1)} for limb in Limb]
        yield request(path, asked | {"hooves": hooves})


class Load(NamedTuple):
    """Requests answered, and per second; what one cost the service in processor time; the generator's own share."""

    answered: int
    rate: float
    cpu_ms: float
    own: float


def cpu_seconds(process: int) -> float:
    """What a process and its threads have spent so far (Linux)."""
    spent = Path(f"/proc/{process}/stat").read_text(encoding="ascii").rpartition(")")[2].split()[11:13]
    return sum(map(int, spent)) / os.sysconf("SC_CLK_TCK")


def load(port: int, requests: Any, *, connections: int, process: int) -> Load:
    """Ask with so many connections, each as soon as it is answered; what was begun is waited for and counts."""
    theirs = cpu_seconds(process)
    with closing(Generator(port, connections=connections)) as generator:
        asked = generator.closed_loop(requests, seconds=SECONDS)
    theirs = cpu_seconds(process) - theirs
    if set(asked.statuses) - {201}:
        sys.exit(f"not every request was answered: {dict(asked.statuses)}")
    answered = len(asked.took)
    return Load(answered=answered, rate=asked.rate, cpu_ms=1000.0 * theirs / max(1, answered), own=asked.own)


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, socket.create_server(("127.0.0.1", 0)) as listener:
        settings = Settings(
            database_url=f"sqlite+aiosqlite:///{Path(folder) / 'bench.sqlite3'}", log_level=LogLevel.WARNING
        )
        asyncio.run(prepare(settings))
        port = listener.getsockname()[1]
        server = multiprocessing.get_context("fork").Process(target=serve, args=(settings, listener), daemon=True)
        server.start()
        traffic = {
            "bare handler": same("/bare"),
            "match, asked again": same("/v1/matches"),
            "match, drawn horses": horses("/v1/matches", np.random.default_rng(7)),
            "match, new hooves": never_asked("/v1/matches", count()),
        }
        ask = partial(load, port, process=server.pid)
        ask(traffic["match, asked again"], connections=CONNECTIONS[0])
        seen = 0
        while seen < SEEN:
            seen += ask(traffic["match, drawn horses"], connections=CONNECTIONS[0]).answered
        print(
            f"answer of {len(encode(answer())):,} bytes, {ROUNDS} rounds of {SECONDS:g} s each, "
            f"after {seen:,} drawn horses"
        )
        for connections in CONNECTIONS:
            tell(
                connections,
                [{name: ask(made, connections=connections) for name, made in traffic.items()} for _ in range(ROUNDS)],
            )
        server.terminate()


def tell(connections: int, rounds: list[dict[str, Load]]) -> None:
    """Print the rates with this many connections, and their ratios to the bare handler's in the same round."""
    print(f"{connections} connections")
    for name in rounds[0]:
        loads, bare = [loads[name] for loads in rounds], [loads["bare handler"] for loads in rounds]
        by_rate, by_cpu = (
            sorted(getattr(one, of) / getattr(other, of) for one, other in zip(loads, bare, strict=True))
            for of in ("rate", "cpu_ms")
        )
        print(
            f"  {name:20} {median(one.rate for one in loads):8.1f} requests/s, ratio {median(by_rate):.3f} "
            f"(from {by_rate[0]:.3f} to {by_rate[-1]:.3f}); {median(one.cpu_ms for one in loads):7.3f} ms of processor "
            f"time each, bare / this {1.0 / median(by_cpu):.3f}; generator {median(one.own for one in loads):.0%}"
        )


if __name__ == "__main__":
    main()
