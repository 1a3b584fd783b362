"""Memo: what was worked out before, so that the same question, or the same hoof, is not worked out twice.

Pages are reloaded, baskets looked at again, and whole millimetres make the same hooves come often under other horses'
names. What is remembered is exact: a key holds everything the answer depends on.
"""

from collections.abc import Callable, Hashable
from dataclasses import dataclass, replace
from datetime import date
from threading import Lock
from typing import Final, Protocol, TypeVar
from zlib import compress, decompress

from cachetools import LRUCache

from hooflast.catalog.values import ReleaseId
from hooflast.fit.hoof import HoofReading
from hooflast.matching.question import MatchQuestion

ENTRY_BYTES: Final = 2048
"""What an entry takes in memory beside its bytes, about."""

PACKING: Final = 3
"""Level of compression: near the smallest, in a third of its time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class MemoKey:
    """Everything an answer depends on. `active` is the catalog release for a question that pins none."""

    asked: bytes
    active: ReleaseId
    day: date
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofKey:
    """Everything that is said of one hoof depends on. `horse` is the question without what concerns the horse alone."""

    reading: HoofReading
    horse: MatchQuestion
    release: ReleaseId
    day: date
    language: str


@dataclass(frozen=True, slots=True, kw_only=True)
class WrittenHoof:
    """One hoof's answer as it is written, packed, and what a receipt says of it, as JSON."""

    packed: bytes
    facts: bytes

    @classmethod
    def of(cls, written: bytes, *, facts: bytes) -> "WrittenHoof":
        """A hoof's answer as it is written."""
        return cls(packed=compress(written, PACKING), facts=facts)

    @property
    def written(self) -> bytes:
        """The answer as it is written."""
        return decompress(self.packed)

    @property
    def size(self) -> int:
        """Bytes in memory, about."""
        return len(self.packed) + len(self.facts) + ENTRY_BYTES


@dataclass(frozen=True, slots=True, kw_only=True)
class Worked:
    """An answer worked out: its question and catalog release, and its receipt's facts as JSON.

    `rest` is what is sent after the receipt, `packed` the same as it is kept.
    """

    question: bytes
    release: ReleaseId
    rest: bytes
    packed: bytes
    facts: bytes

    @property
    def size(self) -> int:
        """Bytes in memory, about."""
        return len(self.question) + len(self.rest) + len(self.packed) + len(self.facts) + ENTRY_BYTES


class Sized(Protocol):
    """What says how much memory it takes."""

    @property
    def size(self) -> int:
        """Bytes in memory, about."""


Key = TypeVar("Key", bound=Hashable)
Value = TypeVar("Value", bound=Sized)


class Memo:
    """The answers and the hooves worked out last, of at most `most_bytes` together; 0 remembers none.

    Threads may share it.
    """

    def __init__(self, most_bytes: int) -> None:
        self._lock = Lock()
        self._answers: LRUCache[MemoKey, Worked] = _least_recently_used(most_bytes // 2)
        self._hooves: LRUCache[HoofKey, WrittenHoof] = _least_recently_used(most_bytes // 2)

    def answer(self, key: MemoKey) -> Worked | None:
        """The answer worked out for `key` before, if it is remembered."""
        with self._lock:
            return self._answers.get(key)

    def remember(self, key: MemoKey, worked: Worked) -> None:
        """Remember an answer."""
        self._keep(self._answers, key, value=worked)

    def hoof(self, key: HoofKey, *, work_out: Callable[[], WrittenHoof]) -> WrittenHoof:
        """What was worked out for a hoof before, or else is now."""
        with self._lock:
            known = self._hooves.get(key)
        if known is None:
            known = work_out()
            self._keep(self._hooves, key, value=known)
        return known

    def _keep(self, kept: LRUCache[Key, Value], key: Key, *, value: Value) -> None:
        with self._lock:
            if value.size <= kept.maxsize:
                kept[key] = value


def without_horse(question: MatchQuestion) -> MatchQuestion:
    """A question without its horse and readings: what is asked of every hoof alike."""
    return replace(question, horse_name="", hooves=(), girth_mm=None, build=None, catalog_release=None)


def _least_recently_used(most_bytes: int) -> LRUCache[Key, Value]:
    return LRUCache(most_bytes, getsizeof=lambda value: value.size)
