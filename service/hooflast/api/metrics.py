"""Metrics: what the service tells Prometheus of itself (text format 0.0.4), counted over all its processes.

    hooflast_requests_total{method, route, status}        requests answered
    hooflast_request_seconds{method, route}               how long that took (histogram)
    hooflast_requests_running                             requests being answered
    hooflast_catalog_revision                             the revision of the catalog that is served, the lowest of all

Routes are told with their parts named, never with a client's ids; nothing tells a horse, a client or a key.
"""

import os
import tempfile
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from time import perf_counter
from typing import Final

from hooflast.api.watching import Seen

MEDIA_TYPE: Final = "text/plain; version=0.0.4"
SHARED: Final = "PROMETHEUS_MULTIPROC_DIR"
"""Where the processes of one service share their counts; prometheus_client reads it when it is imported first."""

BUCKETS: Final = (0.001, 0.002, 0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0)


@contextmanager
def shared_counts() -> Iterator[None]:
    """Lets the processes that are started within it count together."""
    with tempfile.TemporaryDirectory(prefix="hooflast-metrics-") as folder:
        os.environ[SHARED] = folder
        try:
            yield
        finally:
            del os.environ[SHARED]


class Metrics:
    """What one process counts; imports prometheus_client, so that it is not loaded where nobody counts."""

    def __init__(self, *, revision: Callable[[], int]) -> None:
        """`revision` says which revision of the catalog is served."""
        from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram

        self._serves = revision
        self._registry = CollectorRegistry()
        self._requests = Counter(
            "hooflast_requests", "Requests answered.", ("method", "route", "status"), registry=self._registry
        )
        self._seconds = Histogram(
            "hooflast_request_seconds",
            "How long answering a request took.",
            ("method", "route"),
            buckets=BUCKETS,
            registry=self._registry,
        )
        self._running = Gauge(
            "hooflast_requests_running",
            "Requests being answered.",
            multiprocess_mode="livesum",
            registry=self._registry,
        )
        self._revision = Gauge(
            "hooflast_catalog_revision",
            "The revision of the catalog that is served.",
            multiprocess_mode="livemin",
            registry=self._registry,
        )

    @contextmanager
    def request(self, seen: Seen) -> Iterator[None]:
        """Count one request."""
        began = perf_counter()
        with self._running.track_inprogress():
            yield
        self._revision.set(self._serves())
        self._seconds.labels(seen.method, seen.route).observe(perf_counter() - began)
        self._requests.labels(seen.method, seen.route, str(seen.status)).inc()

    def written(self) -> bytes:
        """Everything there is to tell, of all processes that count together."""
        from prometheus_client import CollectorRegistry, generate_latest
        from prometheus_client.multiprocess import MultiProcessCollector

        if SHARED not in os.environ:
            return generate_latest(self._registry)
        together = CollectorRegistry()
        MultiProcessCollector(together)  # type: ignore[no-untyped-call]
        return generate_latest(together)
