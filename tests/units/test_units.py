"""Lengths as people write them."""

import math
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.units import (
    MM_PER_INCH,
    Length,
    LengthUnreadable,
    Unit,
    Unreadable,
    read_length,
    read_unit,
    to_unit,
)

tenths_of_mm = st.integers(min_value=1, max_value=20_000)
eighths = st.integers(min_value=1, max_value=1_000)
units = st.sampled_from(Unit)


def mm_of(written: str | int | float, *, unit: Unit = Unit.MM) -> float:
    return read_length(written, unit=unit).mm


def reason_of(written: str | int | float, *, unit: Unit = Unit.MM) -> Unreadable:
    with pytest.raises(LengthUnreadable) as caught:
        read_length(written, unit=unit)
    return caught.value.reason


def outcome(written: str | int | float, *, unit: Unit = Unit.MM) -> Length | Unreadable:
    try:
        return read_length(written, unit=unit)
    except LengthUnreadable as refused:
        return refused.reason


def test_an_inch_is_25_4_millimetres_exactly() -> None:
    """NIST SP 811 (2008), appendix B.6: 1 in = 2.54 E-02 m, set bold there because it is exact."""
    assert Fraction(254, 10) == MM_PER_INCH
    assert mm_of("1 in") == 25.4
    assert mm_of(10, unit=Unit.INCH) == 254.0


@pytest.mark.parametrize(
    "written",
    [
        "4 7/8 in",
        "4-7/8 in",
        "4⅞″",
        '4⅞"',
        "4 ⅞ inches",
        "39/8 in",
        "4.875 in",
        " 4  7/8  IN. ",
        "4 7⁄8 inch",
        '4 7/8"',
        "4 7/8 Zoll",
        "4⅞ pouces",
        "4 7/8 po",
        "4 7/8 tum",
    ],
)
def test_every_way_to_write_four_and_seven_eighths_of_an_inch_is_the_same_length(written: str) -> None:
    assert read_length(written, unit=Unit.MM) == Length(mm=123.825, resolution_mm=3.175, unit=Unit.INCH)


@pytest.mark.parametrize(
    "written",
    [
        "124",
        "124 mm",
        "124mm",
        "12.4 cm",
        "12,4 cm",
        "124 millimetres",
        "124 Millimeters",
        "12.4 centimeter",
        "12,4 Zentimeter",
        "124.0",
    ],
)
def test_every_way_to_write_124_millimetres_is_the_same_length(written: str) -> None:
    assert mm_of(written) == 124.0


def test_a_written_unit_wins_over_the_one_that_holds_otherwise() -> None:
    assert mm_of("124 mm", unit=Unit.INCH) == 124.0
    assert mm_of("5 in", unit=Unit.CM) == 127.0


@given(tenths_of_mm)
def test_millimetres_and_centimetres_agree(tenths: int) -> None:
    assert mm_of(tenths / 10) == pytest.approx(mm_of(tenths / 100, unit=Unit.CM), rel=1e-12)
    assert mm_of(f"{tenths // 10}.{tenths % 10} mm") == tenths / 10


@given(eighths)
def test_a_fraction_and_its_decimals_agree(count: int) -> None:
    whole, rest = divmod(count, 8)
    assert mm_of(f"{whole} {rest}/8 in") == mm_of(count / 8, unit=Unit.INCH) == float(count * MM_PER_INCH / 8)


@given(st.floats(min_value=0.001, max_value=3_000.0), units)
def test_a_length_comes_back_in_the_unit_it_was_written_in(number: float, unit: Unit) -> None:
    assert to_unit(mm_of(number, unit=unit), unit=unit) == pytest.approx(number, rel=1e-12)


@given(st.integers(min_value=0, max_value=9_999), st.integers(min_value=0, max_value=99))
def test_a_decimal_comma_is_a_decimal_point(whole: int, hundredths: int) -> None:
    assert mm_of(f"{whole},{hundredths:02d}") == mm_of(f"{whole}.{hundredths:02d}")


@given(st.integers(min_value=1, max_value=3_000), units)
def test_a_number_and_its_text_are_read_alike(number: int, unit: Unit) -> None:
    assert read_length(number, unit=unit) == read_length(str(number), unit=unit)
    assert read_length(number, unit=unit) == read_length(float(number), unit=unit)


@given(st.floats(min_value=0.001, max_value=3_000.0), units)
def test_the_resolution_of_a_number_is_never_finer_than_1_32_inch_nor_coarser_than_5_mm(
    number: float, unit: Unit
) -> None:
    assert 25.4 / 32 <= read_length(number, unit=unit).resolution_mm <= 5.0


