"""Stored: how commands reach the catalog releases in the store, and sign the steps they take."""

import asyncio
import getpass
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import UTC, datetime
from typing import Any, Final, TypeVar

import click

from hooflast.catalog.lifecycle import KeptRelease, Signature
from hooflast.catalog.naming import find_named
from hooflast.catalog.values import CatalogRelease
from hooflast.cli.speaking import Speaking
from hooflast.store import (
    DatabaseFolderMissing,
    SchemaNotCurrent,
    Store,
    StoreUnavailable,
    has_database,
    open_store,
)
from hooflast.store.audit import Actor
from hooflast.store.releases import LARGEST_PAGE

Answer = TypeVar("Answer")
Command = Callable[..., Any]

_BY: Final = click.option("--by", help="cli.releases.by")
_NOTE: Final = click.option("--note", default="", help="cli.releases.note")


def signed(command: Command) -> Command:
    """Gives a command the options that say who takes a step, and what they say to it."""
    return _BY(_NOTE(command))


def signature(by: str | None, *, note: str) -> Signature:
    """Signed now by whoever is named, or else by the user of this machine."""
    return Signature(by=by or getpass.getuser(), at=datetime.now(UTC), note=note)


def somebody(at: datetime) -> Actor:
    """The user of this machine, as the audit log calls them."""
    return Actor(who=f"user:{getpass.getuser()}", at=at)


def with_store(speak: Speaking, take: Callable[[Store], Awaitable[Answer]]) -> Answer:
    """What `take` gives on the store that the settings name. Raises StoreError."""

    async def run() -> Answer:
        async with store_of(speak) as store:
            return await take(store)

    return asyncio.run(run())


def with_store_if_ready(speak: Speaking, take: Callable[[Store], Awaitable[Answer]]) -> Answer | None:
    """What `take` gives; None where there is no store, or its tables are not those of this version. Makes none."""

    async def run() -> Answer | None:
        try:
            async with store_of(speak) as store:
                return await take(store)
        except (SchemaNotCurrent, StoreUnavailable, DatabaseFolderMissing):
            return None

    return asyncio.run(run()) if has_database(speak.settings.database_url) else None


@asynccontextmanager
async def store_of(speak: Speaking) -> AsyncIterator[Store]:
    """The store that the settings name, opened. Raises StoreError."""
    async with open_store(speak.settings.database_url) as store:
        await store.require_ready()
        yield store


async def every_release(store: Store) -> list[KeptRelease]:
    """All that are kept, newest day first."""
    found: list[KeptRelease] = []
    after = None
    while page := await store.releases.page(after=after, limit=LARGEST_PAGE):
        found += page
        after = (page[-1].released_on, page[-1].id)
    return found


async def named(store: Store, name: str) -> KeptRelease:
    """The one a person means. Raises NotFound, InputRefused."""
    return find_named(name, among=await every_release(store))


async def active_content(store: Store) -> CatalogRelease | None:
    """The active catalog release, if there is one."""
    active = await store.releases.active()
    return None if active.release is None else await store.releases.read(active.release)
