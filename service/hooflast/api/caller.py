"""Caller: on whose behalf a request is answered, as admission found it."""

from dataclasses import dataclass, field
from datetime import UTC, datetime
from typing import Any, Final

from hooflast.access.key import ALL_SCOPES, Key, Scope
from hooflast.matching.shelf import Shelf
from hooflast.store import TenantId
from hooflast.store.audit import Actor

REQUEST_ID: Final = "request_id"
CALLER: Final = "caller"
RESPONSE_HEADERS: Final = "response_headers"
"""Under these names a request's state holds its id, its caller, and the fields to add to whatever answers it."""

OPEN: Final = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class Caller:
    """Whose rows a request reaches, and what it may do. `fixed` is the catalog release of a key in test mode."""

    tenant: TenantId
    scopes: frozenset[Scope] = ALL_SCOPES
    key: Key | None = None
    fixed: Shelf | None = field(default=None, repr=False)

    def now(self, clock: datetime) -> datetime:
        """The moment it is for this caller: in test mode always on the same day."""
        if self.key is None or self.key.fixed is None:
            return clock
        return datetime.combine(self.key.fixed.day, clock.time(), UTC)

    def actor(self, *, at: datetime, request_id: str) -> Actor:
        """What the audit log calls it, where times are real ones in test mode, too."""
        return Actor(who=OPEN if self.key is None else f"key:{self.key.id}", at=at, request_id=request_id)


def caller_of(scope: Any) -> Caller | None:
    """The caller that admission let through; None for what is open to everybody."""
    found: Caller | None = scope["state"].get(CALLER)
    return found
