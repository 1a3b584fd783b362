"""Traces: one span for each request, part of the sender's trace, and nothing in it tells whose it was."""

from collections.abc import Iterator

import pytest
from opentelemetry.sdk.trace import TracerProvider
from opentelemetry.sdk.trace.export import SimpleSpanProcessor
from opentelemetry.sdk.trace.export.in_memory_span_exporter import InMemorySpanExporter
from opentelemetry.trace import SpanKind, StatusCode
from tests.api.samples import HORSE, serving

from hooflast.api import app as app_module
from hooflast.api import traces
from hooflast.api.traces import Traces
from hooflast.settings import Switch

pytestmark = pytest.mark.anyio
TRACE, PARENT = (
    "4bf92f3577b34da6a3ce929d0e0e4736",
    "00f067aa0ba902b7",
)  # the example of W3C Trace Context, section 3.2.4


@pytest.fixture
def exporter(monkeypatch: pytest.MonkeyPatch) -> Iterator[InMemorySpanExporter]:
    """Where spans arrive that would go to a collector."""
    exporter, provider = InMemorySpanExporter(), TracerProvider(shutdown_on_exit=False)
    provider.add_span_processor(SimpleSpanProcessor(exporter))
    monkeypatch.setattr(app_module, "traces_to_collector", lambda: Traces(provider))
    yield exporter
    provider.shutdown()


async def test_a_request_is_one_span_named_after_its_route(sqlite_url: str, exporter: InMemorySpanExporter) -> None:
    async with serving(sqlite_url, traces=Switch.ON) as client:
        made = await client.post("/v1/matches", json=HORSE)
        await client.get(made.headers["location"])
        first, second = exporter.get_finished_spans()
    assert (first.name, first.kind) == ("POST /v1/matches", SpanKind.SERVER)
    assert second.name == "GET /v1/matches/{match_id}"
    assert first.attributes is not None
    assert first.attributes["http.response.status_code"] == 201
    assert first.attributes["hooflast.request_id"] == made.headers["x-request-id"]
    assert made.json()["id"] not in str(second.to_json())


async def test_a_span_belongs_to_the_trace_that_its_sender_names(
    sqlite_url: str, exporter: InMemorySpanExporter
) -> None:
    async with serving(sqlite_url, traces=Switch.ON) as client:
        await client.get("/health/live", headers={"traceparent": f"00-{TRACE}-{PARENT}-01"})
        await client.get("/health/live")
        named, own = exporter.get_finished_spans()
    assert named.parent is not None
    assert (f"{named.context.trace_id:032x}", f"{named.parent.span_id:016x}") == (TRACE, PARENT)
    assert own.parent is None


async def test_what_fails_is_marked_so(sqlite_url: str, exporter: InMemorySpanExporter) -> None:
    async with serving(sqlite_url, library=None, traces=Switch.ON) as client:
        refused = await client.post("/v1/matches", json=HORSE)
        (span,) = exporter.get_finished_spans()
    assert refused.status_code == 503
    assert span.status.status_code is StatusCode.ERROR


def test_spans_can_be_sent_where_the_extra_is_installed(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("OTEL_EXPORTER_OTLP_ENDPOINT", "http://127.0.0.1:9")
    monkeypatch.setenv("OTEL_BSP_EXPORT_TIMEOUT", "1")
    assert isinstance(traces.traces_to_collector(), Traces)
