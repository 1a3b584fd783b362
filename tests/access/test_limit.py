"""Limits: windows without gaps, and fields that a parser of structured fields reads (RFC 9651)."""

from datetime import UTC, datetime, timedelta, timezone

import http_sf
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.access.samples import limits, moments

from hooflast.access.limit import Limit, Standing, policy_field, standing_field

names = st.sampled_from(["minute", "day", "visitor"])
some_limits = st.builds(lambda name, size: Limit(name=name, most=size[0], seconds=size[1]), names, limits)
EPOCH = datetime(1970, 1, 1, tzinfo=UTC)


@given(limit=some_limits, now=moments)
def test_each_moment_lies_in_one_window(limit: Limit, now: datetime) -> None:
    began, length = limit.window(now), timedelta(seconds=limit.seconds)
    assert began <= now < began + length
    assert (began - EPOCH) % length == timedelta()
    assert limit.window(began) == began
    assert limit.window(began + length) == began + length
    assert limit.window(began + length - timedelta(microseconds=1)) == began


@given(limit=some_limits, now=moments, hours=st.integers(-14, 14))
def test_no_zone_and_no_summer_time_moves_a_window(limit: Limit, now: datetime, hours: int) -> None:
    elsewhere = now.astimezone(timezone(timedelta(hours=hours)))
    assert limit.window(elsewhere) == limit.window(now)
    assert limit.begins_anew_in(elsewhere) == limit.begins_anew_in(now)


@given(limit=some_limits, now=moments)
def test_whoever_waits_as_long_as_is_said_is_in_the_next_window(limit: Limit, now: datetime) -> None:
    seconds = limit.begins_anew_in(now)
    assert 1 <= seconds <= limit.seconds
    assert limit.window(now + timedelta(seconds=seconds)) == limit.window(now) + timedelta(seconds=limit.seconds)


@given(limit=some_limits)
def test_a_block_is_never_more_than_a_twentieth_and_never_nothing(limit: Limit) -> None:
    assert limit.block == 1 if limit.most < 40 else limit.block * 20 <= limit.most


@given(st.lists(some_limits, min_size=1, unique_by=lambda limit: limit.name))
def test_the_policy_is_a_list_of_structured_fields(asked: list[Limit]) -> None:
    read = http_sf.parse(policy_field(asked).encode(), tltype="list")
    assert read == [(limit.name, {"q": limit.most, "w": limit.seconds}) for limit in asked]


@given(st.lists(st.tuples(some_limits, st.integers(0, 200), st.integers(1, 86_400)), min_size=1))
def test_how_it_stands_is_a_list_of_structured_fields(asked: list[tuple[Limit, int, int]]) -> None:
    standings = [Standing(limit=limit, left=left, seconds=seconds) for limit, left, seconds in asked]
    read = http_sf.parse(standing_field(standings).encode(), tltype="list")
    assert read == [(limit.name, {"r": left, "t": seconds}) for limit, left, seconds in asked]


@pytest.mark.parametrize(("most", "seconds"), [(0, 60), (60, 0), (-1, 60)])
def test_a_limit_lets_something_through(most: int, seconds: int) -> None:
    with pytest.raises(ValueError, match="at least"):
        Limit(name="minute", most=most, seconds=seconds)
