"""Errors of access: why a request is not let through.

HooflastError
└── AccessRefused
    ├── KeyMissing        a key is needed, and none came
    ├── KeyMalformed      what came is no key: it was cut short, or mistyped
    ├── KeyUnknown        there is no such key, or its secret is another one
    ├── KeyRevoked        the key was revoked
    ├── KeyExpired        the key's time is over
    ├── OriginRefused     the key is not for pages of this origin
    ├── ServerKeyInBrowser  the key of a server came from a page
    ├── ScopeMissing      the key may do other things, not this
    ├── FixedReleaseGone  what a key in test mode works on was erased
    └── LimitReached      as much was asked as may be, for now
"""

from dataclasses import dataclass
from typing import ClassVar

from hooflast.errors import HooflastError


class AccessRefused(HooflastError):
    """Catch this to catch every refusal of access."""

    code: ClassVar[str] = "access-refused"


@dataclass(kw_only=True, eq=False)
class KeyMissing(AccessRefused):
    """A key is needed here, and the request has none."""

    code: ClassVar[str] = "key-missing"

    def __str__(self) -> str:
        return "a key is needed, and none came"


@dataclass(kw_only=True, eq=False)
class KeyMalformed(AccessRefused, ValueError):
    """What came in place of a key cannot be one."""

    code: ClassVar[str] = "key-malformed"

    def __str__(self) -> str:
        return "what came is no key: it was cut short, or mistyped"


@dataclass(kw_only=True, eq=False)
class KeyUnknown(AccessRefused, LookupError):
    """There is no such key, or its secret is another one: which of both is not told."""

    code: ClassVar[str] = "key-unknown"

    def __str__(self) -> str:
        return "no key is written like this"


@dataclass(kw_only=True, eq=False)
class KeyRevoked(AccessRefused):
    """The key was revoked `at` that moment (RFC 3339)."""

    code: ClassVar[str] = "key-revoked"
    key: str
    at: str

    def __str__(self) -> str:
        return f"key {self.key} was revoked at {self.at}"


@dataclass(kw_only=True, eq=False)
class KeyExpired(AccessRefused):
    """The key was to be used until `at` that moment (RFC 3339)."""

    code: ClassVar[str] = "key-expired"
    key: str
    at: str

    def __str__(self) -> str:
        return f"key {self.key} expired at {self.at}"


@dataclass(kw_only=True, eq=False)
class OriginRefused(AccessRefused):
    """A browser key came from a page of another origin than its own, or from none."""

    code: ClassVar[str] = "origin-refused"
    received: str
    accepted: str

    def __str__(self) -> str:
        return f"this key is for pages of {self.accepted}, and the request came from {self.received or 'none'}"


@dataclass(kw_only=True, eq=False)
class ServerKeyInBrowser(AccessRefused):
    """The key of a server came with a page's origin: anybody who sees the page can read it."""

    code: ClassVar[str] = "server-key-in-browser"
    origin: str

    def __str__(self) -> str:
        return f"the key of a server came from a page of {self.origin}"


@dataclass(kw_only=True, eq=False)
class ScopeMissing(AccessRefused):
    """The key lacks the scope that this takes."""

    code: ClassVar[str] = "scope-missing"
    needed: str
    held: str

    def __str__(self) -> str:
        return f"this takes the scope {self.needed}, and the key has {self.held}"


@dataclass(kw_only=True, eq=False)
class FixedReleaseGone(AccessRefused):
    """The content of the catalog release that a key in test mode works on was erased."""

    code: ClassVar[str] = "fixed-release-gone"
    key: str
    release: str

    def __str__(self) -> str:
        return f"key {self.key} works on catalog release {self.release}, whose content was erased"


@dataclass(kw_only=True, eq=False)
class LimitReached(AccessRefused):
    """As much was asked as `limit` allows; it begins anew in `seconds`."""

    code: ClassVar[str] = "limit-reached"
    limit: str
    most: int
    seconds: int

    def __str__(self) -> str:
        return f"no more than {self.most} by the limit {self.limit!r}; it begins anew in {self.seconds} s"
