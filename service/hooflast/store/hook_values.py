"""Hook values: hooks and deliveries as they go into the store and come out of it."""

from dataclasses import dataclass, field
from datetime import datetime
from enum import StrEnum
from typing import NewType

from hooflast.store.values import TenantId

HookId = NewType("HookId", str)
DeliveryId = NewType("DeliveryId", str)


class DeliveryStatus(StrEnum):
    """How far a delivery has come: on its way, arrived, or never to arrive."""

    PENDING = "pending"
    DELIVERED = "delivered"
    GIVEN_UP = "given_up"


class Failure(StrEnum):
    """Why an attempt failed."""

    STATUS = "status"
    TOO_SLOW = "too_slow"
    NO_CONNECTION = "no_connection"
    NAME_UNKNOWN = "name_unknown"
    ADDRESS_REFUSED = "address_refused"


class WhyDisabled(StrEnum):
    """Why a hook is told of nothing any more."""

    GONE = "gone"
    FAILING = "failing"


@dataclass(frozen=True, slots=True, kw_only=True)
class Hook:
    """An address at which a tenant is told of `events`, and the secrets that sign what is sent there."""

    id: HookId
    tenant: TenantId
    url: str
    events: tuple[str, ...]
    secret: bytes = field(repr=False)
    former_secret: bytes | None = field(repr=False, default=None)
    former_until: datetime | None = None
    told_to: int = 0
    told_of_jobs_to: int = 0
    created_at: datetime
    disabled_at: datetime | None = None
    disabled_why: WhyDisabled | None = None

    def secrets(self, *, now: datetime) -> tuple[bytes, ...]:
        """Those that are valid: the present one, and the former while it is."""
        if self.former_secret is None or self.former_until is None or self.former_until <= now:
            return (self.secret,)
        return (self.secret, self.former_secret)


@dataclass(frozen=True, slots=True, kw_only=True)
class Event:
    """Something that happened, with what is said of it. Its id is the same however often it is told."""

    id: str
    type: str
    happened_at: datetime
    body: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Delivery:
    """An event on its way to a hook. `last_status` and `last_failure` are of the last attempt that came to an end."""

    id: DeliveryId
    hook: HookId
    event: Event
    created_at: datetime
    status: DeliveryStatus
    attempts: int
    next_at: datetime
    settled_at: datetime | None
    last_status: int | None
    last_failure: Failure | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Claim:
    """A delivery that this process attempts now, and where to."""

    delivery: Delivery
    hook: Hook


@dataclass(frozen=True, slots=True, kw_only=True)
class Settlement:
    """What an attempt came to. `next_at` is when to try again, where the delivery stays pending."""

    status: DeliveryStatus
    next_at: datetime
    last_status: int | None
    last_failure: Failure | None
    disable: WhyDisabled | None = None
