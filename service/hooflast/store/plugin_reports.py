"""Plugin reports: kept for all processes of the service, the last ones only."""

from collections.abc import Mapping
from datetime import datetime

from sqlalchemy import delete, insert, select

from hooflast.store import tables
from hooflast.store.sessions import Sessions


class PluginReports:
    """What became of each catalog plugin the last time all were asked, as it was written."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def replace(self, reports: Mapping[str, bytes], *, asked_at: datetime) -> None:
        """Keep these reports, by plugin, in the place of all others."""
        rows = [{"plugin": name, "asked_at": asked_at, "report": report} for name, report in reports.items()]
        async with self._sessions.writing() as session:
            await session.execute(delete(tables.PluginReport))
            if rows:
                await session.execute(insert(tables.PluginReport), rows)

    async def all(self) -> dict[str, bytes]:
        """Every report, by plugin in the order of their names."""
        query = select(tables.PluginReport.plugin, tables.PluginReport.report).order_by(tables.PluginReport.plugin)
        async with self._sessions.reading() as session:
            return {row.plugin: row.report for row in await session.execute(query)}
