"""Catalog watch: the live catalog kept up with the store, for as long as the application runs."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext, suppress

import structlog

from hooflast.errors import HooflastError
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.store.change_listener import ChangeListener, Heard, Patience

log = structlog.stdlib.get_logger("hooflast.catalog")


@asynccontextmanager
async def keeping_up(
    catalog: LiveCatalog,
    *,
    every_seconds: float,
    changes: ChangeListener | None = None,
    patience: Patience | None = None,
) -> AsyncIterator[None]:
    """Look at once, and again every so many seconds, what the store has published since; sooner if `changes` tells.

    What cannot be read is told in the log, and what was served before is served on.
    """
    await look(catalog)
    changed = asyncio.Event()
    watch = asyncio.create_task(_watch(catalog, every_seconds=every_seconds, changed=changed))
    heard = Heard(changed=changed.set, deaf=_deaf)
    try:
        async with nullcontext() if changes is None else changes.listening(heard, patience=patience):
            yield
    finally:
        watch.cancel()
        await asyncio.gather(watch, return_exceptions=True)


async def _watch(catalog: LiveCatalog, *, every_seconds: float, changed: asyncio.Event) -> None:
    while True:
        with suppress(TimeoutError):
            async with asyncio.timeout(every_seconds):
                await changed.wait()
        changed.clear()
        await look(catalog)


def _deaf(reason: str) -> None:
    log.info("catalog notifications lost, looking now and then goes on", reason=reason)


async def look(catalog: LiveCatalog) -> None:
    """Take up what changed, if anything did."""
    try:
        if await catalog.refresh():
            log.info("catalog", revision=catalog.revision, published=len(catalog.published))
    except HooflastError as error:
        log.warning("catalog not taken up", reason=str(error))
