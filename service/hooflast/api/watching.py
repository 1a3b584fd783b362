"""Watching: who is told of each request while it is answered, such as metrics and traces."""

from collections.abc import Iterable, Iterator
from contextlib import AbstractContextManager, ExitStack, contextmanager
from dataclasses import dataclass
from typing import Any, Protocol


@dataclass(slots=True, kw_only=True)
class Seen:
    """One request as it is seen from outside; `route` and `status` are known once it is answered."""

    method: str
    headers: Iterable[tuple[bytes, bytes]]
    request_id: str
    route: str = "none"
    status: int = 0


class Watcher(Protocol):
    """Who is told of requests."""

    def request(self, seen: Seen, /) -> AbstractContextManager[None]:
        """Entered before a request is answered, left after it; by then `seen` is whole."""


@contextmanager
def watched(seen: Seen, *, by: Iterable[Watcher]) -> Iterator[Seen]:
    """One request, watched by all."""
    with ExitStack() as stack:
        for watcher in by:
            stack.enter_context(watcher.request(seen))
        yield seen


def route_of(scope: Any) -> str:
    """The address of a route with its parts named, as it was found for a request; `none` if there is none."""
    return scope.get("path_template") or "none"
