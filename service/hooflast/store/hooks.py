"""Hooks: where tenants are told of what happens. Every query filters by tenant."""

from datetime import datetime
from typing import Final

from sqlalchemy import Update, delete, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.errors import NotFound
from hooflast.store import tables
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.errors import TooManyHooks
from hooflast.store.hook_values import Hook, HookId, WhyDisabled
from hooflast.store.locks import Lock, wait_for
from hooflast.store.match_job_ends import last_end
from hooflast.store.release_rows import last_step
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

MOST_HOOKS: Final = 20
"""How many hooks a tenant has at most."""

_TABLE: Final = tables.Hook


class Hooks:
    """The hooks of all tenants, each reached only by its own.

    `by` is who changes a hook; it is noted in the audit log where it is told.
    """

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def add(self, hook: Hook, *, by: Actor | None = None) -> Hook:
        """Keep a hook; it is told of what happens from now on. Raises TooManyHooks."""
        async with self._sessions.writing(tenant=hook.tenant) as session:
            await session.run_sync(lambda sync: wait_for(Lock.HOOKS, connection=sync.connection()))
            mine = select(func.count()).select_from(_TABLE).where(_TABLE.tenant_id == hook.tenant)
            if (await session.scalar(mine) or 0) >= MOST_HOOKS:
                raise TooManyHooks(limit=MOST_HOOKS)
            row = {
                "tenant_id": hook.tenant,
                "id": hook.id,
                "url": hook.url,
                "events": " ".join(hook.events),
                "secret": hook.secret,
                "told_to": await last_step(session),
                "told_of_jobs_to": await last_end(session, tenant=hook.tenant),
                "created_at": hook.created_at,
            }
            await session.execute(insert(_TABLE).values(row))
            made = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
            await session.execute(made(tables.HookTenant).values(tenant=hook.tenant).on_conflict_do_nothing())
            await _note(session, Deed.HOOK_MADE, tenant=hook.tenant, hook_id=hook.id, by=by)
            return await found(session, hook.id, tenant=hook.tenant)

    async def tenants(self) -> tuple[TenantId, ...]:
        """Everybody who has, or had, a hook."""
        async with self._sessions.reading() as session:
            return tuple(map(TenantId, await session.scalars(select(tables.HookTenant.tenant))))

    async def all(self, *, tenant: TenantId) -> tuple[Hook, ...]:
        """Every hook of `tenant`, oldest first."""
        async with self._sessions.reading(tenant=tenant) as session:
            rows = await session.scalars(select(_TABLE).where(_TABLE.tenant_id == tenant).order_by(_TABLE.id))
            return tuple(as_hook(row) for row in rows)

    async def find(self, hook_id: HookId, *, tenant: TenantId) -> Hook:
        """The hook of that id, if it is `tenant`'s. Raises NotFound."""
        async with self._sessions.reading(tenant=tenant) as session:
            return await found(session, hook_id, tenant=tenant)

    async def remove(self, hook_id: HookId, *, tenant: TenantId, by: Actor | None = None) -> None:
        """Erase a hook with everything that was, or was to be, delivered to it. Raises NotFound."""
        delivery = tables.HookDelivery
        async with self._sessions.writing(tenant=tenant) as session:
            await found(session, hook_id, tenant=tenant)
            of_it = delete(delivery).where(delivery.tenant_id == tenant, delivery.hook_id == hook_id)
            await session.execute(of_it)
            await session.execute(delete(_TABLE).where(_TABLE.tenant_id == tenant, _TABLE.id == hook_id))
            await _note(session, Deed.HOOK_REMOVED, tenant=tenant, hook_id=hook_id, by=by)

    async def rotate(
        self, hook_id: HookId, *, tenant: TenantId, secret: bytes, until: datetime, by: Actor | None = None
    ) -> Hook:
        """Sign with `secret` from now on, and with the one before as well until then. Raises NotFound."""
        async with self._sessions.writing(tenant=tenant) as session:
            hook = await found(session, hook_id, tenant=tenant)
            renewed = {"secret": secret, "former_secret": hook.secret, "former_until": until}
            await session.execute(_one(hook_id, tenant=tenant).values(renewed))
            await _note(session, Deed.HOOK_ROTATED, tenant=tenant, hook_id=hook_id, by=by)
            return await found(session, hook_id, tenant=tenant)

    async def enable(self, hook_id: HookId, *, tenant: TenantId) -> Hook:
        """Let a hook be told again, also of what it has missed. Raises NotFound."""
        async with self._sessions.writing(tenant=tenant) as session:
            await found(session, hook_id, tenant=tenant)
            await session.execute(_one(hook_id, tenant=tenant).values(disabled_at=None, disabled_why=None))
            return await found(session, hook_id, tenant=tenant)


async def _note(session: AsyncSession, deed: Deed, /, *, tenant: TenantId, hook_id: HookId, by: Actor | None) -> None:
    if by is not None:
        await note(session, deed, tenant=tenant, subject=hook_id, by=by)


def _one(hook_id: HookId, *, tenant: TenantId) -> Update:
    return update(_TABLE).where(_TABLE.tenant_id == tenant, _TABLE.id == hook_id)


async def found(session: AsyncSession, hook_id: HookId, *, tenant: TenantId) -> Hook:
    """The hook of that id in a transaction that somebody else holds. Raises NotFound."""
    query = select(_TABLE).where(_TABLE.tenant_id == tenant, _TABLE.id == hook_id)
    row = await session.scalar(query.execution_options(populate_existing=True))
    if row is None:
        raise NotFound(resource="hook", name=hook_id)
    return as_hook(row)


def as_hook(row: tables.Hook) -> Hook:
    """A row as a value."""
    return Hook(
        id=HookId(row.id),
        tenant=TenantId(row.tenant_id),
        url=row.url,
        events=tuple(row.events.split()),
        secret=row.secret,
        former_secret=row.former_secret,
        former_until=row.former_until,
        told_to=row.told_to,
        told_of_jobs_to=row.told_of_jobs_to,
        created_at=row.created_at,
        disabled_at=row.disabled_at,
        disabled_why=None if row.disabled_why is None else WhyDisabled(row.disabled_why),
    )
