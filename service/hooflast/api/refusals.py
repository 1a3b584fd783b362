"""Refusals: the errors that only HTTP knows.

HooflastError
├── InputRefused
│   └── QueryRefused         query parameters with one or more faults
├── MediaTypeRefused         the body is not of the type, coding or character set that is read here
├── NothingAcceptable        the client accepts no representation there is
├── BodyTooLarge             the body is longer than it may be
├── BodyTooSlow              the body did not arrive in time
├── ClientGone               the client left before its request was read
├── IdempotencyKeyUnreadable the field `Idempotency-Key` cannot be read
├── PreconditionFailed       the field `If-Match` names no revision there is
├── NotReady                 the service cannot answer yet, or no longer
├── NotInstalled             a setting asks for what is not installed
└── AddressTaken             the service cannot listen where it is told to
"""

from dataclasses import dataclass

from hooflast.errors import HooflastError, InputRefused


class QueryRefused(InputRefused):
    """One or more query parameters are unknown, repeated or out of what they accept."""

    code = "query-refused"


@dataclass(kw_only=True, eq=False)
class MediaTypeRefused(HooflastError, ValueError):
    """The body is `received`; only `accepted` is read here. `header` names what the client has to change."""

    code = "media-type-refused"
    received: str
    accepted: str
    header: str = "Content-Type"

    def __str__(self) -> str:
        return f"{self.header} {self.received!r} is not read here, only {self.accepted}"


@dataclass(kw_only=True, eq=False)
class NothingAcceptable(HooflastError, ValueError):
    """`Accept` was `received`; there is only `accepted`."""

    code = "nothing-acceptable"
    received: str
    accepted: str

    def __str__(self) -> str:
        return f"Accept {self.received!r} leaves nothing, there is only {self.accepted}"


@dataclass(kw_only=True, eq=False)
class BodyTooLarge(HooflastError, ValueError):
    """The body is longer than `limit` bytes."""

    code = "body-too-large"
    limit: int

    def __str__(self) -> str:
        return f"the body is longer than {self.limit} bytes"


@dataclass(kw_only=True, eq=False)
class BodyTooSlow(HooflastError, TimeoutError):
    """The body did not arrive within `seconds`."""

    code = "request-too-slow"
    seconds: int

    def __str__(self) -> str:
        return f"the body did not arrive within {self.seconds} seconds"


@dataclass(kw_only=True, eq=False)
class ClientGone(HooflastError, ConnectionError):
    """The client left before its request was read whole; nobody reads the answer."""

    code = "client-gone"

    def __str__(self) -> str:
        return "the client left before its request was read"


@dataclass(kw_only=True, eq=False)
class IdempotencyKeyUnreadable(HooflastError, ValueError):
    """`Idempotency-Key` was `received`; `accepted` says how one is written."""

    code = "idempotency-key-unreadable"
    received: str
    accepted: str

    def __str__(self) -> str:
        return f"Idempotency-Key {self.received!r} cannot be read; accepted is {self.accepted}"


@dataclass(kw_only=True, eq=False)
class PreconditionFailed(HooflastError):
    """`If-Match` was `received`, and names no revision of what is to be changed."""

    code = "precondition-failed"
    received: str

    def __str__(self) -> str:
        return f"If-Match {self.received!r} names no revision"


@dataclass(kw_only=True, eq=False)
class NotReady(HooflastError):
    """The service cannot answer now; `reasons` are codes such as `stopping` or `database-behind`."""

    code = "not-ready"
    reasons: tuple[str, ...]

    def __str__(self) -> str:
        return f"not ready: {', '.join(self.reasons)}"


@dataclass(kw_only=True, eq=False)
class AddressTaken(HooflastError, OSError):
    """The service cannot listen at `host` and `port`; `reason` is the system's own."""

    code = "address-taken"
    host: str
    port: int
    reason: str

    def __str__(self) -> str:
        return (
            f"cannot listen at {self.host} port {self.port}: {self.reason}; "
            "choose another with HOOFLAST_HOST and HOOFLAST_PORT, or port 0 for a free one"
        )


@dataclass(kw_only=True, eq=False)
class NotInstalled(HooflastError):
    """A setting asks for what comes with an extra of the package that is not installed."""

    code = "not-installed"
    extra: str
    reason: str

    def __str__(self) -> str:
        return f"install the extra for it, hooflast[{self.extra}], or switch it off: {self.reason}"