@pytest.mark.parametrize(
    ("written", "resolution_mm"),
    [
        ("124 mm", 1.0),
        ("124.5 mm", 1.0),
        ("12.4 cm", 1.0),
        ("12.0 cm", 1.0),
        ("12 cm", 5.0),
        ("12 1/2 cm", 5.0),
        ("5 in", 3.175),
        ("4 1/2 in", 3.175),
        ("4 3/16 in", 25.4 / 16),
        ("4 3/32 in", 25.4 / 32),
        ("4 3/64 in", 25.4 / 64),
        ("4.5 in", 3.175),
        ("4.1875 in", 25.4 / 16),
        ("4.9 in", 2.54),
        ("4.88 in", 25.4 / 32),
    ],
)
def test_the_resolution_is_the_step_the_writing_shows(written: str, resolution_mm: float) -> None:
    assert read_length(written, unit=Unit.MM).resolution_mm == pytest.approx(resolution_mm)


@pytest.mark.parametrize("written", ["1,240", "4,875 in", "12,000 cm", "1,240,000"])
def test_a_comma_before_three_digits_is_refused_because_it_may_part_thousands(written: str) -> None:
    assert reason_of(written) is Unreadable.AMBIGUOUS


@pytest.mark.parametrize(("written", "mm"), [("0,125 in", 3.175), ("1234,500", 1234.5), ("12,40 cm", 124.0)])
def test_a_comma_that_cannot_part_thousands_is_a_decimal_comma(written: str, mm: float) -> None:
    assert mm_of(written) == mm


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("", Unreadable.EMPTY),
        ("   ", Unreadable.EMPTY),
        ("wide", Unreadable.NUMBER),
        ("mm", Unreadable.NUMBER),
        ("NaN", Unreadable.NUMBER),
        ("1e3", Unreadable.NUMBER),
        ("124.", Unreadable.NUMBER),
        ("12 . 4", Unreadable.NUMBER),
        ("124/128", Unreadable.NUMBER),
        ("4 9/8 in", Unreadable.NUMBER),
        ("4 1/0 in", Unreadable.NUMBER),
        ("124 x 128", Unreadable.NUMBER),
        ("١٢٤", Unreadable.NUMBER),
        ("1" * 500, Unreadable.NUMBER),
        ("5 furlongs", Unreadable.UNIT),
        ("124 m", Unreadable.UNIT),
        ("-5 mm", Unreadable.NEGATIVE),
        ("−5 mm", Unreadable.NEGATIVE),
        ("999999 in", Unreadable.TOO_LARGE),
        (-1, Unreadable.NEGATIVE),
        (-0.5, Unreadable.NEGATIVE),
        (math.nan, Unreadable.NUMBER),
        (math.inf, Unreadable.NUMBER),
        (-math.inf, Unreadable.NUMBER),
        (True, Unreadable.NUMBER),
        (1e300, Unreadable.TOO_LARGE),
        (10**400, Unreadable.TOO_LARGE),
    ],
)
def test_what_is_no_length_is_refused_with_its_reason(written: str | int | float, reason: Unreadable) -> None:
    assert reason_of(written) is reason


def test_no_length_at_all_is_still_a_length() -> None:
    assert mm_of(0) == mm_of(-0.0) == mm_of("0 in") == 0.0


@given(st.text(max_size=80) | st.integers() | st.floats(allow_nan=True, allow_infinity=True), units)
def test_whatever_comes_is_read_or_refused_as_unreadable(written: str | int | float, unit: Unit) -> None:
    read = outcome(written, unit=unit)
    assert isinstance(read, Unreadable) or (0 <= read.mm <= 100_000 and read.resolution_mm > 0)


@given(st.text(alphabet='0123456789,./ -⅞½mcin"″', max_size=20))
def test_space_around_a_length_changes_nothing(written: str) -> None:
    assert outcome(f"  {written}\n") == outcome(written)


def test_units_are_read_by_their_symbols_and_their_names() -> None:
    assert [read_unit(name) for name in ("mm", " CM ", "Inches", "in.", '"')] == [
        Unit.MM,
        Unit.CM,
        Unit.INCH,
        Unit.INCH,
        Unit.INCH,
    ]
    with pytest.raises(LengthUnreadable) as caught:
        read_unit("ell")
    assert caught.value.reason is Unreadable.UNIT


def test_the_refusal_names_what_was_written() -> None:
    with pytest.raises(ValueError, match="5 furlongs"):
        read_length("5 furlongs", unit=Unit.MM)
