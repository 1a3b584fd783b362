"""Paging: keyset pages of catalog lists, and the opaque cursor that leads from one to the next.

A cursor holds the catalog release it was made on, so that a list read page by page never mixes two of them. It is
no secret: its sum only makes sure that it comes back whole, and to the query it was made for.
"""

import re
from base64 import urlsafe_b64decode, urlsafe_b64encode
from binascii import Error as NotBase64
from collections.abc import Sequence
from dataclasses import dataclass
from hashlib import blake2b
from typing import Final, Generic, TypeVar
from urllib.parse import urlencode

import msgspec

from hooflast.api.parameters import Parameter, ParameterUnreadable, Query, whole_number
from hooflast.api.refusals import QueryRefused
from hooflast.errors import Fault

Item = TypeVar("Item")
SUM_BYTES: Final = 9
_WRITTEN: Final = re.compile(r"[A-Za-z0-9_-]{16,512}")


@dataclass(frozen=True, slots=True, kw_only=True)
class Cursor:
    """Where the page before ended: the catalog release it was read from, and the key of its last item."""

    release: str
    after: str
    sum: bytes = b""


@dataclass(frozen=True, slots=True, kw_only=True)
class Page(Generic[Item]):
    """Some items of a list in its order and, if more follow, the key of the last of them and the next address."""

    items: Sequence[Item]
    last: str | None
    next: str | None = None


def _read_cursor(text: str) -> Cursor:
    try:
        if not _WRITTEN.fullmatch(text):
            raise ValueError(text)
        raw = urlsafe_b64decode(text + "=" * (-len(text) % 4))
        release, after = msgspec.json.decode(raw[SUM_BYTES:], type=tuple[str, str])
        if "\0" in release + after:  # which PostgreSQL takes in no text
            raise ValueError(text)
    except (ValueError, NotBase64, msgspec.DecodeError):
        raise ParameterUnreadable("cursor-unreadable") from None
    return Cursor(release=release, after=after, sum=raw[:SUM_BYTES])


LIMIT: Final = whole_number(name="limit", meaning="How many items a page holds at most.", low=1, high=100, default=20)
CURSOR: Final = Parameter(
    name="cursor",
    meaning="Where to go on: the cursor of the `next` link of the page before, unchanged, with the same filters.",
    schema={"type": "string", "pattern": "^[A-Za-z0-9_-]{16,512}$"},
    read=_read_cursor,
)


def cursor_of(query: Query, *, scope: str) -> Cursor | None:
    """The cursor that came with `query`, once it is sure that it was made for this query. Raises QueryRefused."""
    cursor = query.get(CURSOR)
    if cursor is not None and cursor.sum != _sum(cursor.release, cursor.after, query=query, scope=scope):
        raise _refused("cursor-of-another-query", cursor)
    return cursor


def page_of(items: Sequence[Item], keys: Sequence[str], *, query: Query, cursor: Cursor | None) -> Page[Item]:
    """The page of `items` that `cursor` leads to, or the first; each item has its key. Raises QueryRefused."""
    try:
        start = 0 if cursor is None else keys.index(cursor.after) + 1
    except ValueError:
        raise _refused("cursor-led-nowhere", cursor) from None
    end = start + (query.get(LIMIT) or 0)
    return Page(items=items[start:end], last=keys[end - 1] if end < len(items) else None)


def next_link(path: str, *, query: Query, scope: str, release: str, after: str) -> str:
    """The address of the page that follows the item whose key is `after`."""
    asked = {name: str(value) for name, value in sorted(query.values.items()) if name != CURSOR.name}
    cursor = cursor_text(query=query, scope=scope, release=release, after=after)
    return f"{path}?{urlencode({**asked, CURSOR.name: cursor})}"


def cursor_text(*, query: Query, scope: str, release: str, after: str) -> str:
    """The cursor that leads on from the item whose key is `after`, as it is written."""
    return _written(Cursor(release=release, after=after, sum=_sum(release, after, query=query, scope=scope)))


def _refused(code: str, cursor: Cursor | None) -> QueryRefused:
    received = None if cursor is None else _written(cursor)
    return QueryRefused(faults=(Fault(path=(CURSOR.name,), code=code, received=received),))


def _written(cursor: Cursor) -> str:
    raw = cursor.sum + msgspec.json.encode((cursor.release, cursor.after))
    return urlsafe_b64encode(raw).rstrip(b"=").decode("ascii")


def _sum(release: str, after: str, *, query: Query, scope: str) -> bytes:
    filters = query.text(without=(CURSOR.name, LIMIT.name))
    return blake2b(f"{scope}\n{filters}\n{release}\n{after}".encode(), digest_size=SUM_BYTES).digest()
