"""Tenants: make sure one exists before anything is kept for it."""

from datetime import datetime

from sqlalchemy import exists, select
from sqlalchemy.dialects import postgresql, sqlite

from hooflast.store.sessions import Sessions
from hooflast.store.tables import Tenant
from hooflast.store.values import TenantId


class Tenants:
    """Whom rows can belong to."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def ensure(self, tenant: TenantId, *, now: datetime) -> None:
        """Make `tenant` unless it exists; several processes may do so at once. Raises ValueError if it is empty."""
        if not tenant:
            raise ValueError("a tenant has a name")
        if await self.is_known(tenant):
            return
        async with self._sessions.writing(tenant=tenant) as session:
            insert = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
            row = {"id": tenant, "created_at": now}
            await session.execute(insert(Tenant).values(row).on_conflict_do_nothing())

    async def is_known(self, tenant: TenantId) -> bool:
        """Whether `tenant` exists."""
        async with self._sessions.reading(tenant=tenant) as session:
            return bool(await session.scalar(select(exists().where(Tenant.id == tenant))))
