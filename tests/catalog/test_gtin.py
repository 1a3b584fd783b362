"""GTIN: check digits by the GS1 General Specifications."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.gtin import check_digit


@pytest.mark.parametrize(
    ("digits", "digit"),
    [
        (
            "629104150021",
            "3",
        ),  # GS1, How to calculate a check digit manually (gs1.org/how-calculate-check-digit-manually)
        ("730001100001", "7"),  # GS1 Sweden, Så beräknas kontrollsiffran (gs1.se)
        ("890400021003", "7"),  # GS1 India, How to calculate the check digit (gs1india.org)
    ],
)
def test_the_worked_examples_of_gs1_come_out(digits: str, digit: str) -> None:
    assert check_digit(digits) == digit


@given(st.from_regex(r"[0-9]{7}|[0-9]{11,13}", fullmatch=True))
def test_weighted_with_its_check_digit_every_number_comes_to_a_multiple_of_ten(digits: str) -> None:
    whole = digits + check_digit(digits)
    assert sum(int(one) * (1, 3)[place % 2] for place, one in enumerate(whole[::-1])) % 10 == 0


@given(st.from_regex(r"[0-9]{12}", fullmatch=True), st.integers(0, 11), st.integers(1, 9))
def test_a_single_wrong_digit_always_changes_the_check_digit(digits: str, place: int, by: int) -> None:
    wrong = digits[:place] + str((int(digits[place]) + by) % 10) + digits[place + 1 :]
    assert check_digit(wrong) != check_digit(digits)


@pytest.mark.parametrize("digits", ["0000000", "000000000000"])
def test_a_number_of_noughts_ends_in_nought(digits: str) -> None:
    assert check_digit(digits) == "0"
