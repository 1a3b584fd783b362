"""CORS: which pages may read an answer (Fetch Standard, section 3.2): those of browser keys, each exactly."""

from typing import Any, Final

Fields = list[tuple[bytes, bytes]]

KEPT_SECONDS: Final = 600
SENT: Final = (
    "accept", "accept-language", "authorization", "content-type", "idempotency-key", "if-match", "if-none-match",
    "x-request-id",
)  # fmt: skip
"""What a page may send."""

SEEN: Final = (
    "Content-Language", "ETag", "Link", "Location", "RateLimit", "RateLimit-Policy", "Retry-After", "X-Request-ID",
)  # fmt: skip
"""What a page may see of an answer, besides what every page may."""


def readable_by(origin: str) -> Fields:
    """The fields that let pages of `origin` read an answer."""
    return [_allowed(origin), (b"access-control-expose-headers", ", ".join(SEEN).encode())]


def preflight_of(scope: Any) -> str | None:
    """The origin of a page that asks whether it may send a request (section 3.2.2); None for any other request."""
    if scope["method"] != "OPTIONS":
        return None
    fields = dict(scope["headers"])
    if b"access-control-request-method" not in fields or b"origin" not in fields:
        return None
    origin: bytes = fields[b"origin"]
    return origin.decode("latin-1")


def may_send(origin: str, *, methods: bytes) -> Fields:
    """The fields that let pages of `origin` send a request."""
    return [
        _allowed(origin),
        (b"access-control-allow-methods", methods),
        (b"access-control-allow-headers", ", ".join(SENT).encode()),
        (b"access-control-max-age", str(KEPT_SECONDS).encode()),
    ]


def _allowed(origin: str) -> tuple[bytes, bytes]:
    return b"access-control-allow-origin", origin.encode("latin-1")
