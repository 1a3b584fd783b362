"""Catalog watch: the live catalog kept up with the store, for as long as the application runs."""

import asyncio
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import structlog

from hooflast.errors import HooflastError
from hooflast.matching.live_catalog import LiveCatalog

log = structlog.stdlib.get_logger("hooflast.catalog")


@asynccontextmanager
async def keeping_up(catalog: LiveCatalog, *, every_seconds: float) -> AsyncIterator[None]:
    """Look at once, and again every so many seconds, what the store has published since.

    What cannot be read is told in the log, and what was served before is served on.
    """
    await look(catalog)
    watch = asyncio.create_task(_watch(catalog, every_seconds=every_seconds))
    try:
        yield
    finally:
        watch.cancel()
        await asyncio.gather(watch, return_exceptions=True)


async def _watch(catalog: LiveCatalog, *, every_seconds: float) -> None:
    while True:
        await asyncio.sleep(every_seconds)
        await look(catalog)


async def look(catalog: LiveCatalog) -> None:
    """Take up what changed, if anything did."""
    try:
        if await catalog.refresh():
            log.info("catalog", revision=catalog.revision, published=len(catalog.published))
    except HooflastError as error:
        log.warning("catalog not taken up", reason=str(error))
