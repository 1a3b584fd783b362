"""OpenAPI fields: how a key is shown, and what the header fields of requests, answers and hooks say."""

from typing import Any, Final

Json = dict[str, Any]

REFUSED_WITH: Final = {
    401: ("WWW-Authenticate", "RateLimit-Policy", "RateLimit"),
    429: ("RateLimit-Policy", "RateLimit", "Retry-After"),
    503: ("Retry-After",),
}
KEY: Final[Json] = {
    "type": "http",
    "scheme": "bearer",
    "description": (
        "A key made with `hooflast keys create`. Where the service is open to everybody (`HOOFLAST_ACCESS`), a request "
        "without a key is answered, too."
    ),
}
WEBHOOK_HEADERS: Final[Json] = {
    "WebhookId": {
        "name": "webhook-id",
        "in": "header",
        "required": True,
        "description": "The event's id, the same at every attempt: by it you know what you have had already.",
        "schema": {"type": "string", "examples": ["evt_5f0c2a9d4b7e4c1f9a8d3e6b1c2f7a90"]},
    },
    "WebhookTimestamp": {
        "name": "webhook-timestamp",
        "in": "header",
        "required": True,
        "description": "When this attempt was made, in seconds since 1970: refuse what is older than five minutes.",
        "schema": {"type": "string", "pattern": "^[0-9]+$"},
    },
    "WebhookSignature": {
        "name": "webhook-signature",
        "in": "header",
        "required": True,
        "description": "`v1,` and the HMAC-SHA256 of id, timestamp and body, once for each secret that is valid.",
        "schema": {"type": "string", "pattern": "^v1,[A-Za-z0-9+/=]+( v1,[A-Za-z0-9+/=]+)*$"},
    },
}
REQUEST_HEADERS: Final[Json] = {
    "IfNoneMatch": {
        "name": "If-None-Match",
        "in": "header",
        "required": False,
        "description": "ETags of answers you hold; if one of them is still right, the answer is 304.",
        "schema": {"type": "string"},
    },
    "IfMatch": {
        "name": "If-Match",
        "in": "header",
        "required": False,
        "description": "The ETag of what you change; where it has changed since, the answer is 412 and nothing is.",
        "schema": {"type": "string"},
    },
    "IdempotencyKey": {
        "name": "Idempotency-Key",
        "in": "header",
        "required": False,
        "description": (
            "A name of your choice for this request. Sent again with the same name within a day, it is given the same "
            "answer, and nothing is made twice."
        ),
        "schema": {"type": "string", "minLength": 1, "maxLength": 255, "pattern": '^("[ !#-~]+"|[!#-~]+)$'},
    },
    "AcceptLanguage": {
        "name": "Accept-Language",
        "in": "header",
        "required": False,
        "description": "The languages you would like sentences in, dearest first.",
        "schema": {"type": "string", "examples": ["en"]},
    },
    "RequestId": {
        "name": "X-Request-ID",
        "in": "header",
        "required": False,
        "description": "A UUID to call this request by. Without one, or with anything else, it is given a new one.",
        "schema": {"type": "string", "examples": ["0193f5c2-7c1e-7d55-9c3a-3a1f0f6f2b11"]},
    },
}
HEADERS: Final[Json] = {
    "X-Request-ID": {
        "description": "What this request is called in the service's log.",
        "required": True,
        "schema": {"type": "string", "format": "uuid"},
    },
    "ETag": {
        "description": "A strong name for this answer (RFC 9110, section 8.8.3).",
        "required": True,
        "schema": {"type": "string", "pattern": '^"[A-Za-z0-9_.-]+"$'},
    },
    "Cache-Control": {"description": "How long the answer may be kept.", "schema": {"type": "string"}},
    "Content-Language": {"description": "The language of its sentences.", "schema": {"type": "string"}},
    "Location": {
        "description": "Where the same answer can be read again.",
        "required": True,
        "schema": {"type": "string", "format": "uri-reference"},
    },
    "RateLimit-Policy": {
        "description": "The limits that the request counts against: `q` requests in each `w` seconds.",
        "schema": {"type": "string", "examples": ['"minute";q=600;w=60, "day";q=200000;w=86400']},
    },
    "RateLimit": {
        "description": "How the limits stand: `r` requests are left, and in `t` seconds they begin anew.",
        "schema": {"type": "string", "examples": ['"minute";r=570;t=42, "day";r=190000;t=3600']},
    },
    "WWW-Authenticate": {
        "description": "That a key is needed, and what was wrong with one that was shown (RFC 6750, section 3).",
        "required": True,
        "schema": {"type": "string", "examples": ['Bearer realm="hooflast", error="invalid_token"']},
    },
    "Retry-After": {
        "description": "In how many seconds to ask again.",
        "required": True,
        "schema": {"type": "string", "pattern": "^[0-9]+$"},
    },
    "Link": {
        "description": 'The next page as `rel="next"` (RFC 8288); left out on the last one.',
        "schema": {"type": "string"},
    },
}
