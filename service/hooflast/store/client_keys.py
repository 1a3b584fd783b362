"""Client keys: made, found by whoever shows one, rotated and revoked; every change is noted in the audit log.

A key is looked up before it is known whose it is: row-level security shows the rows whose ids were shown, besides those
of the tenant that a transaction belongs to.
"""

from collections.abc import Collection, Iterator
from datetime import datetime
from typing import Any, Final

from sqlalchemy import ColumnElement, exists, insert, literal, select, text, update
from sqlalchemy.ext.asyncio import AsyncSession

from hooflast.access.errors import KeyRevoked
from hooflast.access.key import FixedWorld, KeptSecret, Key, KeyKind, KeyLimits, KeyMode, Scope
from hooflast.errors import NotFound
from hooflast.store import tables
from hooflast.store.audit import Actor, Deed, note
from hooflast.store.sessions import Sessions
from hooflast.store.values import TenantId

RESOURCE: Final = "key"
_SHOW: Final = text("select set_config('app.key', :key, true), set_config('app.origin', :origin, true)")


class ClientKeys:
    """The keys of all clients. `Key.tenant` is the tenant whose rows a key reaches."""

    def __init__(self, sessions: Sessions) -> None:
        self._sessions = sessions

    async def add(self, key: Key, *, by: Actor) -> None:
        """Keep a new key; its tenant is there already."""
        tenant = TenantId(key.tenant)
        async with self._sessions.writing(tenant=tenant) as session:
            await session.execute(insert(tables.ClientKey), _row(key))
            await note(session, Deed.KEY_CREATED, tenant=tenant, subject=key.id, by=by)

    async def shown(self, key_id: str) -> Key | None:
        """The key of that id, whosever it is, for a request that shows it."""
        async with self._sessions.reading() as session:
            await _let_see(session, key=key_id)
            return next(iter(await _keys(session, tables.ClientKey.id == key_id)), None)

    async def shown_together(self, key_ids: Collection[str]) -> dict[str, Key]:
        """Those keys of these ids that there are, whosever they are, by one query."""
        async with self._sessions.reading() as session:
            await _let_see(session, key=" ".join(key_ids))
            return {key.id: key for key in await _keys(session, tables.ClientKey.id.in_(key_ids))}

    async def is_origin_known(self, origin: str) -> bool:
        """Whether any key that was not revoked is for pages of `origin`."""
        key = tables.ClientKey
        listed = (literal(" ") + key.origins + " ").contains(f" {origin} ", autoescape=True)
        async with self._sessions.reading() as session:
            await _let_see(session, origin=origin)
            return bool(await session.scalar(select(exists().where(listed, key.revoked_at.is_(None)))))

    async def of_tenant(self, tenant: TenantId) -> tuple[Key, ...]:
        """The keys that reach the rows of `tenant`, oldest first, revoked ones too."""
        async with self._sessions.reading(tenant=tenant) as session:
            return await _keys(session, tables.ClientKey.tenant_id == tenant)

    async def rotate(self, key_id: str, *, tenant: TenantId, digest: bytes, old_until: datetime, by: Actor) -> Key:
        """Give a key a new secret; the one before is accepted until `old_until`, an earlier one no more.

        Raises NotFound, KeyRevoked.
        """
        async with self._sessions.writing(tenant=tenant) as session:
            key = await _own(session, key_id, tenant=tenant)
            if key.revoked_at is not None:
                raise KeyRevoked(key=key_id, at=key.revoked_at.isoformat(timespec="seconds"))
            await _change(session, key, digest=digest, digest_before=key.secrets[0].digest, before_until=old_until)
            await note(session, Deed.KEY_ROTATED, tenant=tenant, subject=key_id, by=by)
            return await _own(session, key_id, tenant=tenant)

    async def revoke(self, key_id: str, *, tenant: TenantId, by: Actor) -> Key:
        """From now on the key is refused; once more changes nothing. Raises NotFound."""
        async with self._sessions.writing(tenant=tenant) as session:
            key = await _own(session, key_id, tenant=tenant)
            if key.revoked_at is None:
                await _change(session, key, revoked_at=by.at)
                await note(session, Deed.KEY_REVOKED, tenant=tenant, subject=key_id, by=by)
            return await _own(session, key_id, tenant=tenant)


async def _let_see(session: AsyncSession, *, key: str = "", origin: str = "") -> None:
    """Let row-level security show the keys that requests themselves name, until this transaction ends.

    `key` holds the ids of keys, parted by spaces.
    """
    if session.get_bind().dialect.name == "postgresql":
        await session.execute(_SHOW, {"key": key, "origin": origin})


async def _own(session: AsyncSession, key_id: str, *, tenant: TenantId) -> Key:
    """A tenant's own key, which nobody else changes until this transaction ends."""
    table = tables.ClientKey
    one = select(table).where(table.id == key_id, table.tenant_id == tenant).with_for_update()
    found = (await session.scalars(one)).one_or_none()
    if found is None:
        raise NotFound(resource=RESOURCE, name=key_id)
    return _key(found)


async def _keys(session: AsyncSession, which: ColumnElement[bool]) -> tuple[Key, ...]:
    rows = await session.scalars(select(tables.ClientKey).where(which).order_by(tables.ClientKey.id))
    return tuple(_key(row) for row in rows)


async def _change(session: AsyncSession, key: Key, **columns: object) -> None:
    await session.execute(update(tables.ClientKey).where(tables.ClientKey.id == key.id).values(columns))
    session.expire_all()


def _row(key: Key) -> dict[str, Any]:
    newest = key.secrets[0]
    return {
        "id": key.id,
        "tenant_id": key.tenant,
        "name": key.name,
        "kind": key.kind.value,
        "mode": key.mode.value,
        "scopes": " ".join(sorted(key.scopes)),
        "origins": " ".join(key.origins),
        "per_minute": key.limits.per_minute,
        "per_day": key.limits.per_day,
        "per_visitor_minute": key.limits.per_visitor_minute,
        "digest": newest.digest,
        "created_at": key.created_at,
        "created_by": key.created_by,
        "expires_at": key.expires_at,
        "fixed_release": None if key.fixed is None else key.fixed.catalog_release,
        "fixed_day": None if key.fixed is None else key.fixed.day,
    }


def _key(row: tables.ClientKey) -> Key:
    return Key(
        id=row.id,
        tenant=row.tenant_id,
        name=row.name,
        kind=KeyKind(row.kind),
        mode=KeyMode(row.mode),
        scopes=frozenset(map(Scope, row.scopes.split())),
        origins=tuple(row.origins.split()),
        secrets=tuple(_secrets(row)),
        limits=KeyLimits(per_minute=row.per_minute, per_day=row.per_day, per_visitor_minute=row.per_visitor_minute),
        created_at=row.created_at,
        created_by=row.created_by,
        expires_at=row.expires_at,
        revoked_at=row.revoked_at,
        fixed=_fixed(row),
    )


def _secrets(row: tables.ClientKey) -> Iterator[KeptSecret]:
    yield KeptSecret(digest=row.digest)
    if row.digest_before is not None:
        yield KeptSecret(digest=row.digest_before, until=row.before_until)


def _fixed(row: tables.ClientKey) -> FixedWorld | None:
    if row.fixed_release is None or row.fixed_day is None:
        return None
    return FixedWorld(catalog_release=row.fixed_release, day=row.fixed_day)
