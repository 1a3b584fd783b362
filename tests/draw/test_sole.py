"""Sole picture: outlines, bands and strips as large as the numbers say, measured by the picture's own scale bar."""

import itertools
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.reading import Read, extent, nodes, numbers, polyline, read, shown
from tests.draw.samples import TEASEL, bounded, hoof, hooves, size, sole

from hooflast.draw import DrawnHoof, SolePicture, clearance, sole_picture
from hooflast.draw.outline import Sole
from hooflast.fit.hoof import Limb

CLOSE_MM = 0.05
"""What rounding of coordinates, and of the scale bar they are measured by, may add up to."""

limbs = st.sampled_from(Limb)
any_hoof = limbs.flatmap(lambda limb: hooves(limb, limb.value))


def units_per_mm(drawing: Read) -> float:
    """By the scale bar, which is 20 mm long in these pictures."""
    (bar,) = [node for node in nodes(drawing.layer("sole"), "line") if "data-scale" in node.attrib]
    left, _, right, _ = extent(bar)
    return (right - left) / 20.0


def measure(drawing: Read, kind: str) -> tuple[float, float]:
    """Width and length of a kind of outline, mm."""
    boxes = np.array([extent(node) for node in nodes(drawing.layer("sole"), "path", kind=kind)])
    across, along = boxes[:, 2].max() - boxes[:, 0].min(), boxes[:, 3].max() - boxes[:, 1].min()
    return across / units_per_mm(drawing), along / units_per_mm(drawing)


@bounded
@given(any_hoof)
def test_the_outline_is_as_wide_and_as_long_as_the_hoof(drawn: DrawnHoof) -> None:
    drawing = read(sole_picture(sole(drawn)))
    assert measure(drawing, "hoof") == pytest.approx((drawn.width_mm, drawn.length_mm), rel=1e-3, abs=CLOSE_MM)


@given(limb=limbs, width=st.floats(45, 230), length=st.floats(45, 230))
def test_the_outline_reaches_its_width_at_the_quarters_and_its_length_at_toe_and_buttresses(
    limb: Limb, width: float, length: float
) -> None:
    points = polyline(Sole(limb=limb, width_mm=width, length_mm=length).outline.path(middle=(0, 0), units_per_mm=1.0))
    x, y = points[:, 0], points[:, 1]
    assert (x.max(), x.min()) == pytest.approx((width / 2, -width / 2), abs=0.01)
    assert (y.max(), y.min()) == pytest.approx((length / 2, -length / 2), abs=0.01)
    assert x[y.argmin()] == pytest.approx(0, abs=0.01)
    assert 0.5 < y[x.argmax()] / length + 0.5 < 0.65
    assert 0.25 < abs(x[y.argmax()]) / width < 0.45


@given(limb=limbs, width=st.floats(45, 230), length=st.floats(45, 230))
def test_both_halves_of_the_outline_are_alike(limb: Limb, width: float, length: float) -> None:
    parts = Sole(limb=limb, width_mm=width, length_mm=length).outline.parts
    mirrored = {tuple((-x, y) for x, y in reversed(part)) for part in parts}
    assert len(parts) > 6
    assert set(parts) == mirrored


def test_the_toe_is_rounder_in_front_than_behind() -> None:
    fore, hind = (
        polyline(Sole(limb=limb, width_mm=100, length_mm=100).outline.path(middle=(0, 0), units_per_mm=1.0))
        for limb in (Limb.LF, Limb.LH)
    )
    near_the_toe = [np.abs(points[np.abs(points[:, 1] + 40) < 1.5, 0]).mean() for points in (fore, hind)]
    assert near_the_toe[0] > near_the_toe[1] + 2


@given(limb=limbs)
def test_all_that_lies_inside_stays_inside(limb: Limb) -> None:
    drawn = Sole(limb=limb, width_mm=100, length_mm=100)
    for curve in (*drawn.inside, *drawn.frog):
        points = polyline(curve.path(middle=(0, 0), units_per_mm=1.0))
        assert np.abs(points).max() < 50


