"""Admission: who is let through, and for how much, before anything else is looked at (RFC 6750)."""

from dataclasses import dataclass
from typing import Any, Final, Protocol

from litestar.connection import ASGIConnection
from litestar.handlers import BaseRouteHandler

from hooflast.access.errors import AccessRefused, KeyMalformed, KeyMissing, KeyUnknown, LimitReached
from hooflast.access.key import Key, KeyKind, Scope
from hooflast.access.limit import Standing, policy_field, standing_field
from hooflast.access.meter import Meter
from hooflast.access.secret import read_key
from hooflast.access.visitor import UNKNOWN, visitor_of
from hooflast.api.caller import CALLER, RESPONSE_HEADERS, Caller
from hooflast.api.cors import readable_by
from hooflast.api.known_keys import KnownKeys
from hooflast.api.signing import Clock
from hooflast.matching.live_catalog import LiveCatalog
from hooflast.settings import Access
from hooflast.store import TenantId

Connection = ASGIConnection[Any, Any, Any, Any]
ADMISSION: Final = "admission"
_BEARER: Final = "bearer "


class Guard(Protocol):
    """What Litestar asks before a handler."""

    async def __call__(self, connection: Connection, _handler: BaseRouteHandler) -> None:
        """Raises what keeps the request out."""


def takes(scope: Scope) -> Guard:
    """Guard: the caller is known and may do this. Raises AccessRefused, StoreError."""

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
    catalog: LiveCatalog
    clock: Clock

    async def admit(self, connection: Connection, *, scope: Scope) -> Caller:
        """Who asks. Raises AccessRefused, StoreError, and what laying out the catalog of a key in test mode raises."""
        shown = connection.headers.get("authorization")
        if shown is None:
            if self.access is Access.OPEN:
                return self.everybody
            raise KeyMissing
        key = await self._genuine(shown)
        origin = connection.headers.get("origin")
        key.require_origin(origin)
        fields: list[tuple[bytes, bytes]] = connection.scope["state"].setdefault(RESPONSE_HEADERS, [])
        if origin is not None:
            fields += readable_by(origin)
        key.require_scope(scope)
        await self._count(key, connection=connection, fields=fields)
        fixed = None if key.fixed is None else await self.catalog.answered_from(key.fixed.catalog_release)
        return Caller(tenant=TenantId(key.tenant), scopes=key.scopes, key=key, fixed=fixed)

    async def _genuine(self, shown: str) -> Key:
        if shown[: len(_BEARER)].lower() != _BEARER:
            raise KeyMalformed
        presented = read_key(shown[len(_BEARER) :].strip())
        key = await self.keys.key(presented.key_id)
        if key is None:
            raise KeyUnknown
        key.require_genuine(presented, now=self.clock())
        return key

    async def _count(self, key: Key, *, connection: Connection, fields: list[tuple[bytes, bytes]]) -> None:
        limits = [(key.id, limit) for limit in key.counted_by()]
        if key.kind is KeyKind.BROWSER:
            address = connection.client.host if connection.client else UNKNOWN
            visitor = f"{key.id}/{visitor_of(address, key_id=key.id)}"
            limits += [(visitor, limit) for limit in key.counted_by_visitor()]
        fields.append((b"ratelimit-policy", policy_field(limit for _, limit in limits).encode()))
        try:
            standings = await self.meter.count(limits, now=self.clock())
        except LimitReached as reached:
            spent = next(limit for _, limit in limits if limit.name == reached.limit)
            fields.append(_standing(Standing(limit=spent, left=0, seconds=reached.seconds)))
            raise
        fields.append(_standing(*standings))


def _standing(*standings: Standing) -> tuple[bytes, bytes]:
    return b"ratelimit", standing_field(standings).encode()


def challenge(refused: AccessRefused, *, status: int) -> str | None:
    """The field `WWW-Authenticate` that goes with a refusal (RFC 6750, section 3)."""
    if status == 401:
        wrong = "" if isinstance(refused, KeyMissing) else ', error="invalid_token"'
        return f'Bearer realm="hooflast"{wrong}'
    needed = getattr(refused, "needed", None)
    return f'Bearer realm="hooflast", error="insufficient_scope", scope="{needed}"' if needed else None
