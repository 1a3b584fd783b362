"""A service in a process of its own, as the command line starts it."""

import json
import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from hooflast.settings import Settings, as_environ

PROGRAM: Final = (
    "import os; from hooflast.settings import read_settings; from hooflast.api.server import serve; "
    "serve(read_settings(os.environ), announce=lambda address: print(address, flush=True))"
)
PATIENCE_SECONDS: Final = 300


@dataclass(frozen=True, slots=True, kw_only=True)
class Served:
    """A running service: its process, where it listens, and where it logs."""

    process: subprocess.Popen[str]
    port: int
    log: Path

    def stop(self) -> None:
        self.process.send_signal(signal.SIGTERM)

    def ended(self) -> int:
        """The exit status, once the process has ended by itself."""
        return self.process.wait(timeout=PATIENCE_SECONDS)

    def events(self) -> list[dict[str, Any]]:
        lines = self.log.read_text("utf-8").splitlines(keepends=True)
        return [json.loads(line) for line in lines if line.endswith("\n")]

    def event_of(self, request_id: str) -> dict[str, Any]:
        """The access line of a request: it is written once the answer is sent."""
        while True:
            for event in self.events():
                if event.get("request_id") == request_id:
                    return event

    def connect(self) -> socket.socket:
        return socket.create_connection(("127.0.0.1", self.port), timeout=PATIENCE_SECONDS)


@contextmanager
def served(settings: Settings, *, log: Path) -> Iterator[Served]:
    """Serve until the block ends."""
    kept = {name: value for name, value in os.environ.items() if not name.startswith("HOOFLAST_")}
    with (
        log.open("w", encoding="utf-8") as errors,
        subprocess.Popen(
            [sys.executable, "-c", PROGRAM],
            env=kept | as_environ(settings),
            stdout=subprocess.PIPE,
            stderr=errors,
            text=True,
        ) as process,
    ):
        try:
            assert process.stdout is not None
            address = process.stdout.readline().strip()
            assert address.startswith("http://"), log.read_text("utf-8")
            yield Served(process=process, port=int(address.rpartition(":")[2]), log=log)
        finally:
            if process.poll() is None:
                process.send_signal(signal.SIGTERM)
                process.send_signal(signal.SIGTERM)
                try:
                    process.wait(timeout=PATIENCE_SECONDS)
                except subprocess.TimeoutExpired:
                    process.kill()


def whole_answer(connection: socket.socket) -> tuple[int, dict[str, str], bytes]:
    """The next answer on a connection: its status, its headers in small letters, its body."""
    raw = b""
    while b"\r\n\r\n" not in raw:
        part = connection.recv(65536)
        if not part:
            raise ConnectionError(f"the connection ended after {raw!r}")
        raw += part
    head, _, body = raw.partition(b"\r\n\r\n")
    first, *lines = head.decode("latin-1").split("\r\n")
    headers = {name.lower(): value.strip() for name, _, value in (line.partition(":") for line in lines)}
    while len(body) < int(headers.get("content-length", 0)):
        body += connection.recv(65536)
    return int(first.split()[1]), headers, body
