"""Raised: an error of a plugin is told in words that can be written, with a place only where there is one."""

from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.raised import LONGEST_REASON, tell_raised


def test_an_error_that_no_line_of_the_plugin_raised_has_no_place() -> None:
    assert tell_raised(KeyError("width")) == "it raised KeyError: 'width'"


@given(st.text(alphabet=st.characters(codec=None), max_size=3000))
def test_whatever_an_error_says_can_be_written_and_ends(said: str) -> None:
    told = tell_raised(ValueError(said))
    assert told.encode("utf-8")
    assert len(told) <= LONGEST_REASON
