"""Retrying: when an attempt that failed is made again, and what the receiver asks for.

The waits are those that Standard Webhooks gives as an example: ten attempts over some three days. Each is drawn out by
up to a fifth at random (our convention), so that receivers that failed together are not all asked again together.
"""

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from email.utils import parsedate_to_datetime
from typing import Final

Chance = Callable[[], float]
"""A number in [0, 1) at random."""

WAITS: Final = (
    timedelta(seconds=5),
    timedelta(minutes=5),
    timedelta(minutes=30),
    timedelta(hours=2),
    timedelta(hours=5),
    timedelta(hours=10),
    timedelta(hours=14),
    timedelta(hours=20),
    timedelta(hours=24),
)
MOST_ATTEMPTS: Final = len(WAITS) + 1
JITTER: Final = 0.2
LONGEST_ASKED: Final = timedelta(hours=24)


def next_attempt(
    attempts: int, *, now: datetime, chance: Chance, retry_after: timedelta | None = None
) -> datetime | None:
    """When to try again after so many attempts that failed; None if that was the last.

    What the receiver asks for is waited, if it is longer, up to LONGEST_ASKED.
    """
    if attempts >= MOST_ATTEMPTS:
        return None
    wait = WAITS[attempts - 1] * (1 + JITTER * chance())
    if retry_after is not None:
        wait = max(wait, min(retry_after, LONGEST_ASKED))
    return now + wait


def read_retry_after(written: str | None, *, now: datetime) -> timedelta | None:
    """What a `Retry-After` asks for (RFC 9110, section 10.2.3); None if it asks for nothing that can be read."""
    if written is None:
        return None
    if written.isascii() and written.isdecimal():
        return min(timedelta(seconds=int(written[:9])), LONGEST_ASKED)
    try:
        until = parsedate_to_datetime(written)
    except ValueError:
        return None
    until = until if until.tzinfo is not None else until.replace(tzinfo=UTC)
    return max(timedelta(0), until - now)