@bounded
@given(any_hoof)
def test_the_bounds_are_as_large_as_the_sizes_largest_and_smallest_hoof(drawn: DrawnHoof) -> None:
    drawing = read(sole_picture(sole(drawn)))
    assert measure(drawing, "largest") == pytest.approx((127, 129), rel=1e-3, abs=CLOSE_MM)
    assert measure(drawing, "smallest") == pytest.approx((123, 125), rel=1e-3, abs=CLOSE_MM)


@bounded
@given(any_hoof)
def test_hoof_and_bounds_share_one_middle(drawn: DrawnHoof) -> None:
    drawing = read(sole_picture(sole(drawn)))
    boxes = np.array(
        [extent(nodes(drawing.layer("sole"), "path", kind=kind)[0]) for kind in ("hoof", "largest", "smallest")]
    )
    middles = (boxes[:, :2] + boxes[:, 2:]) / 2
    assert np.ptp(middles, axis=0) == pytest.approx((0, 0), abs=0.02)


@bounded
@given(any_hoof)
def test_the_soft_band_lies_two_and_one_standard_deviations_around_the_outline(drawn: DrawnHoof) -> None:
    drawing = read(sole_picture(sole(drawn)))
    bands = nodes(drawing.layer("sole"), "path", kind="doubt")
    assert [node.get("fill-rule") for node in bands] == ["evenodd", "evenodd"]
    for band, sigmas in zip(bands, (2, 1), strict=True):
        for ring, sign in zip(band.attrib["d"].split("Z"), (1, -1), strict=False):
            points = polyline(ring)
            found = np.ptp(points, axis=0) / units_per_mm(drawing)
            expected = (
                drawn.width_mm + sign * sigmas * drawn.width_sd_mm,
                drawn.length_mm + sign * sigmas * drawn.length_sd_mm,
            )
            assert found == pytest.approx(expected, rel=1e-3, abs=CLOSE_MM)


@bounded
@given(any_hoof)
def test_a_strip_shows_both_clearances_at_one_scale(drawn: DrawnHoof) -> None:
    drawing = read(sole_picture(sole(drawn)))
    scales = []
    for axis, mean_mm, span in (("width", drawn.width_mm, TEASEL.width), ("length", drawn.length_mm, TEASEL.length)):
        assert span is not None
        strip = drawing.layer(f"strip-{axis}")
        (low,), (here,), (high,) = (
            [extent(node)[0] for node in nodes(strip, "line", kind=kind)] for kind in ("smallest", "hoof", "largest")
        )
        scale = (high - low) / (span.high_mm - span.low_mm)
        room = clearance(mean_mm, span)
        assert (here - low) / scale == pytest.approx(room.above_smallest_mm, rel=0.02, abs=CLOSE_MM)
        assert (high - here) / scale == pytest.approx(room.to_largest_mm, rel=0.02, abs=CLOSE_MM)
        scales.append(scale)
    assert scales[0] == pytest.approx(scales[1], rel=0.02)


@pytest.mark.parametrize("width", [115.0, 124.0, 140.0])
def test_a_clearance_that_is_used_up_is_marked_otherwise(width: float) -> None:
    strip = read(sole_picture(sole(hoof(width=width)))).layer("strip-width")
    alerts = [shown(node) for node in nodes(strip, "text", kind="alert")]
    assert alerts == {115.0: ["width above"], 124.0: [], 140.0: ["width to spare"]}[width]
    assert len(nodes(strip, "line", kind="mark")) == 3 * len(alerts)


@pytest.mark.parametrize("width", [115.0, 124.0, 128.5, 140.0])
def test_the_labels_of_a_strip_stand_apart(width: float) -> None:
    strip = read(sole_picture(sole(hoof(width=width)))).layer("strip-width")
    rows: dict[float, list[tuple[float, float]]] = {}
    for node in nodes(strip, "text"):
        left, top, right, _ = extent(node)
        rows.setdefault(top, []).append((left, right))
    assert len(rows) >= 3
    for row in rows.values():
        ordered = sorted(row)
        assert all(one[1] <= other[0] + 0.02 for one, other in itertools.pairwise(ordered))


