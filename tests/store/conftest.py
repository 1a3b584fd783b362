"""What the tests of the store share: a started store with two tenants and a signing key in it."""

from collections.abc import AsyncIterator

import pytest
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.store import Store, open_store


@pytest.fixture
async def store(anyio_backend: str, database_url: str) -> AsyncIterator[Store]:
    async with open_store(database_url) as opened:
        await opened.tenants.ensure(SHOP, now=NOW)
        await opened.tenants.ensure(CLINIC, now=NOW)
        await opened.signing_keys.ensure_first(now=NOW)
        yield opened


@pytest.fixture
async def kid(store: Store) -> str:
    return (await store.signing_keys.ensure_first(now=NOW)).kid
