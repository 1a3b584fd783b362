"""Limit: how often something may be asked in which time, and the fields that tell a client how it stands.

The fields are those of draft-ietf-httpapi-ratelimit-headers: Structured Fields (RFC 9651), one item a limit.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime
from math import ceil

SHARE_TAKEN_AT_ONCE = 20
"""A process takes a twentieth of a limit at once: so many times fewer writes, and so much may be left unused."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Limit:
    """At most `most` requests in each window of `seconds`; windows begin at multiples of it since 1970."""

    name: str
    most: int
    seconds: int

    def __post_init__(self) -> None:
        if self.most < 1 or self.seconds < 1:
            raise ValueError(f"a limit allows at least one request in at least a second, not {self}")

    def window(self, now: datetime) -> datetime:
        """When the window that `now` lies in began."""
        return datetime.fromtimestamp(now.timestamp() // self.seconds * self.seconds, UTC)

    def begins_anew_in(self, now: datetime) -> int:
        """Whole seconds until the next window, at least one."""
        return self.left_of(self.window(now), now=now)

    def left_of(self, window: datetime, *, now: datetime) -> int:
        """Whole seconds that are left, at a moment in it, of the window that began then; at least one."""
        return max(1, ceil(self.seconds - (now - window).total_seconds()))

    @property
    def block(self) -> int:
        """How many requests a process takes from the shared count at once."""
        return max(1, self.most // SHARE_TAKEN_AT_ONCE)


@dataclass(frozen=True, slots=True, kw_only=True)
class Standing:
    """How a limit stands: how many requests are left, and in how many seconds it begins anew."""

    limit: Limit
    left: int
    seconds: int


def policy_field(limits: Iterable[Limit]) -> str:
    """The field `RateLimit-Policy`."""
    return ", ".join(f'"{limit.name}";q={limit.most};w={limit.seconds}' for limit in limits)


def standing_field(standings: Iterable[Standing]) -> str:
    """The field `RateLimit`."""
    return ", ".join(f'"{one.limit.name}";r={one.left};t={one.seconds}' for one in standings)