@pytest.mark.parametrize(("axis", "across"), [("length", 0), ("width", 1)])
def test_a_missing_axis_is_said_and_drawn_open(axis: str, across: int) -> None:
    against = size(
        "odd", width=None if axis == "width" else (121, 128), length=None if axis == "length" else (124, 131)
    )
    drawing = read(sole_picture(sole(hoof(), against=against)))
    assert "The chart leaves it out." in [shown(node) for node in nodes(drawing.layer(f"strip-{axis}"), "text")]
    largest = nodes(drawing.layer("sole"), "path", kind="largest")
    assert len(largest) == 2
    assert all("Z" not in node.attrib["d"] for node in largest)
    assert measure(drawing, "largest")[across] == pytest.approx((128, 131)[across], abs=CLOSE_MM)
    assert measure(drawing, "smallest")[across] == pytest.approx((121, 124)[across], abs=CLOSE_MM)
    assert len(nodes(drawing.layer("details"), "circle")) == 2


def test_a_size_with_neither_axis_leaves_the_hoof_alone() -> None:
    drawing = read(sole_picture(sole(hoof(), against=size("odd", width=None, length=None))))
    assert nodes(drawing.layer("sole"), "path", kind="largest") == []
    assert len(nodes(drawing.layer("sole"), "path", kind="hoof")) == 1


def test_a_line_leads_from_the_sole_to_each_strip() -> None:
    drawing = read(sole_picture(sole()))
    rings = nodes(drawing.layer("details"), "circle")
    assert len(rings) == 4
    middle, edge = np.array(numbers(rings[0], "cx", "cy")), extent(nodes(drawing.layer("sole"), "path", kind="hoof")[0])
    assert middle[0] == pytest.approx(edge[2], abs=0.02)
    assert numbers(rings[2], "cy")[0] == pytest.approx(edge[3], abs=0.02)
    for ring, name in ((rings[1], "width"), (rings[3], "length")):
        head = extent(nodes(drawing.layer(f"strip-{name}"), "text")[0])
        assert head[1] < numbers(ring, "cy")[0] < head[3]


def test_an_empty_text_leaves_its_entry_out_of_the_key() -> None:
    picture = sole()
    bare: SolePicture = replace(picture, key=replace(picture.key, doubt="", smallest=""), caption="")
    drawn = nodes(read(sole_picture(bare)).layer("key"), "text")
    assert [shown(node) for node in drawn] == ["the hoof", "the largest"]


@bounded
@given(any_hoof)
def test_every_mark_and_every_clearance_of_a_strip_has_its_line(drawn: DrawnHoof) -> None:
    strip = read(sole_picture(sole(drawn))).layer("strip-width")
    low, here, high = (extent(nodes(strip, "line", kind=kind)[0])[0] for kind in ("smallest", "hoof", "largest"))
    dimensions = [extent(node) for kind in ("measure", "mark") for node in nodes(strip, "line", kind=kind)]
    level = sorted((box[0], box[2]) for box in dimensions if box[1] == box[3])
    assert level == sorted((min(ends), max(ends)) for ends in ((low, here), (here, high)))
    leaders = [numbers(node, "x1", "y1", "x2", "y2") for node in nodes(strip, "line", kind="leader")]
    bar = extent(nodes(strip, "rect", kind="range")[0])
    assert sorted(x for x, y, _, _ in leaders if y > bar[3]) == sorted((low, here, high))
    ends = sorted(x for _, y, x, _ in leaders if y < bar[1])
    assert ends == pytest.approx(sorted(((low + here) / 2, (here + high) / 2)), abs=0.02)


@pytest.mark.parametrize("width", [115.0, 124.0, 140.0])
def test_the_marks_of_a_strip_are_labelled_in_their_order(width: float) -> None:
    strip = read(sole_picture(sole(hoof(width=width)))).layer("strip-width")
    written = {shown(node): extent(node) for node in nodes(strip, "text")}
    at_mm = {"123": 123.0, "127": 127.0, "width here": width}
    assert sorted(at_mm, key=lambda label: written[label][0]) == sorted(at_mm, key=lambda label: at_mm[label])
