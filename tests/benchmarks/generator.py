"""Generator: requests over many connections from one thread, at as little processor time of its own as can be.

In the closed loop each connection asks again as soon as it is answered. In the open loop requests fall due at moments
drawn beforehand, whatever the service does: one that finds no free connection waits, and its wait counts.
"""

import selectors
import socket
from collections import Counter, deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from time import perf_counter, process_time
from typing import Final

PATIENCE_SECONDS: Final = 30.0
_RECEIVED_AT_ONCE: Final = 1 << 20
_HEAD_ENDS: Final = b"\r\n\r\n"
_LENGTH: Final = b"content-length:"


@dataclass(frozen=True, slots=True, kw_only=True)
class Load:
    """Requests by status, how long each took in seconds, in how many seconds all, and the generator's own share.

    `own` is what the generator spent of one processor.
    """

    statuses: Counter[int]
    took: Sequence[float]
    seconds: float
    own: float

    @property
    def rate(self) -> float:
        """Requests answered in a second."""
        return len(self.took) / self.seconds


class _Connection:
    """One connection: what was sent when, and what has come of its answer."""

    def __init__(self, port: int) -> None:
        self.socket = socket.create_connection(("127.0.0.1", port), timeout=PATIENCE_SECONDS)
        self.socket.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
        self._began = 0.0
        self._received = b""
        self._wanted = 0

    def ask(self, request: bytes, *, since: float) -> None:
        self._began, self._received, self._wanted = since, b"", 0
        self.socket.sendall(request)

    def answered(self) -> tuple[int, float] | None:
        """The status and how long it took, once the answer is whole. Raises ConnectionError where it ends early."""
        piece = self.socket.recv(_RECEIVED_AT_ONCE)
        if not piece:
            raise ConnectionError(f"the connection ended after {self._received[:200]!r}")
        self._received += piece
        if not self._wanted:
            end = self._received.find(_HEAD_ENDS)
            if end < 0:
                return None
            head = self._received[:end].lower()
            at = head.index(_LENGTH) + len(_LENGTH)
            self._wanted = end + len(_HEAD_ENDS) + int(head[at:].split(b"\r\n", 1)[0])
        if len(self._received) < self._wanted:
            return None
        return int(self._received[9:12]), perf_counter() - self._began


class Generator:
    """So many connections to a port of this machine; close it when done."""

    def __init__(self, port: int, *, connections: int) -> None:
        self._all = [_Connection(port) for _ in range(connections)]
        self._selector = selectors.DefaultSelector()
        for each in self._all:
            self._selector.register(each.socket, selectors.EVENT_READ, each)

    def close(self) -> None:
        self._selector.close()
        for each in self._all:
            each.socket.close()

    def closed_loop(self, requests: Iterator[bytes], *, seconds: float) -> Load:
        """Each connection asks again as soon as it is answered; what was begun is waited for and counts."""
        own, begun = process_time(), perf_counter()
        statuses, took, ends = Counter[int](), list[float](), begun + seconds
        for each in self._all:
            each.ask(next(requests), since=perf_counter())
        under_way = len(self._all)
        while under_way:
            for each, answer in self._ready(timeout=PATIENCE_SECONDS):
                statuses[answer[0]] += 1
                took.append(answer[1])
                if perf_counter() < ends:
                    each.ask(next(requests), since=perf_counter())
                else:
                    under_way -= 1
        taken = perf_counter() - begun
        return Load(statuses=statuses, took=took, seconds=taken, own=(process_time() - own) / taken)

    def open_loop(self, requests: Iterator[bytes], *, due: Sequence[float]) -> Load:
        """Requests fall due so many seconds after now, in order; how long one took counts from then."""
        own, begun = process_time(), perf_counter()
        statuses, took = Counter[int](), list[float]()
        free, waiting, coming = deque(self._all), deque[float](), deque(begun + after for after in due)
        while len(took) < len(due):
            now = perf_counter()
            while coming and coming[0] <= now:
                waiting.append(coming.popleft())
            while waiting and free:
                free.popleft().ask(next(requests), since=waiting.popleft())
            for each, answer in self._ready(timeout=coming[0] - now if coming else PATIENCE_SECONDS):
                statuses[answer[0]] += 1
                took.append(answer[1])
                free.append(each)
        taken = perf_counter() - begun
        return Load(statuses=statuses, took=took, seconds=taken, own=(process_time() - own) / taken)

    def _ready(self, *, timeout: float) -> Iterator[tuple[_Connection, tuple[int, float]]]:
        """Connections whose answer is whole. Raises TimeoutError where nothing comes for too long."""
        ready = self._selector.select(max(0.0, timeout))
        if not ready and timeout >= PATIENCE_SECONDS:
            raise TimeoutError(f"nothing was answered for {PATIENCE_SECONDS:g} s")
        for key, _ in ready:
            each: _Connection = key.data
            answer = each.answered()
            if answer is not None:
                yield each, answer
