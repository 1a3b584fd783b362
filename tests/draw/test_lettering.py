"""Lettering and boxes: texts break into lines that fit, labels find places, and marks are spread in order."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.samples import nasty_texts

from hooflast.draw.boxes import spread
from hooflast.draw.lettering import letter, text_width
from hooflast.draw.sheet import number, plain


@given(nasty_texts, st.floats(40, 300))
def test_no_line_is_wider_than_it_may_be(text: str, width: float) -> None:
    found = letter(text, width=width)
    assert all(text_width(line, size=found.size) <= width for line in found.lines)
    assert found.width <= width


@given(nasty_texts, st.floats(40, 300))
def test_no_letter_is_lost_in_breaking_lines(text: str, width: float) -> None:
    assert "".join(letter(text, width=width).lines).replace(" ", "") == plain(text).replace(" ", "")


words = st.sampled_from(("a", "longer", "word", "quite", "12 mm", "Hazelmere-Elm,"))


@given(st.lists(words, min_size=1, max_size=12).map(" ".join), st.floats(115, 300))
def test_words_are_kept_whole_where_they_fit(text: str, width: float) -> None:
    assert " ".join(letter(text, width=width).lines) == text


@pytest.mark.parametrize("space", ["\u00a0", "\u202f"])
def test_a_number_and_its_unit_stay_on_one_line(space: str) -> None:
    measure = f"124,3{space}mm"
    assert letter(f"Huf {measure}", width=1.02 * text_width(measure, size=12.5)).lines == ("Huf", measure)


@given(st.lists(st.tuples(st.floats(0, 300), st.floats(5, 40)), min_size=1, max_size=6))
def test_spread_things_stand_in_order_without_overlap_inside_their_bounds(things: list[tuple[float, float]]) -> None:
    middles, widths = zip(*sorted(things), strict=True)
    placed = spread(middles, widths=widths, within=(0, 300))
    ends = [(middle - width / 2, middle + width / 2) for middle, width in zip(placed, widths, strict=True)]
    assert all(one[1] <= other[0] + 1e-6 for one, other in itertools.pairwise(ends))
    assert ends[0][0] >= -1e-6
    assert ends[-1][1] <= 300 + 1e-6


@given(st.lists(st.integers(1, 24), min_size=1, max_size=6, unique=True))
def test_things_that_stand_apart_already_stay_where_they_are(places: list[int]) -> None:
    middles = [12.0 * place for place in sorted(places)]
    assert spread(middles, widths=[10.0] * len(middles), within=(0, 300)) == pytest.approx(middles)


@given(st.floats(-1e4, 1e4))
def test_a_number_keeps_two_decimals_and_no_sign_on_nothing(value: float) -> None:
    written = number(value)
    assert abs(float(written) - value) <= 0.00501
    assert written != "-0"
    assert not written.endswith(("0", ".")) or "." not in written
