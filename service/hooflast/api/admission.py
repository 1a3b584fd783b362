"""Admission: who is let through, and for how much, before anything else is looked at (RFC 6750)."""

from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from typing import Final

from litestar.handlers import BaseRouteHandler

from hooflast.access.errors import (
    AccessRefused,
    FixedReleaseGone,
    KeyMalformed,
    KeyMissing,
    KeyUnknown,
    LimitReached,
)
from hooflast.access.guesses import Guesses
from hooflast.access.key import Key, KeyKind, Scope
from hooflast.access.limit import Limit, Standing, policy_field, standing_field
from hooflast.access.meter import Meter
from hooflast.access.secret import Presented, read_key
from hooflast.access.visitor import UNKNOWN, visitor_of
from hooflast.api.caller import CALLER, RESPONSE_HEADERS, Caller
from hooflast.api.cors import readable_by
from hooflast.api.known_keys import Asking, KnownKeys
from hooflast.api.negotiation import Connection, Guard
from hooflast.api.signing import Clock
from hooflast.catalog.errors import ReleaseGone
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.matching.shelf import Shelf
from hooflast.settings import Access
from hooflast.store import TenantId

ADMISSION: Final = "admission"
_BEARER: Final = "bearer"


def takes(scope: Scope | None) -> Guard:
    """Guard: the caller is known and may do this; None: each part of it says for itself what it takes.

    Raises AccessRefused, StoreError.
    """

    async def admit(connection: Connection, _handler: BaseRouteHandler) -> None:
        admission: Admission = connection.app.state[ADMISSION]
        connection.scope["state"][CALLER] = await admission.admit(connection, scope=scope)

    return admit


@dataclass(frozen=True, slots=True, kw_only=True)
class Admission:
    """What one process lets through: anybody for the tenant of the settings, or only who shows a key."""

    access: Access
    everybody: Caller
    keys: KnownKeys
    meter: Meter
    guesses: Guesses
    catalog: LiveCatalog
    clock: Clock

    async def admit(self, connection: Connection, *, scope: Scope | None) -> Caller:
        """Who asks. Raises AccessRefused, StoreError, and what laying out the catalog of a key in test mode raises.

        Once a key's secret and origin are right, pages of that origin may read whatever the answer is.
        """
        presented = _presented(connection.headers.getall("authorization", []))
        if presented is None:
            if self.access is Access.OPEN:
                return self.everybody
            raise KeyMissing
        fields: list[tuple[bytes, bytes]] = connection.scope["state"].setdefault(RESPONSE_HEADERS, [])
        now = self.clock()
        key = await self._genuine(presented, address=_address_of(connection), fields=fields, now=now)
        origin = connection.headers.get("origin")
        key.require_origin(origin)
        if origin is not None:
            fields += readable_by(origin)
        key.require_valid(now)
        if scope is not None:
            key.require_scope(scope)
        await self._count(key, connection=connection, fields=fields)
        return Caller(tenant=TenantId(key.tenant), scopes=key.scopes, key=key, fixed=await self._fixed(key))

    async def _genuine(
        self, presented: Presented, *, address: str, fields: list[tuple[bytes, bytes]], now: datetime
    ) -> Key:
        """The key that was presented. Raises KeyUnknown, or LimitReached where too many unknown ones came from there.

        It is looked for in any case: nobody is kept out for what others guess from the same address.
        """
        asking = Asking.TOGETHER if self.guesses.are_spent(address, now=now) else Asking.ALONE
        key = await self.keys.genuine(presented, now=now, asking=asking)
        if key is not None:
            return key
        with _telling([self.guesses.limit], fields=fields):
            standing = await self.guesses.count(address, now=now)
        fields.append(_standing(standing))
        raise KeyUnknown

    async def _fixed(self, key: Key) -> Shelf | None:
        """The catalog release that a key in test mode works on, withdrawn or not. Raises FixedReleaseGone."""
        if key.fixed is None:
            return None
        try:
            return await self.catalog.answered_from(key.fixed.catalog_release)
        except ReleaseGone as gone:
            raise FixedReleaseGone(key=key.id, release=gone.release) from gone

    async def _count(self, key: Key, *, connection: Connection, fields: list[tuple[bytes, bytes]]) -> None:
        limits = [(key.id, limit) for limit in key.counted_by()]
        if key.kind is KeyKind.BROWSER:
            visitor = f"{key.id}/{visitor_of(_address_of(connection), key_id=key.id)}"
            limits += [(visitor, limit) for limit in key.counted_by_visitor()]
        with _telling([limit for _, limit in limits], fields=fields):
            standings = await self.meter.count(limits, now=self.clock())
        fields.append(_standing(*standings))


def _address_of(connection: Connection) -> str:
    """Where a request comes from, as far as that is known."""
    return connection.client.host if connection.client else UNKNOWN


def _presented(shown: Sequence[str]) -> Presented | None:
    """The key in the fields `Authorization`; None where no key was meant (RFC 6750, section 3.1). Raises KeyMalformed.

    The field comes once or not at all: of two, another might read the other one.
    """
    if len(shown) > 1:
        raise KeyMalformed
    for field in shown:
        scheme, _, written = field.partition(" ")
        if scheme.lower() == _BEARER:
            return read_key(written.strip(" "))
    return None


@contextmanager
def _telling(limits: Sequence[Limit], *, fields: list[tuple[bytes, bytes]]) -> Iterator[None]:
    """Tell the limits that are counted against within, and the one that is reached, if one is."""
    fields.append((b"ratelimit-policy", policy_field(limits).encode()))
    try:
        yield
    except LimitReached as reached:
        spent = next(limit for limit in limits if limit.name == reached.limit)
        fields.append(_standing(Standing(limit=spent, left=0, seconds=reached.seconds)))
        raise


def _standing(*standings: Standing) -> tuple[bytes, bytes]:
    return b"ratelimit", standing_field(standings).encode()


def challenge(refused: AccessRefused, *, status: int) -> str | None:
    """The field `WWW-Authenticate` that goes with a refusal (RFC 6750, section 3)."""
    if status == 401:
        wrong = "" if isinstance(refused, KeyMissing) else ', error="invalid_token"'
        return f'Bearer realm="hooflast"{wrong}'
    needed = getattr(refused, "needed", None)
    return f'Bearer realm="hooflast", error="insufficient_scope", scope="{needed}"' if needed else None
