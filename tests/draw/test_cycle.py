"""The cycle picture: where the hoof, its doubt, the trims and the size's range lie on it."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.reading import extent, nodes, numbers, read, shown
from tests.draw.samples import bounded, cycle, cycle_pictures, panel

from hooflast.catalog.values import Range
from hooflast.draw import CyclePanel, CyclePicture, DrawnCycle, PictureRefused, cycle_picture
from hooflast.fit.hoof import Axis


def layer_of(picture: CyclePicture, axis: Axis = Axis.WIDTH):
    drawing = read(cycle_picture(picture))
    return drawing.layer(f"hoof-1-{axis.value}")


def units_per_mm(layer) -> float:
    return float(layer.get("data-units-per-mm"))


def points(node) -> list[tuple[float, float]]:
    pairs = [pair.partition(",") for pair in node.attrib["points"].split()]
    return [(float(x), float(y)) for x, _, y in pairs]


def test_a_growing_hoof_rises_and_falls_back_at_the_trim():
    runs = nodes(layer_of(cycle()), "polyline", kind="hoof")
    first, second = (points(run) for run in runs)
    assert first[0][1] > first[-1][1]
    assert first[0][0] < first[-1][0] == second[0][0] < second[-1][0]
    assert second[0][1] == pytest.approx(first[0][1])


def test_millimetres_are_to_scale():
    layer = layer_of(cycle(panel(start=124.0, per_week=0.5, weeks=8.0)))
    run = points(nodes(layer, "polyline", kind="hoof")[0])
    assert (run[0][1] - run[-1][1]) / units_per_mm(layer) == pytest.approx(4.0, abs=0.01)


def test_both_dimensions_have_one_scale():
    picture = cycle(panel(sd=1.0), panel(Axis.LENGTH, sd=4.0))
    assert units_per_mm(layer_of(picture)) == units_per_mm(layer_of(picture, Axis.LENGTH))


def test_the_ribbon_is_one_and_two_standard_deviations_wide():
    layer = layer_of(cycle(panel(sd=2.0)))
    for kind, wide in (("likely", 4.0), ("sure", 8.0)):
        ribbon = points(nodes(layer, "polygon", kind=kind)[0])
        assert (ribbon[-1][1] - ribbon[0][1]) / units_per_mm(layer) == pytest.approx(wide, abs=0.02)


def test_a_line_marks_each_trim_between_two_stretches():
    layer = layer_of(cycle())
    marks = {numbers(node, "x1")[0] for node in nodes(layer, "line", kind="margin")}
    turned = points(nodes(layer, "polyline", kind="hoof")[1])[0][0]
    assert turned in marks


def test_the_range_and_what_the_closure_gives_lie_where_they_are():
    layer = layer_of(cycle(panel(span=(120.0, 128.0), give=2.0, start=124.0)))
    hoof_y = points(nodes(layer, "polyline", kind="hoof")[0])[0][1]
    given, band, hatch = [extent(node) for node in nodes(layer, "rect")]
    assert band == hatch
    for y, mm in ((given[3], 118.0), (given[1], 129.0), (band[3], 120.0), (band[1], 128.0)):
        assert (hoof_y - y) / units_per_mm(layer) == pytest.approx(mm - 124.0, abs=0.02)
    assert [numbers(node, "y1")[0] for kind in ("largest", "smallest") for node in nodes(layer, "line", kind=kind)] == [
        pytest.approx(given[1]),
        pytest.approx(given[3]),
    ]


def test_an_axis_the_chart_leaves_out_has_no_range():
    assert nodes(layer_of(cycle(panel(span=None), panel(Axis.LENGTH))), "rect") == []


def test_without_any_range_the_key_names_none():
    drawing = read(cycle_picture(cycle(panel(span=None))))
    said = {shown(node) for node in nodes(drawing.layer("key"), "text")}
    assert {"range", "give"} & said == set()
    assert {"the mean", "trim"} <= said


def test_a_hoof_without_panels_is_told_in_words_alone():
    alone = cycle(hooves=[DrawnCycle(label="LF", found="No size is looked at.", panels=())])
    drawing = read(cycle_picture(alone))
    assert "No size is looked at." in {shown(node) for node in nodes(drawing.layer("hoof-1"), "text")}
    assert nodes(drawing.root, "polyline") == []


@bounded
@given(cycle_pictures())
def test_the_hoof_with_its_doubt_stays_inside_its_panel(picture):
    drawing = read(cycle_picture(picture))
    for layer in drawing.layers("hoof-"):
        frame = [extent(node) for node in nodes(layer, "line", kind="margin")]
        for node in [*nodes(layer, "polygon"), *nodes(layer, "polyline")]:
            left, top, right, bottom = extent(node)
            assert min(box[1] for box in frame) - 0.01 <= top
            assert bottom <= max(box[3] for box in frame) + 0.01
            assert min(box[0] for box in frame) <= left <= right <= 306.01


@bounded
@given(st.floats(2.0, 16.0))
def test_weeks_are_labelled_as_far_as_they_have_room(weeks):
    layer = layer_of(cycle(panel(weeks=weeks)))
    labels = sorted(extent(node) for node in nodes(layer, "text", kind="aside") if shown(node).isdecimal())
    below = [box for box in labels if box[1] > max(extent(node)[3] for node in nodes(layer, "polygon"))]
    assert len(below) >= 2
    assert all(one[2] <= other[0] for one, other in pairwise(below))


def test_a_panel_without_a_point_is_refused():
    with pytest.raises(PictureRefused, match="runs"):
        CyclePanel(axis=Axis.WIDTH, name="width", runs=((),), span=None, accepted=None)


def test_a_range_without_what_is_accepted_is_refused():
    with pytest.raises(PictureRefused, match="accepted"):
        CyclePanel(axis=Axis.WIDTH, name="width", runs=panel().runs, span=Range(low_mm=1.0, high_mm=2.0), accepted=None)


def test_a_picture_of_no_hoof_is_refused():
    with pytest.raises(PictureRefused, match="hooves"):
        CyclePicture(identity=cycle().identity, hooves=(), ticks=(), weeks=(), weeks_label="", key=cycle().key)
