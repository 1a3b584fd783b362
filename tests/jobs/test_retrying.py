"""An attempt that failed is made again later and later, some time after it was asked for, and not for ever."""

from datetime import UTC, datetime, timedelta
from email.utils import format_datetime
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.jobs.retrying import LONGEST_ASKED, MOST_ATTEMPTS, next_attempt, read_retry_after

NOW = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)
attempts = st.integers(1, MOST_ATTEMPTS - 1)
chances = st.floats(0, 1, exclude_max=True)
delays = st.timedeltas(timedelta(0), timedelta(days=3))


def wait(count: int, *, chance: float = 0.0, asked: timedelta | None = None) -> timedelta:
    again = next_attempt(count, now=NOW, chance=lambda: chance, retry_after=asked)
    assert again is not None
    return again - NOW


def test_the_waits_are_those_of_the_standards_example() -> None:
    """Standard Webhooks 1.0.0, "Deliverability and reliability": the times since the start, without chance."""
    since_start, total = [], timedelta(0)
    for count in range(1, MOST_ATTEMPTS):
        total += wait(count)
        since_start.append(total)
    hours = ["0:00:05", "0:05:05", "0:35:05", "2:35:05", "7:35:05", "17:35:05", "31:35:05", "51:35:05", "75:35:05"]
    told = [timedelta(hours=int(h), minutes=int(m), seconds=int(s)) for h, m, s in (one.split(":") for one in hours)]
    assert since_start == told


def test_after_the_last_attempt_there_is_none() -> None:
    assert next_attempt(MOST_ATTEMPTS, now=NOW, chance=lambda: 0.0) is None
    assert next_attempt(MOST_ATTEMPTS + 1, now=NOW, chance=lambda: 0.0) is None


@given(chance=chances)
def test_each_wait_is_longer_than_the_one_before(chance: float) -> None:
    waits = [wait(count, chance=chance) for count in range(1, MOST_ATTEMPTS)]
    assert all(before < after for before, after in pairwise(waits))


@given(count=attempts, chance=chances)
def test_chance_draws_a_wait_out_by_a_fifth_at_most(count: int, chance: float) -> None:
    assert wait(count) <= wait(count, chance=chance) <= wait(count) * 1.2


@given(count=attempts, chance=chances, asked=delays)
def test_what_the_receiver_asks_for_is_waited_within_bounds(count: int, chance: float, asked: timedelta) -> None:
    waited = wait(count, chance=chance, asked=asked)
    assert waited >= min(asked, LONGEST_ASKED)
    assert waited == max(wait(count, chance=chance), min(asked, LONGEST_ASKED))


@pytest.mark.parametrize(
    ("written", "asked"),
    [
        (None, None),
        ("", None),
        ("soon", None),
        ("-5", None),
        ("٣", None),
        ("0", timedelta(0)),
        ("120", timedelta(minutes=2)),
        ("9" * 40, LONGEST_ASKED),
        (format_datetime(NOW + timedelta(minutes=7), usegmt=True), timedelta(minutes=7)),
        (format_datetime(NOW - timedelta(days=7), usegmt=True), timedelta(0)),
        ("Mon, 04 May 2026 07:37:00 -0000", timedelta(minutes=7)),
    ],
)
def test_retry_after_is_read_as_seconds_or_as_a_moment(written: str | None, asked: timedelta | None) -> None:
    assert read_retry_after(written, now=NOW) == asked
