"""Hook deliveries: events on their way to hooks: put down, claimed for an attempt, settled. All filter by tenant.

An event is put down for a hook once, in the transaction that moves the hook on past it. A claim moves `next_at` to the
end of a lease: whoever holds it settles before then, and where its process was killed the delivery is due again.
"""

from collections.abc import Collection, Sequence
from datetime import datetime, timedelta
from typing import Final

from sqlalchemy import ColumnElement, Executable, Select, and_, delete, exists, func, select, update
from sqlalchemy.dialects import postgresql, sqlite
from sqlalchemy.ext.asyncio import AsyncSession
from sqlalchemy.orm import InstrumentedAttribute, aliased

from hooflast.errors import NotFound
from hooflast.store import tables
from hooflast.store.hook_values import (
    Claim,
    Delivery,
    DeliveryId,
    DeliveryStatus,
    Event,
    Failure,
    Hook,
    HookId,
    Settlement,
)
from hooflast.store.hooks import as_hook
from hooflast.store.ids import new_id
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

LARGEST_PAGE: Final = 200

_TABLE: Final = tables.HookDelivery
_HOOK: Final = tables.Hook


class HookDeliveries:
    """The deliveries of all tenants, each reached only by its own."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def tell(self, hook: Hook, events: Sequence[Event], *, told_to: int, now: datetime) -> bool:
        """Put down what a hook is to be told of catalog releases, and that it was told so far.

        False if another process did so before.
        """
        return await self._tell(hook, events, moved=_moved(hook, _HOOK.told_to, to=told_to), now=now)

    async def tell_of_jobs(self, hook: Hook, events: Sequence[Event], *, told_to: int, now: datetime) -> bool:
        """The same for the ends of match jobs."""
        return await self._tell(hook, events, moved=_moved(hook, _HOOK.told_of_jobs_to, to=told_to), now=now)

    async def _tell(self, hook: Hook, events: Sequence[Event], *, moved: Executable, now: datetime) -> bool:
        async with self._sessions.writing(tenant=hook.tenant) as session:
            if await session.scalar(moved) is None:
                return False
            await _put(session, hook, events=events, now=now)
            return True

    async def repeat(self, hook: Hook, events: Sequence[Event], *, now: datetime) -> tuple[DeliveryId, ...]:
        """Deliver events again, or for the first time, from now on as if nothing had been tried."""
        wanted = [event.id for event in events]
        mine = and_(_TABLE.tenant_id == hook.tenant, _TABLE.hook_id == hook.id, _TABLE.event_id.in_(wanted))
        afresh = {"status": DeliveryStatus.PENDING.value, "attempts": 0, "next_at": now, "settled_at": None}
        async with self._sessions.writing(tenant=hook.tenant) as session:
            await _put(session, hook, events=events, now=now)
            await session.execute(update(_TABLE).where(mine).values(afresh))
            found = await session.execute(select(_TABLE.event_id, _TABLE.id).where(mine))
            ids = {row.event_id: DeliveryId(row.id) for row in found}
        return tuple(ids[event.id] for event in events)

    async def has_due(self, *, tenant: TenantId, now: datetime) -> bool:
        """Whether anything could be claimed."""
        async with self._sessions.reading(tenant=tenant) as session:
            return bool(await session.scalar(select(exists(_due(tenant, now=now)))))

    async def claim(
        self, *, tenant: TenantId, now: datetime, lease: timedelta, limit: int, only: DeliveryId | None = None
    ) -> tuple[Claim, ...]:
        """Deliveries that are due, for this process alone until the lease ends, longest due first."""
        due = _due(tenant, now=now).order_by(_TABLE.next_at, _TABLE.id).limit(limit)
        if only is not None:
            due = due.where(_TABLE.id == only)
        async with self._sessions.writing(tenant=tenant) as session:
            rows = (await session.execute(due.with_for_update(of=_TABLE, skip_locked=True))).all()
            begun = {"attempts": _TABLE.attempts + 1, "next_at": now + lease}
            ids = [delivery.id for delivery, _ in rows]
            mine = update(_TABLE).where(_TABLE.tenant_id == tenant, _TABLE.id.in_(ids))
            await session.execute(mine.values(begun).execution_options(synchronize_session=False))
            for delivery, _ in rows:
                await session.refresh(delivery)
            return tuple(Claim(delivery=_as_delivery(delivery), hook=as_hook(hook)) for delivery, hook in rows)

    async def settle(self, claim: Claim, settlement: Settlement, *, now: datetime) -> bool:
        """Note what an attempt came to; False if its lease had ended and it is another's by now."""
        tenant, delivery = claim.hook.tenant, claim.delivery
        is_settled = settlement.status is not DeliveryStatus.PENDING
        noted = (
            update(_TABLE)
            .where(
                _TABLE.tenant_id == tenant,
                _TABLE.id == delivery.id,
                _TABLE.status == DeliveryStatus.PENDING.value,
                _TABLE.next_at == delivery.next_at,
            )
            .values(
                status=settlement.status.value,
                next_at=settlement.next_at,
                settled_at=now if is_settled else None,
                last_status=settlement.last_status,
                last_failure=settlement.last_failure,
            )
            .returning(_TABLE.id)
        )
        disabled = (
            update(_HOOK)
            .where(_HOOK.tenant_id == tenant, _HOOK.id == delivery.hook, _HOOK.disabled_at.is_(None))
            .values(disabled_at=now, disabled_why=settlement.disable)
        )
        async with self._sessions.writing(tenant=tenant) as session:
            if await session.scalar(noted) is None:
                return False
            if settlement.disable is not None:
                await session.execute(disabled)
            return True

    async def has_arrived_since(self, moment: datetime, *, hook: Hook) -> bool:
        """Whether a hook has taken any delivery since."""
        arrived = exists().where(
            _TABLE.tenant_id == hook.tenant,
            _TABLE.hook_id == hook.id,
            _TABLE.status == DeliveryStatus.DELIVERED.value,
            _TABLE.settled_at >= moment,
        )
        async with self._sessions.reading(tenant=hook.tenant) as session:
            return bool(await session.scalar(select(arrived)))

    async def find(self, delivery_id: DeliveryId, *, hook: Hook) -> Delivery:
        """One delivery to a hook. Raises NotFound."""
        async with self._sessions.reading(tenant=hook.tenant) as session:
            row = await session.scalar(_of(hook).where(_TABLE.id == delivery_id))
        if row is None:
            raise NotFound(resource="delivery", name=delivery_id)
        return _as_delivery(row)

    async def page(
        self, *, hook: Hook, status: DeliveryStatus | None = None, before: str | None = None, limit: int = 50
    ) -> tuple[Delivery, ...]:
        """The deliveries to a hook of a status, newest first, from the one before `before` on."""
        query = _of(hook).order_by(_TABLE.id.desc()).limit(max(0, min(limit, LARGEST_PAGE)))
        if status is not None:
            query = query.where(_TABLE.status == status.value)
        if before is not None:
            query = query.where(_TABLE.id < before)
        async with self._sessions.reading(tenant=hook.tenant) as session:
            return tuple(_as_delivery(row) for row in await session.scalars(query))

    async def newest_of_each(
        self,
        hook_ids: Collection[HookId],
        *,
        tenant: TenantId,
        status: DeliveryStatus | None = None,
        before: str | None = None,
        limit: int = 50,
    ) -> dict[HookId, list[Delivery]]:
        """What `page` gives for each of some hooks, by one query; a hook without any is left out."""
        place = func.row_number().over(partition_by=_TABLE.hook_id, order_by=_TABLE.id.desc())
        query = select(_TABLE, place.label("place")).where(_TABLE.tenant_id == tenant, _TABLE.hook_id.in_(hook_ids))
        if status is not None:
            query = query.where(_TABLE.status == status.value)
        if before is not None:
            query = query.where(_TABLE.id < before)
        placed = query.subquery()
        row = aliased(_TABLE, placed)
        first = select(row).where(placed.c.place <= max(0, min(limit, LARGEST_PAGE))).order_by(row.id.desc())
        found: dict[HookId, list[Delivery]] = {}
        async with self._sessions.reading(tenant=tenant) as session:
            for one in await session.scalars(first):
                found.setdefault(HookId(one.hook_id), []).append(_as_delivery(one))
        return found

    async def forget(self, *, tenant: TenantId, settled_before: datetime) -> None:
        """Erase what was settled before a moment."""
        old = delete(_TABLE).where(_TABLE.tenant_id == tenant, _TABLE.settled_at < settled_before)
        async with self._sessions.writing(tenant=tenant) as session:
            await session.execute(old)


