"""Request counts: how much of each limit was taken, counted once for all processes by one statement."""

from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from sqlalchemy import delete
from sqlalchemy.dialects import postgresql, sqlite

from hooflast.access.meter import Asked
from hooflast.store import tables
from hooflast.store.sessions import Sessions


class RequestCounts:
    """The counts that all processes of the service share."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def take(self, asked: Sequence[Asked]) -> tuple[int, ...]:
        """Add every number to its count, all or none; what each count was before.

        When a window begins, counts of those that are over are dropped.
        They are always added to in one order, so that two processes never wait for each other.
        """
        rows = sorted((_row(one) for one in asked), key=lambda row: (row["whom"], row["limit_name"]))
        table = tables.RequestCount
        async with self._sessions.writing() as session:
            insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
            added = insert(table).values(rows)
            counted = added.on_conflict_do_update(
                index_elements=[table.whom, table.limit_name, table.window_began],
                set_={"taken": table.taken + added.excluded.taken},
            ).returning(table.whom, table.limit_name, table.taken)
            taken = {(whom, name): now for whom, name, now in await session.execute(counted)}
            before = tuple(taken[one.counted.whom, one.counted.limit.name] - one.requests for one in asked)
            if 0 in before:
                await session.execute(
                    delete(table).where(table.window_ends <= max(row["window_began"] for row in rows))
                )
        return before


def _row(asked: Asked) -> dict[str, Any]:
    counted = asked.counted
    return {
        "whom": counted.whom,
        "limit_name": counted.limit.name,
        "window_began": counted.window,
        "window_ends": counted.window + timedelta(seconds=counted.limit.seconds),
        "taken": asked.requests,
    }
