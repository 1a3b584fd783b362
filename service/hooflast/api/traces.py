"""Traces: one span for each request, told to whoever collects them (OpenTelemetry, W3C Trace Context).

Where spans go is for OpenTelemetry's own variables to say, such as OTEL_EXPORTER_OTLP_ENDPOINT. A span names the route,
never a client's ids, and carries the request id that stands in the log.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

from hooflast import __version__
from hooflast.api.refusals import NotInstalled
from hooflast.api.watching import Seen

if TYPE_CHECKING:
    from opentelemetry.sdk.trace import TracerProvider


class Traces:
    """The spans of one process. Raises NotInstalled without the extra `traces`."""

    def __init__(self, provider: "TracerProvider") -> None:
        from opentelemetry.trace.propagation.tracecontext import TraceContextTextMapPropagator

        self._provider = provider
        self._tracer = provider.get_tracer("hooflast", __version__)
        self._sender = TraceContextTextMapPropagator()

    @contextmanager
    def request(self, seen: Seen) -> Iterator[None]:
        """One span, a part of the sender's trace where it names one."""
        from opentelemetry.trace import SpanKind, Status, StatusCode

        sent = {name.decode("latin-1"): value.decode("latin-1") for name, value in seen.headers}
        with self._tracer.start_as_current_span(
            seen.method, context=self._sender.extract(sent), kind=SpanKind.SERVER
        ) as span:
            span.set_attribute("http.request.method", seen.method)
            span.set_attribute("hooflast.request_id", seen.request_id)
            yield
            span.update_name(f"{seen.method} {seen.route}")
            span.set_attribute("http.route", seen.route)
            span.set_attribute("http.response.status_code", seen.status)
            if seen.status >= 500:
                span.set_status(Status(StatusCode.ERROR))

    def stop(self) -> None:
        """Tell what has not been told yet."""
        self._provider.shutdown()


def traces_to_collector() -> Traces:
    """Spans told by OTLP over HTTP, in batches. Raises NotInstalled."""
    try:
        from opentelemetry.exporter.otlp.proto.http.trace_exporter import OTLPSpanExporter
        from opentelemetry.sdk.resources import Resource
        from opentelemetry.sdk.trace import TracerProvider
        from opentelemetry.sdk.trace.export import BatchSpanProcessor
    except ImportError as error:
        raise NotInstalled(extra="traces", reason=str(error)) from error
    about = {"service.name": "hooflast", "service.version": __version__}
    provider = TracerProvider(resource=Resource.create(about))
    provider.add_span_processor(BatchSpanProcessor(OTLPSpanExporter()))
    return Traces(provider)
