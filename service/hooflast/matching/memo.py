"""Memo: answers that were worked out before, so that the same question on the same day is not worked out twice.

Shops ask about the same hooves again and again: readings are whole millimetres and most other fields stay at their
defaults. What is remembered is exact: the key is the whole question with everything else the answer depends on.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import date
from typing import Any

from cachetools import LRUCache

from hooflast.catalog.values import ReleaseId


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoKey:
    """Everything an answer depends on."""

    question: bytes
    release: ReleaseId
    day: date
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """An answer as it is written without its receipt, and the facts its receipt is signed over."""

    body: bytes
    facts: dict[str, Any]


class Memo:
    """The answers worked out last, of at most `most_bytes` together; 0 remembers none."""

    def __init__(self, most_bytes: int) -> None:
        self._worked: LRUCache[MemoKey, Worked] = LRUCache(most_bytes, getsizeof=lambda worked: len(worked.body))

    def recall(self, key: MemoKey, *, work_out: Callable[[], Worked]) -> Worked:
        """What was worked out for `key` before, or else is now."""
        known = self._worked.get(key)
        if known is not None:
            return known
        worked = work_out()
        if len(worked.body) <= self._worked.maxsize:
            self._worked[key] = worked
        return worked