def _moved(hook: Hook, how_far: InstrumentedAttribute[int], *, to: int) -> Executable:
    """Moves on how far a hook was told, if it still is where it was."""
    before = getattr(hook, how_far.key)
    one = update(_HOOK).where(_HOOK.tenant_id == hook.tenant, _HOOK.id == hook.id, how_far == before)
    return one.values({how_far: to}).returning(_HOOK.id)


def _due(tenant: TenantId, *, now: datetime) -> Select[tables.HookDelivery, tables.Hook]:
    same: ColumnElement[bool] = and_(_HOOK.tenant_id == _TABLE.tenant_id, _HOOK.id == _TABLE.hook_id)
    return (
        select(_TABLE, _HOOK)
        .join(_HOOK, same)
        .where(
            _TABLE.tenant_id == tenant,
            _TABLE.status == DeliveryStatus.PENDING.value,
            _TABLE.next_at <= now,
            _HOOK.disabled_at.is_(None),
        )
    )


def _of(hook: Hook) -> Select[tables.HookDelivery]:
    return select(_TABLE).where(_TABLE.tenant_id == hook.tenant, _TABLE.hook_id == hook.id)


async def _put(session: AsyncSession, hook: Hook, *, events: Sequence[Event], now: datetime) -> None:
    """Events that a hook has not been told of yet; what it has stays as it is."""
    if not events:
        return
    rows = [
        {
            "tenant_id": hook.tenant,
            "id": new_id(),
            "hook_id": hook.id,
            "event_id": event.id,
            "event_type": event.type,
            "happened_at": event.happened_at,
            "body": event.body,
            "created_at": now,
            "status": DeliveryStatus.PENDING.value,
            "attempts": 0,
            "next_at": now,
        }
        for event in events
    ]
    made = postgresql.insert if session.get_bind().dialect.name == "postgresql" else sqlite.insert
    await session.execute(made(_TABLE).values(rows).on_conflict_do_nothing())


def _as_delivery(row: tables.HookDelivery) -> Delivery:
    return Delivery(
        id=DeliveryId(row.id),
        hook=HookId(row.hook_id),
        event=Event(id=row.event_id, type=row.event_type, happened_at=row.happened_at, body=row.body),
        created_at=row.created_at,
        status=DeliveryStatus(row.status),
        attempts=row.attempts,
        next_at=row.next_at,
        settled_at=row.settled_at,
        last_status=row.last_status,
        last_failure=None if row.last_failure is None else Failure(row.last_failure),
    )
