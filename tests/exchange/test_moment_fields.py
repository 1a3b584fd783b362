"""Moment fields: a moment is read as it is meant, and what no clock shows in UTC is none."""

from datetime import UTC, datetime, timedelta, timezone

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter, ValidationError

from hooflast.exchange.moment_fields import Moment

MOMENTS: TypeAdapter[datetime] = TypeAdapter(Moment)
ZONES = st.integers(-14 * 60, 14 * 60).map(lambda minutes: timezone(timedelta(minutes=minutes)))


@given(st.datetimes(timezones=ZONES))
def test_a_moment_is_the_same_in_utc_or_refused(moment: datetime) -> None:
    try:
        expected = moment.astimezone(UTC)
    except OverflowError:
        with pytest.raises(ValidationError):
            MOMENTS.validate_python(moment.isoformat())
        return
    read = MOMENTS.validate_python(moment.isoformat())
    assert (read, read.tzinfo) == (expected, UTC)


@pytest.mark.parametrize("written", ["0001-01-01T00:00:00+14:00", "9999-12-31T23:59:59-00:01", "0000-01-01T00:00:00Z"])
def test_what_lies_beyond_the_years_that_can_be_kept_is_refused(written: str) -> None:
    with pytest.raises(ValidationError):
        MOMENTS.validate_python(written)


@pytest.mark.parametrize("written", ["2026-05-01", "2026-05-01T12:00:00", "2026-05-01 12:00:00Z", "soon", "", 7, None])
def test_a_moment_has_a_day_a_time_and_a_zone(written: object) -> None:
    with pytest.raises(ValidationError):
        MOMENTS.validate_python(written)
