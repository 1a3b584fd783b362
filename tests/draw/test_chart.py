"""Chart picture: every size is there, what is doubtful stands out, and no text leaves the sheet."""

from dataclasses import replace
from xml.etree import ElementTree

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.draw.chart import chart_picture
from hooflast.draw.chart_values import ChartKey, ChartPicture, DrawnPatch
from hooflast.draw.errors import PictureRefused
from hooflast.draw.sheet import WIDTH
from hooflast.draw.values import Identity, Tick

SVG = "{http://www.w3.org/2000/svg}"


def span(low_mm: float, high_mm: float) -> Range:
    return Range(low_mm=low_mm, high_mm=high_mm)


def picture(*sizes: Size) -> ChartPicture:
    return ChartPicture(
        identity=Identity(prefix="chart", title="Lirrowby", desc="Its chart."),
        sizes=sizes,
        doubtful=frozenset(),
        shared=(),
        gaps=(),
        ticks=tuple(Tick(at_mm=float(at), label=str(at)) for at in range(60, 200, 5)),
        width_label="width",
        length_label="length",
        key=ChartKey(size="a size", doubtful="in doubt", shared="shared", gap="between"),
        caption="Each box is a size.",
    )


def size(code: str, width: Range | None, length: Range | None) -> Size:
    return Size(code=SizeCode(code), width=width, length=length)


WREN, FINCH = size("wren", span(100, 106), span(104, 110)), size("finch", span(112, 118), span(116, 122))


def drawn(value: ChartPicture) -> ElementTree.Element:
    return ElementTree.fromstring(chart_picture(value))


def layer(root: ElementTree.Element, name: str) -> list[ElementTree.Element]:
    return [mark for group in root.iter(f"{SVG}g") if group.get("id") == f"chart-{name}" for mark in group.iter()][1:]


ranges = st.none() | st.builds(lambda low, extent: span(low, low + extent), st.floats(50, 150), st.floats(1, 40))
sizes = st.lists(st.tuples(ranges, ranges).filter(any), min_size=1, max_size=8).map(
    lambda found: [size(f"size-{number}", *both) for number, both in enumerate(found)]
)


@given(sizes)
@settings(max_examples=40)
def test_every_size_is_drawn_inside_the_sheet(found: list[Size]) -> None:
    root = drawn(picture(*found))
    assert {mark.get("data-size") for mark in layer(root, "sizes")} >= {one.code for one in found}
    for text in root.iter(f"{SVG}text"):
        assert 0 <= float(text.get("x", "0")) <= WIDTH


def test_a_patch_lies_where_its_ranges_are() -> None:
    gap = DrawnPatch(width=span(106, 112), length=span(110, 116))
    root = drawn(replace(picture(WREN, FINCH), gaps=(gap,)))
    (mark,) = layer(root, "gaps")
    wren, finch = (
        next(one for one in layer(root, "sizes") if one.get("data-size") == code) for code in ("wren", "finch")
    )
    lefts = {
        one.get("data-size"): float(next(rect.get("x", "nan") for rect in one.iter(f"{SVG}rect")))
        for one in (wren, finch)
    }
    assert lefts["wren"] < float(mark.get("x", "nan")) < lefts["finch"]
    assert float(mark.get("x", "nan")) + float(mark.get("width", "nan")) == pytest.approx(lefts["finch"], abs=0.02)


def test_the_key_explains_what_is_there_and_nothing_else() -> None:
    plain = {text.text for text in layer(drawn(picture(WREN, FINCH)), "key")}
    assert ("a size" in plain, "in doubt" in plain, "shared" in plain, "between" in plain) == (
        True,
        False,
        False,
        False,
    )
    doubted = replace(
        picture(WREN, FINCH),
        doubtful=frozenset({WREN.code}),
        shared=(DrawnPatch(width=span(100, 106), length=None),),
        gaps=(DrawnPatch(width=span(106, 112), length=None),),
    )
    assert {"a size", "in doubt", "shared", "between"} <= {text.text for text in layer(drawn(doubted), "key")}


def test_a_chart_without_a_range_is_refused() -> None:
    with pytest.raises(PictureRefused):
        picture(size("wren", None, None))
    with pytest.raises(PictureRefused):
        picture(size("wren", span(106, 100), None))
