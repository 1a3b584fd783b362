"""Issuing: a new key from what is asked for, or every reason why not."""

import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from datetime import datetime
from typing import Final

from hooflast.access.key import (
    ALL_SCOPES,
    BROWSER_SCOPES,
    FixedWorld,
    KeptSecret,
    Key,
    KeyKind,
    KeyLimits,
    KeyMode,
    Scope,
    rows_of,
)
from hooflast.access.origin import read_origin
from hooflast.access.secret import digest_of, new_secret, write_key
from hooflast.errors import Fault, InputRefused

CLIENT: Final = re.compile(r"[a-z0-9][a-z0-9-]{0,62}")
LONGEST_NAME: Final = 80
LARGEST_LIMIT: Final = 100_000_000
"""So that what all processes take of a count in a window stays a whole number that every database can keep."""


@dataclass(frozen=True, slots=True, kw_only=True)
class KeyWish:
    """What is asked for: a key for `client`, called `name`. Without `scopes`, it gets all that clients need."""

    client: str
    name: str
    kind: KeyKind = KeyKind.SERVER
    mode: KeyMode = KeyMode.LIVE
    scopes: frozenset[Scope] = frozenset()
    origins: tuple[str, ...] = ()
    limits: KeyLimits = field(default_factory=KeyLimits)
    expires_at: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Issued:
    """A key, and how its client writes it: that is shown once, and nobody can read it out of the store."""

    key: Key
    written: str = field(repr=False)


def issue(wish: KeyWish, *, key_id: str, now: datetime, by: str, fixed: FixedWorld | None) -> Issued:
    """A key as it is wished for. `fixed` is what it works on in test mode. Raises InputRefused with every fault."""
    faults = tuple(_faults(wish, now=now))
    if faults:
        raise InputRefused(faults=faults)
    secret = new_secret()
    key = Key(
        id=key_id,
        tenant=rows_of(wish.client, mode=wish.mode),
        name=wish.name.strip(),
        kind=wish.kind,
        mode=wish.mode,
        scopes=wish.scopes or _most(wish.kind) - {Scope.OPERATE},
        secrets=(KeptSecret(digest=digest_of(secret)),),
        created_at=now,
        created_by=by,
        origins=tuple(dict.fromkeys(map(read_origin, wish.origins))),
        limits=wish.limits,
        expires_at=wish.expires_at,
        fixed=fixed if wish.mode is KeyMode.TEST else None,
    )
    return Issued(key=key, written=write_key(key_id, secret=secret))


def _faults(wish: KeyWish, *, now: datetime) -> Iterator[Fault]:
    if not CLIENT.fullmatch(wish.client):
        yield Fault(path=("client",), code="client-name", received=wish.client)
    if not 1 <= len(wish.name.strip()) <= LONGEST_NAME:
        yield Fault(path=("name",), code="key-name", received=wish.name, facts={"limit": LONGEST_NAME})
    yield from _origin_faults(wish.kind, wish.origins)
    if beyond := wish.scopes - _most(wish.kind):
        facts = {"choices": ", ".join(sorted(_most(wish.kind)))}
        yield Fault(path=("scopes",), code="key-scopes", received=", ".join(sorted(beyond)), facts=facts)
    for name in KeyLimits.__dataclass_fields__:
        if not 1 <= getattr(wish.limits, name) <= LARGEST_LIMIT:
            received = getattr(wish.limits, name)
            yield Fault(path=(name,), code="key-limit", received=received, facts={"limit": LARGEST_LIMIT})
    if wish.expires_at is not None and wish.expires_at <= now:
        yield Fault(path=("expires_at",), code="key-expired-before", received=wish.expires_at.isoformat())


def _origin_faults(kind: KeyKind, origins: Iterable[str]) -> Iterator[Fault]:
    listed = list(origins)
    if kind is KeyKind.BROWSER and not listed:
        yield Fault(path=("origins",), code="browser-key-without-origin", received=None)
    if kind is KeyKind.SERVER and listed:
        yield Fault(path=("origins",), code="server-key-with-origin", received=", ".join(listed))
    for place, origin in enumerate(listed):
        try:
            read_origin(origin)
        except ValueError:
            yield Fault(path=("origins", place), code="not-an-origin", received=origin)


def _most(kind: KeyKind) -> frozenset[Scope]:
    return BROWSER_SCOPES if kind is KeyKind.BROWSER else ALL_SCOPES
