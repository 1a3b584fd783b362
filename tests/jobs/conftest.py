"""What the tests of jobs share: a store with two tenants, a clock that is set by hand, and a postman."""

from collections.abc import AsyncIterator
from dataclasses import dataclass
from datetime import datetime, timedelta

import pytest
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.jobs.addresses import PrivateAddresses
from hooflast.jobs.delivering import Postman
from hooflast.jobs.sending import Sender
from hooflast.store import Store, open_store


@dataclass
class HandClock:
    """The time it is, until somebody moves it on."""

    now: datetime = NOW

    def __call__(self) -> datetime:
        return self.now

    def move(self, by: timedelta) -> None:
        self.now += by


@pytest.fixture
def clock() -> HandClock:
    return HandClock()


@pytest.fixture
async def store(anyio_backend: str, database_url: str) -> AsyncIterator[Store]:
    async with open_store(database_url) as opened:
        for tenant in (SHOP, CLINIC):
            await opened.tenants.ensure(tenant, now=NOW)
        yield opened


@pytest.fixture
async def sender(anyio_backend: str) -> AsyncIterator[Sender]:
    async with Sender(private=PrivateAddresses.ALLOW) as opened:
        yield opened


@pytest.fixture
def postman(store: Store, sender: Sender, clock: HandClock) -> Postman:
    return Postman(store=store, sender=sender, clock=clock, chance=lambda: 0.0)
