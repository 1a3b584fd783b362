"""Seal values: the keys that catalog releases are sealed with, and the seals."""

from dataclasses import dataclass, field
from datetime import datetime

from hooflast.catalog.values import ReleaseId


@dataclass(frozen=True, slots=True, kw_only=True)
class SealKey:
    """A private key of Ed25519. A retired key seals no more; what it sealed is verified with it still."""

    kid: str
    private: bytes = field(repr=False)
    created_at: datetime
    retired_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Seal:
    """A signed statement on one catalog release, whose written form has the SHA-256 `digest`."""

    release: ReleaseId
    digest: str
    kid: str
    token: str
