"""Memo: answers that were worked out before, so that the same question on the same day is not worked out twice.

Pages are reloaded, baskets looked at again, and whole millimetres make the same requests come often. What is
remembered is exact: the key is the whole request with everything else the answer depends on.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any, Final

from cachetools import LRUCache

from hooflast.catalog.values import ReleaseId

FACTS_BYTES: Final = 8192
"""What a receipt's facts take in memory, about."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoKey:
    """Everything an answer depends on. `active` is the catalog release for a question that pins none."""

    asked: bytes
    active: ReleaseId
    day: date
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """An answer worked out: its question and catalog release, and its receipt's facts.

    `rest` is what is sent after the receipt, `packed` the same as it is kept.
    """

    question: bytes
    release: ReleaseId
    rest: bytes
    packed: bytes
    facts: dict[str, Any]


class Memo:
    """The answers worked out last, of at most `most_bytes` together; 0 remembers none."""

    def __init__(self, most_bytes: int) -> None:
        self._worked: LRUCache[MemoKey, Worked] = LRUCache(most_bytes, getsizeof=_size)

    def recall(self, key: MemoKey, *, work_out: Callable[[], Worked]) -> Worked:
        """What was worked out for `key` before, or else is now."""
        known = self._worked.get(key)
        if known is not None:
            return known
        worked = work_out()
        if _size(worked) <= self._worked.maxsize:
            self._worked[key] = worked
        return worked


def _size(worked: Worked) -> int:
    return len(worked.question) + len(worked.rest) + len(worked.packed) + FACTS_BYTES
