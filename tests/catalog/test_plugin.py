"""Plugin: what is offered now keeps its day for as long as it stays the same."""

from datetime import date

from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.plugin import Held, Source, fetched_now

SOURCE = Source(name="boots")


@given(st.binary(), st.dates(), st.dates())
def test_the_same_content_has_the_day_it_first_came_on(content: bytes, first: date, later: date) -> None:
    before = fetched_now(SOURCE, content, held=None, today=first)
    again = fetched_now(SOURCE, content, held=Held(version=before.version, content=content), today=later)
    assert (before.retrieved_on, again) == (first, before)


@given(st.binary(), st.dates(), st.dates())
def test_other_content_has_the_day_of_today(content: bytes, first: date, later: date) -> None:
    before = Held(version=first.isoformat(), content=content)
    assert fetched_now(SOURCE, content + b"!", held=before, today=later).retrieved_on == later
