"""Values: what cannot be drawn is refused when it is built, by name."""

import pickle
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.samples import entry, four, hoof, size, sizes, sole

from hooflast.catalog.values import Range
from hooflast.draw import DrawnChance, Identity, MissingAxis, PictureRefused, clearance
from hooflast.fit.hoof import Limb


@pytest.mark.parametrize("prefix", ["", "1a", "A", "a b", "a.b", 'a"', "a" * 41, "ä", "a\n"])
def test_a_prefix_that_is_no_plain_name_is_refused(prefix: str) -> None:
    with pytest.raises(PictureRefused, match="prefix") as refused:
        Identity(prefix=prefix, title="", desc="")
    assert refused.value.received == prefix


@pytest.mark.parametrize("field", ["width_mm", "length_mm", "width_sd_mm", "length_sd_mm"])
@pytest.mark.parametrize("value", [0.0, -1.0, float("nan"), float("inf")])
def test_a_hoof_needs_lengths_above_nothing(field: str, value: float) -> None:
    with pytest.raises(PictureRefused, match=field):
        replace(hoof(), **{field: value})


@pytest.mark.parametrize("correlation", [-1.0, 1.0, 2.0, float("nan")])
def test_a_correlation_lies_inside_minus_one_and_one(correlation: float) -> None:
    with pytest.raises(PictureRefused, match="correlation"):
        hoof(correlation=correlation)


@pytest.mark.parametrize("chance", [-0.1, 1.1, float("nan")])
def test_a_chance_lies_between_nothing_and_one(chance: float) -> None:
    with pytest.raises(PictureRefused, match="chance"):
        DrawnChance(value=chance, label="")


def test_a_range_rises() -> None:
    with pytest.raises(PictureRefused, match=r"sizes\[odd\]\.width"):
        sizes(of=[size("odd", width=(120, 120), length=None)])


def test_no_limb_comes_twice_and_there_is_one_at_least() -> None:
    with pytest.raises(PictureRefused, match="hooves"):
        sizes(hoof(Limb.LF), hoof(Limb.LF))
    with pytest.raises(PictureRefused, match="hooves"):
        four(entry(hoof(Limb.RH)), entry(hoof(Limb.RH)))
    with pytest.raises(PictureRefused, match="hooves"):
        replace(sizes(), hooves=())


def test_a_picture_of_sizes_needs_one() -> None:
    with pytest.raises(PictureRefused, match="sizes"):
        sizes(of=())


def test_an_axis_is_called_missing_only_if_it_is() -> None:
    with pytest.raises(PictureRefused, match="length"):
        replace(sole(), length=MissingAxis(name="length", sentence="none"))
    with pytest.raises(PictureRefused, match="width"):
        replace(sole(), size=size("odd", width=None, length=(125, 129)))


def test_a_refusal_survives_pickling() -> None:
    error = PictureRefused(field="prefix", received="A", accepted="a name")
    copy = pickle.loads(pickle.dumps(error))
    assert str(copy) == str(error) == "prefix cannot be drawn: received 'A', accepted a name"


@given(st.floats(60, 200), st.floats(60, 190), st.floats(1, 20))
def test_both_clearances_add_up_to_the_range(hoof_mm: float, low_mm: float, extent_mm: float) -> None:
    room = clearance(hoof_mm, Range(low_mm=low_mm, high_mm=low_mm + extent_mm))
    assert room.above_smallest_mm + room.to_largest_mm == pytest.approx(extent_mm)
    assert (room.above_smallest_mm >= 0) == (hoof_mm >= low_mm)
