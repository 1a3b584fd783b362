"""Request counts: how much of each limit was taken, counted once for all processes by one statement."""

from collections.abc import Mapping, Sequence
from datetime import datetime, timedelta
from typing import Any, Final

from sqlalchemy import delete, select, tuple_
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.access.meter import Asked
from hooflast.store import tables
from hooflast.store.sessions import Sessions

KEPT_AFTER_ITS_END: Final = timedelta(hours=1)
"""A count is dropped only so long after its window: a clock that is behind must not begin it anew."""

MOST_DROPPED: Final = 1000


class RequestCounts:
    """The counts that all processes of the service share."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def take(self, asked: Sequence[Asked]) -> tuple[int, ...]:
        """Add every number to its count, all or none; what each count was before.

        When a count begins, some of those whose windows are long over are dropped.
        They are always added to in one order, and none is dropped that another process is at, so that two processes
        never wait for each other.
        """
        rows = sorted((_row(one) for one in asked), key=_place)
        table = tables.RequestCount
        async with self._sessions.writing() as session:
            insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
            added = insert(table).values(rows)
            counted = added.on_conflict_do_update(
                index_elements=[table.whom, table.limit_name, table.window_began],
                set_={"taken": table.taken + added.excluded.taken},
            ).returning(table.whom, table.limit_name, table.window_began, table.taken)
            taken = {(whom, name, began): now for whom, name, began, now in await session.execute(counted)}
            before = tuple(taken[_place(_row(one))] - one.requests for one in asked)
            if 0 in before:
                await _drop_old(session, began=max(row["window_began"] for row in rows))
        return before


async def _drop_old(session: AsyncSession, *, began: datetime) -> None:
    table = tables.RequestCount
    place = (table.whom, table.limit_name, table.window_began)
    old = select(*place).where(table.window_ends <= began - KEPT_AFTER_ITS_END).limit(MOST_DROPPED)
    await session.execute(
        delete(table).where(tuple_(*place).in_(old.with_for_update(skip_locked=True))),
        execution_options={"synchronize_session": False},
    )


def _place(row: Mapping[str, Any]) -> tuple[str, str, datetime]:
    return row["whom"], row["limit_name"], row["window_began"]


def _row(asked: Asked) -> dict[str, Any]:
    counted = asked.counted
    return {
        "whom": counted.whom,
        "limit_name": counted.limit.name,
        "window_began": counted.window,
        "window_ends": counted.window + timedelta(seconds=counted.limit.seconds),
        "taken": asked.requests,
    }
