"""Schema: Schemathesis tries the service with all its checks, in every phase, on both databases."""

import asyncio
import json
import threading
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pytest
import schemathesis
import uvicorn
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import Status, events, from_schema
from schemathesis.engine.run import PhaseName
from tests.api.samples import LIBRARY, NOW, put_out

from hooflast.api.app import create_app
from hooflast.api.server import listen
from hooflast.api.wire import BoundedConfig
from hooflast.settings import Settings
from hooflast.store import open_store

CONFIG: Final = Path(__file__).resolve().parents[2] / "schemathesis.toml"
PHASES: Final = (PhaseName.EXAMPLES, PhaseName.COVERAGE, PhaseName.FUZZING, PhaseName.STATEFUL_TESTING)
CHECKS: Final = frozenset(
    {
        "not_a_server_error",
        "status_code_conformance",
        "content_type_conformance",
        "response_headers_conformance",
        "response_schema_conformance",
        "negative_data_rejection",
        "positive_data_acceptance",
        "unsupported_method",
        "allow_header_conformance",
        "use_after_free",
        "ensure_resource_availability",
    }
)


@schemathesis.serializer("application/x-ndjson")
def as_lines(_context: object, value: Any) -> bytes:
    """Horses as they are, and whatever else it occurs to somebody to send as one line."""
    return value.encode("utf-8", "surrogatepass") if isinstance(value, str) else json.dumps(value, default=str).encode()


@contextmanager
def listening(database_url: str) -> Iterator[str]:
    """The service in a thread of this process, and its address."""
    settings = Settings(database_url=database_url, port=0)

    def app() -> object:
        return create_app(settings, store=open_store(database_url), clock=lambda: NOW)

    config = BoundedConfig(
        app, head_bytes=65536, head_seconds=600, timeout_keep_alive=600, lifespan="on", ws="none", log_config=None
    )
    server = uvicorn.Server(config)
    with listen(settings) as listener:
        thread = threading.Thread(target=server.run, kwargs={"sockets": [listener]})
        thread.start()
        try:
            yield f"http://127.0.0.1:{listener.getsockname()[1]}"
        finally:
            server.should_exit = True
            thread.join()


@pytest.mark.full
def test_the_service_does_what_its_document_says(database_url: str) -> None:
    scenarios: Counter[PhaseName] = Counter()
    checked: Counter[str] = Counter()
    failures: dict[str, str] = {}
    asyncio.run(put_out(LIBRARY, database_url))
    with listening(database_url) as address:
        schema = schemathesis.openapi.from_url(
            f"{address}/openapi.json", config=SchemathesisConfig.from_path(str(CONFIG))
        )
        for event in from_schema(schema).execute():
            if isinstance(event, events.NonFatalError | events.FatalError):
                failures[repr(event)] = str(getattr(event, "value", event))
            if not isinstance(event, events.ScenarioFinished) or event.status is Status.SKIP:
                continue
            scenarios[event.phase] += 1
            for case_id, checks in event.recorder.checks.items():
                for check in checks:
                    checked[check.name] += 1
                    if check.failure_info is not None:
                        failure = check.failure_info.failure
                        key = f"{check.name} {failure.operation} {failure.title}"
                        failures[key] = f"{failure.message}\n{check.failure_info.code_sample}\n{case_id}"
    assert not failures, "\n\n".join(f"{name}\n{told}" for name, told in failures.items())
    assert {phase for phase in PHASES if scenarios[phase]} == set(PHASES)
    assert set(checked) >= CHECKS
