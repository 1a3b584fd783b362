"""Receivers: a client's own server, which is told things and answers as the test says."""

import asyncio
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from dataclasses import dataclass, field


@dataclass(frozen=True, slots=True, kw_only=True)
class Received:
    """One request as it arrived."""

    path: str
    headers: dict[str, str]
    body: bytes


@dataclass(slots=True, kw_only=True)
class Receiver:
    """What arrived; each request is given the next of `answers`, and the last of them over and over."""

    url: str = ""
    received: list[Received] = field(default_factory=list)
    answers: list[bytes] = field(default_factory=list)

    @property
    def port(self) -> int:
        return int(self.url.rpartition(":")[2].partition("/")[0])


NEVER = b""
"""No answer at all, though the connection stays open."""


def answer(status: int, **headers: str) -> bytes:
    lines = [f"HTTP/1.1 {status} X", *(f"{name.replace('_', '-')}: {said}" for name, said in headers.items())]
    return "\r\n".join([*lines, "content-length: 0", "", ""]).encode()


@asynccontextmanager
async def receiving(*answers: bytes) -> AsyncIterator[Receiver]:
    """A server at a free port of this machine, until the block ends."""
    receiver = Receiver(answers=list(answers))
    left: Iterator[bytes] = iter(answers)

    async def serve(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> None:
        try:
            head = (await reader.readuntil(b"\r\n\r\n")).decode("ascii").split("\r\n")
            headers = {name.lower(): said for name, _, said in (line.partition(": ") for line in head[1:] if line)}
            body = await reader.readexactly(int(headers.get("content-length", "0")))
            receiver.received.append(Received(path=head[0].split()[1], headers=headers, body=body))
            said = next(left, answers[-1])
            if said is NEVER:
                await reader.read()
            writer.write(said)
            await writer.drain()
        except (asyncio.IncompleteReadError, ConnectionError):
            pass
        finally:
            writer.close()

    server = await asyncio.start_server(serve, "127.0.0.1", 0)
    async with server:
        receiver.url = f"http://127.0.0.1:{server.sockets[0].getsockname()[1]}/told"
        yield receiver
