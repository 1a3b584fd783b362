"""Values: what goes into the store and comes out of it."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import NewType
from zlib import compress, decompress

from hooflast.catalog.values import ReleaseId
from hooflast.store.ids import is_id

TenantId = NewType("TenantId", str)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sent:
    """What was sent, byte for byte, in two parts: `head` as it is, and the rest packed (zlib, RFC 1950).

    The head is what differs between two answers to one question; the rest is packed once for both.
    """

    head: bytes = field(repr=False)
    packed: bytes = field(repr=False)

    @classmethod
    def of(cls, rest: bytes, *, head: bytes = b"") -> "Sent":
        """What was sent as `head` and then `rest`."""
        return cls(head=head, packed=compress(rest))

    @property
    def whole(self) -> bytes:
        """The bytes that were sent."""
        return self.head + decompress(self.packed)


@dataclass(frozen=True, slots=True, kw_only=True)
class KeptAnswer:
    """One answer as it was sent, with the question and the versions it came from.

    `question` is JSON with the members of every object in one order, so that equal questions are equal bytes.
    `signing_key` is the kid that the match receipt in `answer` names.
    """

    id: str
    tenant: TenantId
    created_at: datetime
    catalog_release: ReleaseId
    engine: str
    calibration: str
    question: bytes = field(repr=False)
    answer: Sent = field(repr=False)
    signing_key: str

    def __post_init__(self) -> None:
        if not is_id(self.id):
            raise ValueError(f"id is no UUID of version 7: {self.id!r}")
        _require_zone("created_at", self.created_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class SigningKey:
    """A secret that match receipts are signed with. A retired key signs no more, and still verifies."""

    kid: str
    secret: bytes = field(repr=False)
    created_at: datetime
    retired_at: datetime | None = None

    def __post_init__(self) -> None:
        _require_zone("created_at", self.created_at)
        if self.retired_at is not None:
            _require_zone("retired_at", self.retired_at)


@dataclass(frozen=True, slots=True, kw_only=True)
class DatabaseRole:
    """Whom PostgreSQL takes us for. A plain role neither owns tables nor passes by row-level security."""

    name: str
    is_superuser: bool
    bypasses_row_security: bool
    owns_tables: bool

    @property
    def is_plain(self) -> bool:
        return not (self.is_superuser or self.bypasses_row_security or self.owns_tables)


def _require_zone(name: str, moment: datetime) -> None:
    if moment.utcoffset() is None:
        raise ValueError(f"{name} has no time zone: {moment.isoformat()}")
