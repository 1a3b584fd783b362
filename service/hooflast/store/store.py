"""Store: one database, opened for serving, with a repository for each kind of thing it holds."""

import asyncio
from types import TracebackType
from typing import Self

from sqlalchemy.ext.asyncio import AsyncEngine

from hooflast.store import migrations
from hooflast.store.answers import answers_of
from hooflast.store.assortments import Assortments
from hooflast.store.audit import AuditLog
from hooflast.store.change_listener import ChangeListener
from hooflast.store.client_keys import ClientKeys
from hooflast.store.engine import make_engine
from hooflast.store.errors import SchemaNotCurrent, StoreUnavailable
from hooflast.store.hook_deliveries import HookDeliveries
from hooflast.store.hooks import Hooks
from hooflast.store.idempotency import IdempotencyKeys
from hooflast.store.match_job_ends import MatchJobEnds
from hooflast.store.match_job_turns import MatchJobTurns
from hooflast.store.match_jobs import MatchJobs
from hooflast.store.plugin_fetches import PluginFetches
from hooflast.store.plugin_reports import PluginReports
from hooflast.store.publisher_lock import PublisherLock
from hooflast.store.releases import Releases
from hooflast.store.request_counts import RequestCounts
from hooflast.store.seal_keys import SealKeys
from hooflast.store.serving_role import read_role
from hooflast.store.sessions import Sessions, database_errors
from hooflast.store.signing_keys import SigningKeys
from hooflast.store.tenants import Tenants
from hooflast.store.values import DatabaseRole


class Store:
    """`async with Store(engine) as store:` starts it and stops it.

    Reading works without a start; keeping needs it. Stopping finishes what is being kept and closes the engine.
    """

    def __init__(self, engine: AsyncEngine, *, batch_size: int = 64, most_waiting: int = 1024) -> None:
        self._engine = engine
        sessions = Sessions(engine)
        self.tenants = Tenants(sessions)
        self.client_keys = ClientKeys(sessions)
        self.request_counts = RequestCounts(sessions)
        self.idempotency_keys = IdempotencyKeys(sessions)
        self.assortments = Assortments(sessions)
        self.audit = AuditLog(sessions)
        self.signing_keys = SigningKeys(sessions)
        self.seal_keys = SealKeys(sessions)
        self.releases = Releases(sessions)
        self.plugin_reports = PluginReports(sessions)
        self.plugin_fetches = PluginFetches(sessions)
        self.publisher_lock = PublisherLock(engine)
        self.changes = ChangeListener(engine)
        self.hooks = Hooks(sessions)
        self.hook_deliveries = HookDeliveries(sessions)
        self.match_jobs = MatchJobs(sessions)
        self.match_job_ends = MatchJobEnds(sessions)
        self.match_job_turns = MatchJobTurns(sessions)
        self.answers = answers_of(engine, sessions=sessions, batch_size=batch_size, most_waiting=most_waiting)

    async def start(self) -> None:
        """Begin to keep answers."""
        await self.answers.start()

    async def stop(self) -> None:
        """Finish what is being kept, take nothing more, and close every connection."""
        await self.answers.stop()
        await self._engine.dispose()

    async def __aenter__(self) -> Self:
        await self.start()
        return self

    async def __aexit__(
        self, _type: type[BaseException] | None, _error: BaseException | None, _traceback: TracebackType | None
    ) -> None:
        await self.stop()

    async def require_ready(self, *, within_seconds: float = 2.0) -> None:
        """Return if the database answers and the tables are at head. Raises StoreUnavailable, SchemaNotCurrent."""
        try:
            with database_errors():
                async with asyncio.timeout(within_seconds), self._engine.connect() as connection:
                    found = await migrations.revision_of(connection)
        except StoreUnavailable as error:
            if isinstance(error.__cause__, TimeoutError):
                raise StoreUnavailable(reason=f"no answer within {within_seconds:g} s") from error
            raise
        if found != migrations.head():
            raise SchemaNotCurrent(found=found, expected=migrations.head())

    async def role(self) -> DatabaseRole | None:
        """Whom PostgreSQL takes us for, so that a start can warn if that is no plain role; None on SQLite."""
        with database_errors():
            async with self._engine.connect() as connection:
                return await read_role(connection)


def open_store(url: str) -> Store:
    """The store at `url`, not yet started. Raises DatabaseUrlRefused, DatabaseFolderMissing."""
    return Store(make_engine(url))
