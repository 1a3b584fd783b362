"""Key: what a client shows to be let through, and what it may do with it."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from enum import StrEnum
from typing import Final

from hooflast.access.errors import (
    KeyExpired,
    KeyRevoked,
    OriginRefused,
    ScopeMissing,
    ServerKeyInBrowser,
)
from hooflast.access.limit import Limit
from hooflast.access.secret import Presented

MINUTE: Final = 60
DAY: Final = 86_400


class KeyKind(StrEnum):
    """Where a key is used: on a server, where nobody sees it, or in web pages, where everybody does."""

    SERVER = "server"
    BROWSER = "browser"


class KeyMode(StrEnum):
    """Whether a key works on what is served now, or on a fixed catalog release and day, apart from all that is real."""

    LIVE = "live"
    TEST = "test"


class KeyState(StrEnum):
    """Whether a key lets in."""

    VALID = "valid"
    EXPIRED = "expired"
    REVOKED = "revoked"


class Scope(StrEnum):
    """What a key may do."""

    MATCH = "match"
    """Match horses, and whatever else is worked out from measurements."""
    READ = "read"
    """Read the catalog, and what was kept for its client."""
    ERASE = "erase"
    """Erase what was kept for its client."""
    ASSORTMENTS = "assortments"
    """Change what its client sells."""
    JOBS = "jobs"
    """Start, follow and cancel match jobs."""
    OPERATE = "operate"
    """Read the service's own numbers."""
    HOOKS = "hooks"
    """Change where its client is told of changes."""


ALL_SCOPES: Final = frozenset(Scope)
BROWSER_SCOPES: Final = frozenset({Scope.MATCH, Scope.READ})
"""Whatever else it is given, a key that anybody can read out of a page may only match and read."""


def rows_of(client: str, *, mode: KeyMode) -> str:
    """Whose rows a key of `client` reaches: in test mode others than in live mode, so that neither sees the other's."""
    return client if mode is KeyMode.LIVE else f"{client}/test"


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyLimits:
    """How many requests a key may make in a minute and in a day, and one visitor of a page in a minute."""

    per_minute: int = 600
    per_day: int = 200_000
    per_visitor_minute: int = 60


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptSecret:
    """The digest of a secret, and until when it is accepted (None: for as long as the key is)."""

    digest: bytes = field(repr=False)
    until: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class FixedWorld:
    """What a key in test mode works on, for ever the same: a catalog release and a day."""

    catalog_release: str
    day: date


@dataclass(frozen=True, slots=True, kw_only=True)
class Key:
    """One key of one client.

    `tenant` is whose rows it reaches, as `rows_of` says. `secrets` are the newest first. `fixed` is given in test mode,
    and in no other.
    """

    id: str
    tenant: str
    name: str
    kind: KeyKind
    mode: KeyMode
    scopes: frozenset[Scope]
    secrets: tuple[KeptSecret, ...]
    created_at: datetime
    created_by: str
    origins: tuple[str, ...] = ()
    limits: KeyLimits = field(default_factory=KeyLimits)
    expires_at: datetime | None = None
    revoked_at: datetime | None = None
    fixed: FixedWorld | None = None

    def __post_init__(self) -> None:
        if (self.kind is KeyKind.BROWSER) != bool(self.origins):
            raise ValueError("a browser key has origins, and no other key has")
        if self.kind is KeyKind.BROWSER and not self.scopes <= BROWSER_SCOPES:
            raise ValueError("a browser key may only match and read")
        if (self.mode is KeyMode.TEST) != (self.fixed is not None):
            raise ValueError("a key in test mode works on a fixed catalog release and day, and no other key does")
        if not self.scopes:
            raise ValueError("a key may do something")

    def state(self, now: datetime) -> KeyState:
        """Whether it lets in now."""
        if self.revoked_at is not None:
            return KeyState.REVOKED
        return KeyState.EXPIRED if self.expires_at is not None and now >= self.expires_at else KeyState.VALID

    def is_shown_by(self, presented: Presented, *, now: datetime) -> bool:
        """Whether what was presented has a secret of this key that is accepted now."""
        return any(
            presented.has(secret.digest) and (secret.until is None or now < secret.until) for secret in self.secrets
        )

    def require_valid(self, now: datetime) -> None:
        """Raises KeyRevoked, KeyExpired."""
        if self.revoked_at is not None:
            raise KeyRevoked(key=self.id, at=_written(self.revoked_at))
        if self.expires_at is not None and self.state(now) is KeyState.EXPIRED:
            raise KeyExpired(key=self.id, at=_written(self.expires_at))

    def require_origin(self, origin: str | None) -> None:
        """Raises OriginRefused, ServerKeyInBrowser. `origin` is what the browser says, or None where none does."""
        if self.kind is KeyKind.SERVER:
            if origin is not None:
                raise ServerKeyInBrowser(origin=origin)
        elif origin not in self.origins:
            raise OriginRefused(received=origin or "", accepted=", ".join(self.origins))

    def require_scope(self, scope: Scope) -> None:
        """Raises ScopeMissing."""
        if scope not in self.scopes:
            raise ScopeMissing(needed=scope, held=", ".join(sorted(self.scopes)))

    def counted_by(self) -> Iterator[Limit]:
        """The limits that all its requests count against together."""
        yield Limit(name="minute", most=self.limits.per_minute, seconds=MINUTE)
        if self.mode is KeyMode.LIVE:
            yield Limit(name="day", most=self.limits.per_day, seconds=DAY)

    def counted_by_visitor(self) -> Iterator[Limit]:
        """The limits that the requests of each visitor count against apart."""
        if self.kind is KeyKind.BROWSER:
            yield Limit(name="visitor", most=self.limits.per_visitor_minute, seconds=MINUTE)


def _written(moment: datetime) -> str:
    return moment.isoformat(timespec="seconds")
