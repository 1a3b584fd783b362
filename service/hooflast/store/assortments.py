"""Assortments: what clients sell, kept whole and changed by SKU. Every query filters by tenant."""

from collections.abc import Iterable, Mapping
from dataclasses import replace
from datetime import datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, Select, and_, delete, func, insert, select, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.catalog.assortment import (
    MOST_ITEMS,
    Assortment,
    AssortmentHead,
    AssortmentId,
    AssortmentItem,
    BootSide,
    Sku,
)
from hooflast.catalog.values import SoldAs
from hooflast.errors import NotFound
from hooflast.store import tables
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.errors import AssortmentChanged, TooManyAssortments, TooManyItems
from hooflast.store.locks import Lock, wait_for
from hooflast.store.sessions import Sessions, hold_still
from hooflast.store.values import TenantId

MOST_ASSORTMENTS: Final = 20
RESOURCE: Final = "assortment"

_HEAD: Final = tables.Assortment
_ITEM: Final = tables.AssortmentItem
_COLUMNS: Final = [column for column in _ITEM.__table__.columns if column.name != "tenant_id"]
_ROWS_AT_ONCE: Final = 500


class Assortments:
    """The assortments of all tenants, each reached only by its own."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def add(self, assortment: Assortment, *, tenant: TenantId, by: Actor) -> AssortmentHead:
        """Keep a new assortment. Raises TooManyAssortments, TooManyItems."""
        head = assortment.head
        async with self._sessions.writing(tenant=tenant) as session:
            await _alone(session)
            mine = select(func.count()).select_from(_HEAD).where(_HEAD.tenant_id == tenant)
            if (await session.scalar(mine) or 0) >= MOST_ASSORTMENTS:
                raise TooManyAssortments(limit=MOST_ASSORTMENTS)
            row = {
                "tenant_id": tenant,
                "id": head.id,
                "name": head.name,
                "currency": head.currency,
                "revision": 1,
                "created_at": head.created_at,
                "as_of": head.as_of,
            }
            await session.execute(insert(_HEAD), row)
            await _put(session, assortment.items.values(), assortment_id=head.id, tenant=tenant)
            await note(session, Deed.ASSORTMENT_CHANGED, tenant=tenant, subject=head.id, by=by)
            return await _checked(session, head.id, tenant=tenant)

    async def change(
        self,
        assortment_id: AssortmentId,
        *,
        tenant: TenantId,
        by: Actor,
        as_of: datetime,
        name: str | None = None,
        currency: str | None = None,
        put: Iterable[AssortmentItem] = (),
        drop: Iterable[Sku] = (),
        whole: bool = False,
        revision: int | None = None,
    ) -> AssortmentHead:
        """Put items in the place of those of the same SKU, and drop others; with `whole`, nothing else is left.

        Raises NotFound, AssortmentChanged unless it is at `revision` (None: at any), TooManyItems.
        """
        put = list(put)
        async with self._sessions.writing(tenant=tenant) as session:
            await _alone(session)
            head = await _at(revision, session, assortment_id=assortment_id, tenant=tenant)
            gone = None if whole else {*drop, *(item.sku for item in put)}
            await _drop(session, gone, assortment_id=assortment_id, tenant=tenant)
            await _put(session, put, assortment_id=assortment_id, tenant=tenant)
            named = {"name": name, "currency": currency}
            told = {column: value for column, value in named.items() if value is not None}
            changed = {"revision": head.revision + 1, "as_of": as_of, **told}
            await session.execute(update(_HEAD).where(_is(assortment_id, tenant=tenant)).values(changed))
            await note(session, Deed.ASSORTMENT_CHANGED, tenant=tenant, subject=assortment_id, by=by)
            return await _checked(session, assortment_id, tenant=tenant)

    async def remove(self, assortment_id: AssortmentId, *, tenant: TenantId, by: Actor, revision: int | None) -> None:
        """Remove an assortment with all its items. Raises NotFound, AssortmentChanged."""
        async with self._sessions.writing(tenant=tenant) as session:
            await _alone(session)
            await _at(revision, session, assortment_id=assortment_id, tenant=tenant)
            await _drop(session, None, assortment_id=assortment_id, tenant=tenant)
            await session.execute(delete(_HEAD).where(_is(assortment_id, tenant=tenant)))
            await note(session, Deed.ASSORTMENT_REMOVED, tenant=tenant, subject=assortment_id, by=by)

    async def head(self, assortment_id: AssortmentId, *, tenant: TenantId) -> AssortmentHead:
        """An assortment without its items. Raises NotFound."""
        async with self._sessions.reading(tenant=tenant) as session:
            return await _head(session, assortment_id, tenant=tenant)

    async def heads(
        self, assortment_ids: Iterable[AssortmentId], *, tenant: TenantId
    ) -> dict[AssortmentId, AssortmentHead]:
        """Assortments without their items; what `tenant` does not have is left out."""
        async with self._sessions.reading(tenant=tenant) as session:
            return await _heads_of(session, assortment_ids, tenant=tenant)

    async def find(self, assortment_id: AssortmentId, *, tenant: TenantId) -> Assortment:
        """An assortment with all its items, as they were at one moment. Raises NotFound."""
        found = await self.find_each([assortment_id], tenant=tenant)
        if assortment_id not in found:
            raise NotFound(resource=RESOURCE, name=assortment_id)
        return found[assortment_id]

    async def find_each(
        self, assortment_ids: Iterable[AssortmentId], *, tenant: TenantId
    ) -> dict[AssortmentId, Assortment]:
        """Assortments with all their items, as they were at one moment; what `tenant` does not have is left out."""
        async with self._sessions.reading(tenant=tenant) as session:
            await hold_still(session)
            heads = await _heads_of(session, assortment_ids, tenant=tenant)
            items: dict[AssortmentId, dict[Sku, AssortmentItem]] = {head: {} for head in heads}
            those = and_(_ITEM.tenant_id == tenant, _ITEM.assortment_id.in_(heads))
            rows = await session.execute(select(*_COLUMNS).where(those).order_by(_ITEM.assortment_id, _ITEM.sku))
            for row in rows:
                items[row.assortment_id][Sku(row.sku)] = _item(row)
        return {
            one: Assortment(head=replace(head, items=len(items[one])), items=items[one]) for one, head in heads.items()
        }

    async def find_some(self, assortment_id: AssortmentId, *, tenant: TenantId, skus: Iterable[Sku]) -> Assortment:
        """An assortment with those of its items alone that are named. Raises NotFound."""
        listed = sorted(skus)
        items: dict[Sku, AssortmentItem] = {}
        async with self._sessions.reading(tenant=tenant) as session:
            head = await _head(session, assortment_id, tenant=tenant)
            for begin in range(0, len(listed), _ROWS_AT_ONCE):
                some = _ITEM.sku.in_(listed[begin : begin + _ROWS_AT_ONCE])
                rows = await session.scalars(select(_ITEM).where(_in(assortment_id, tenant=tenant), some))
                items |= {Sku(row.sku): _item(row) for row in rows}
        return Assortment(head=head, items=items)

    async def all(self, *, tenant: TenantId) -> tuple[AssortmentHead, ...]:
        """Every assortment of `tenant` without its items, oldest first: MOST_ASSORTMENTS at most."""
        async with self._sessions.reading(tenant=tenant) as session:
            rows = await session.execute(_heads().where(_HEAD.tenant_id == tenant).order_by(_HEAD.id))
            return tuple(_read(row, count=count) for row, count in rows)


def _heads() -> Select[Any]:
    count = (
        select(func.count())
        .where(_ITEM.tenant_id == _HEAD.tenant_id, _ITEM.assortment_id == _HEAD.id)
        .correlate(_HEAD)
        .scalar_subquery()
    )
    return select(_HEAD, count)


async def _alone(session: AsyncSession) -> None:
    await session.run_sync(lambda sync: wait_for(Lock.ASSORTMENTS, connection=sync.connection()))


async def _head(session: AsyncSession, assortment_id: AssortmentId, *, tenant: TenantId) -> AssortmentHead:
    query = _heads().where(_is(assortment_id, tenant=tenant))
    found = (await session.execute(query, execution_options={"populate_existing": True})).one_or_none()
    if found is None:
        raise NotFound(resource=RESOURCE, name=assortment_id)
    return _read(found[0], count=found[1])


async def _heads_of(
    session: AsyncSession, assortment_ids: Iterable[AssortmentId], *, tenant: TenantId
) -> dict[AssortmentId, AssortmentHead]:
    rows = await session.execute(_heads().where(_HEAD.tenant_id == tenant, _HEAD.id.in_(assortment_ids)))
    return {AssortmentId(row.id): _read(row, count=count) for row, count in rows}


async def _at(
    revision: int | None, session: AsyncSession, *, assortment_id: AssortmentId, tenant: TenantId
) -> AssortmentHead:
    """An assortment to be changed. Raises NotFound, AssortmentChanged unless it is at `revision` (None: any)."""
    head = await _head(session, assortment_id, tenant=tenant)
    if revision is not None and head.revision != revision:
        raise AssortmentChanged(assortment=assortment_id, revision=head.revision)
    return head


async def _checked(session: AsyncSession, assortment_id: AssortmentId, *, tenant: TenantId) -> AssortmentHead:
    """An assortment as it is now, before this transaction ends. Raises TooManyItems."""
    head = await _head(session, assortment_id, tenant=tenant)
    if head.items > MOST_ITEMS:
        raise TooManyItems(limit=MOST_ITEMS)
    return head


async def _put(
    session: AsyncSession, items: Iterable[AssortmentItem], *, assortment_id: AssortmentId, tenant: TenantId
) -> None:
    rows = [{"tenant_id": tenant, "assortment_id": assortment_id, **_row(item)} for item in items]
    if len(rows) > MOST_ITEMS:
        raise TooManyItems(limit=MOST_ITEMS)
    if rows:
        await session.execute(insert(_ITEM), rows)


async def _drop(
    session: AsyncSession, skus: Iterable[Sku] | None, *, assortment_id: AssortmentId, tenant: TenantId
) -> None:
    """Drop the items of these SKUs; of all, where `skus` is None."""
    those = _in(assortment_id, tenant=tenant)
    if skus is None:
        await session.execute(delete(_ITEM).where(those))
        return
    listed = sorted(skus)
    for begin in range(0, len(listed), _ROWS_AT_ONCE):
        await session.execute(delete(_ITEM).where(those, _ITEM.sku.in_(listed[begin : begin + _ROWS_AT_ONCE])))


def _is(assortment_id: AssortmentId, *, tenant: TenantId) -> ColumnElement[bool]:
    return and_(_HEAD.tenant_id == tenant, _HEAD.id == assortment_id)


def _in(assortment_id: AssortmentId, *, tenant: TenantId) -> ColumnElement[bool]:
    return and_(_ITEM.tenant_id == tenant, _ITEM.assortment_id == assortment_id)


def _row(item: AssortmentItem) -> Mapping[str, object]:
    return {
        "sku": item.sku,
        "gtin": item.gtin,
        "product": item.product,
        "size": item.size,
        "side": item.side,
        "sold_as": item.sold_as,
        "price_minor": item.price_minor,
        "stock": item.stock,
        "lead_days": item.lead_days,
    }


def _read(row: tables.Assortment, *, count: int) -> AssortmentHead:
    return AssortmentHead(
        id=AssortmentId(row.id),
        name=row.name,
        currency=row.currency,
        revision=row.revision,
        created_at=row.created_at,
        as_of=row.as_of,
        items=count,
    )


def _item(row: Any) -> AssortmentItem:
    """An item from a row of its table, or from as many columns of it."""
    return AssortmentItem(
        sku=Sku(row.sku),
        gtin=row.gtin,
        product=row.product,
        size=row.size,
        side=None if row.side is None else BootSide(row.side),
        sold_as=None if row.sold_as is None else SoldAs(row.sold_as),
        price_minor=row.price_minor,
        stock=row.stock,
        lead_days=row.lead_days,
    )
