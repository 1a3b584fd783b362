"""What the tests of HTTP share: clients of the service, and the events it logs."""

from collections.abc import AsyncIterator, Iterator
from typing import Any

import httpx
import pytest
import structlog
from tests.api.samples import serving


@pytest.fixture(autouse=True)
def events() -> Iterator[list[Any]]:
    with structlog.testing.capture_logs(processors=[structlog.contextvars.merge_contextvars]) as captured:
        yield captured


@pytest.fixture
async def client(anyio_backend: str, sqlite_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service on SQLite, for what no database has a part in."""
    async with serving(sqlite_url) as opened:
        yield opened


@pytest.fixture
async def client_on_both(anyio_backend: str, database_url: str) -> AsyncIterator[httpx.AsyncClient]:
    """A client of the service, once on SQLite and once on PostgreSQL."""
    async with serving(database_url) as opened:
        yield opened
