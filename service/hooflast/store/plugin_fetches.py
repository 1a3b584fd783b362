"""Plugin fetches: what came from each source of each catalog plugin the last time, to make the next conditional."""

import asyncio
import zlib
from collections.abc import Mapping

from sqlalchemy import delete, insert, select

from hooflast.catalog.plugin import Held
from hooflast.store import tables
from hooflast.store.sessions import Sessions

Fetches = Mapping[str, Mapping[str, Held]]
"""By plugin, and by the name of its source."""


class PluginFetches:
    """What was fetched last, for all processes of the service."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def replace(self, fetches: Fetches) -> None:
        """Keep these, in the place of what was kept of the same plugins; what is kept of others stays."""
        rows = await asyncio.to_thread(_rows, fetches)
        async with self._sessions.writing() as session:
            await session.execute(delete(tables.PluginFetch).where(tables.PluginFetch.plugin.in_(list(fetches))))
            if rows:
                await session.execute(insert(tables.PluginFetch), rows)

    async def all(self) -> dict[str, dict[str, Held]]:
        """Everything that is kept."""
        table = tables.PluginFetch
        query = select(table.plugin, table.source, table.version, table.packed)
        async with self._sessions.reading() as session:
            rows = (await session.execute(query)).all()
        found: dict[str, dict[str, Held]] = {}
        for row in rows:
            found.setdefault(row.plugin, {})[row.source] = Held(
                version=row.version, content=zlib.decompress(row.packed)
            )
        return found


def _rows(fetches: Fetches) -> list[dict[str, object]]:
    return [
        {"plugin": plugin, "source": source, "version": held.version, "packed": zlib.compress(held.content)}
        for plugin, sources in fetches.items()
        for source, held in sources.items()
    ]
