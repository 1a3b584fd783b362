"""Numbers on the command line: with a point or a comma, and nothing that is neither."""

import click
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.cli.decimals import DECIMAL


@given(st.integers(-9999, 9999), st.integers(0, 999))
def test_a_comma_says_the_same_as_a_point(whole: int, decimals: int) -> None:
    written = f"{whole}.{decimals:03}"
    assert (
        DECIMAL.convert(written.replace(".", ","), None, None) == DECIMAL.convert(written, None, None) == float(written)
    )


@pytest.mark.parametrize("written", ["", ",", "1,", "1,2,3", "1.2,3", "six", "1 000"])
def test_what_is_no_number_is_refused(written: str) -> None:
    with pytest.raises(click.BadParameter):
        DECIMAL.convert(written, None, None)
