"""The match call over HTTP against a bare handler of the same application that decodes and encodes the same."""

import asyncio
import json
import multiprocessing
import socket
import sys
import tempfile
from itertools import count
from pathlib import Path
from statistics import median
from time import perf_counter, process_time
from typing import Any

import msgspec
import uvicorn
from litestar import Litestar, Request, Response, post

from hooflast.api.app import create_app
from hooflast.api.logs import configure_logs
from hooflast.api.server import _now, prepare
from hooflast.catalog.loading import load_catalog
from hooflast.exchange import MatchAnswerDocument, match_document, read_match_question
from hooflast.exchange.answer_parts import encode
from hooflast.matching.match_horse import match_horse
from hooflast.matching.shelf import lay_out
from hooflast.settings import LogLevel, Settings
from hooflast.store import open_store
from hooflast.texts import load_texts

CONNECTIONS, SECONDS, ROUNDS = 32, 4.0, 5
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


def application(settings: Settings) -> Litestar:
    """The service, with one more handler: decode with msgspec, encode with msgspec, nothing between."""
    made, decoder = answer(), msgspec.json.Decoder(Asked)

    @post("/bare", status_code=201)
    async def bare(request: Request[None, None, Any]) -> Response[bytes]:
        decoder.decode(await request.body())
        return Response(encode(made), media_type="application/json")

    loaded = load_catalog()
    app = create_app(
        settings, library=loaded.library, plugins=loaded.reports, store=open_store(settings.database_url), clock=_now
    )
    app.register(bare)
    return app


def serve(settings: Settings, listener: socket.socket) -> None:
    configure_logs(form=settings.log_format, level=settings.log_level)
    config = uvicorn.Config(application(settings), log_config=None, access_log=False, ws="none")
    uvicorn.Server(config).run(sockets=[listener])


class Client(asyncio.Protocol):
    """One connection that sends the next request as soon as the last is answered."""

    def __init__(self, requests: Any, statuses: dict[int, int]) -> None:
        self.requests, self.statuses, self.buffer, self.wanted = requests, statuses, b"", 0

    def connection_made(self, transport: asyncio.BaseTransport) -> None:
        assert isinstance(transport, asyncio.Transport)
        self.transport = transport
        transport.write(next(self.requests))

    def data_received(self, data: bytes) -> None:
        self.buffer += data
        if not self.wanted:
            head, found, _ = self.buffer.partition(b"\r\n\r\n")
            if not found:
                return
            length = next(line for line in head.lower().split(b"\r\n") if line.startswith(b"content-length:"))
            self.wanted = len(head) + 4 + int(length.split(b":")[1])
        if len(self.buffer) >= self.wanted:
            status = int(self.buffer[9:12])
            self.statuses[status] = self.statuses.get(status, 0) + 1
            self.buffer, self.wanted = b"", 0
            self.transport.write(next(self.requests))


def request(path: str, document: object) -> bytes:
    body = json.dumps(document).encode()
    head = f"POST {path} HTTP/1.1\r\nHost: x\r\nContent-Type: application/json\r\nContent-Length: {len(body)}\r\n\r\n"
    return head.encode() + body


def same(path: str) -> Any:
    while True:
        yield request(path, ASKED)


def never_asked(path: str, numbers: Any) -> Any:
    for number in numbers:
        yield request(path, ASKED | {"horse": {"name": f"Bramble {number}"}})


def asked(numbers: Any) -> list[Any]:
    """The requests of one round: the bare handler, the match asked again, the match never asked."""
    return [same("/bare"), same("/v1/matches"), never_asked("/v1/matches", numbers)]


async def load(port: int, requests: Any) -> tuple[float, float]:
    """Requests per second, and the load generator's own share of a core."""
    statuses: dict[int, int] = {}
    loop = asyncio.get_running_loop()
    clients = [
        await loop.create_connection(lambda: Client(requests, statuses), "127.0.0.1", port) for _ in range(CONNECTIONS)
    ]
    statuses.clear()
    begun, spent = perf_counter(), process_time()
    await asyncio.sleep(SECONDS)
    taken, share = perf_counter() - begun, process_time() - spent
    for transport, _ in clients:
        transport.abort()
    if set(statuses) != {201}:
        sys.exit(f"not every request was answered: {statuses}")
    return statuses[201] / taken, share / taken


def main() -> None:
    with tempfile.TemporaryDirectory() as folder, socket.create_server(("127.0.0.1", 0)) as listener:
        settings = Settings(
            database_url=f"sqlite+aiosqlite:///{Path(folder) / 'bench.sqlite3'}", log_level=LogLevel.WARNING
        )
        asyncio.run(prepare(settings))
        port = listener.getsockname()[1]
        server = multiprocessing.get_context("fork").Process(target=serve, args=(settings, listener), daemon=True)
        server.start()
        numbers = count()
        asyncio.run(load(port, same("/v1/matches")))
        rows = [[asyncio.run(load(port, made)) for made in asked(numbers)] for _ in range(ROUNDS)]
        server.terminate()
    print(
        f"answer of {len(encode(answer())):,} bytes, {CONNECTIONS} connections, {ROUNDS} rounds of {SECONDS:g} s each"
    )
    for name, column in (("bare handler", 0), ("match, asked again", 1), ("match, never asked", 2)):
        rates = sorted(row[column][0] for row in rows)
        ratios = sorted(row[column][0] / row[0][0] for row in rows)
        own = median(row[column][1] for row in rows)
        print(
            f"  {name:20} {median(rates):8.1f} requests/s, ratio {median(ratios):.3f} "
            f"(from {ratios[0]:.3f} to {ratios[-1]:.3f}), load generator {own:.0%} of a core"
        )


if __name__ == "__main__":
    main()
