"""Sizes picture: what is drawn lies where the numbers say, read off the picture's own ticks."""

from dataclasses import dataclass
from math import cos, radians, sin

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.reading import Extent, Read, extent, meet, nodes, numbers, read, shown, turn_of
from tests.draw.samples import BRAMBLE, MARLOWICK, TICKS, bounded, hoof, hooves, size, sizes

from hooflast.catalog.values import Size
from hooflast.draw import SizesKey, SizesPicture, Tick, sizes_picture
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method

CLOSE = 0.03
"""Units: what rounding of coordinates, and of the ticks they are measured by, may add up to."""


@dataclass(frozen=True, kw_only=True)
class Ruler:
    """How many units a millimetre is, and where 0 mm would lie: read off two labelled ticks of each axis."""

    units_per_mm: float
    x0: float
    y0: float

    def x(self, width_mm: float) -> float:
        return self.x0 + width_mm * self.units_per_mm

    def y(self, length_mm: float) -> float:
        return self.y0 - length_mm * self.units_per_mm


def ruler(drawing: Read) -> Ruler:
    """The ticks are measured at the ruled lines, the one nearest to each label."""
    axes = drawing.layer("axes")
    hair = [extent(node) for node in nodes(axes, "line", kind="hair")]
    upright, level = [box[0] for box in hair if box[0] == box[2]], [box[1] for box in hair if box[1] == box[3]]
    labels = [node for node in nodes(axes, "text") if shown(node).isdigit()]
    across = [(float(shown(node)), numbers(node, "x")[0]) for node in labels if node.get("text-anchor") == "middle"]
    along = [(float(shown(node)), extent(node)) for node in labels if node.get("text-anchor") == "end"]
    x = [(mm, min(upright, key=lambda line: abs(line - at))) for mm, at in across]
    y = [(mm, min(level, key=lambda line: abs(line - (box[1] + box[3]) / 2))) for mm, box in along]
    (first_mm, first_x), (last_mm, last_x) = min(x), max(x)
    units_per_mm = (last_x - first_x) / (last_mm - first_mm)
    (low_mm, low_y), (high_mm, high_y) = min(y), max(y)
    assert (low_y - high_y) / (high_mm - low_mm) == pytest.approx(units_per_mm, abs=2e-3)
    return Ruler(units_per_mm=units_per_mm, x0=first_x - first_mm * units_per_mm, y0=low_y + low_mm * units_per_mm)


def drawn_sizes(drawing: Read) -> dict[str, Extent]:
    return {
        node.attrib["data-size"]: extent(node) for node in nodes(drawing.root, "rect") if "data-size" in node.attrib
    }


@st.composite
def plain_pictures(draw: st.DrawFn) -> SizesPicture:
    """A chart of the usual kind, and hooves somewhere along it."""
    step, extent_mm, first = draw(st.sampled_from((5, 6, 8))), draw(st.floats(3, 9)), draw(st.floats(90, 120))
    codes = draw(st.lists(st.from_regex(r"[a-z]{3,9}", fullmatch=True), min_size=4, max_size=8, unique=True))
    chart = [
        size(
            code,
            width=(first + place * step, first + place * step + extent_mm),
            length=(first + place * step + 2, first + place * step + 2 + extent_mm),
        )
        for place, code in enumerate(codes)
    ]
    limbs = draw(st.lists(st.sampled_from(Limb), min_size=1, unique=True))
    middle = draw(st.floats(first + step, first + 3 * step))
    found = [
        hoof(
            limb,
            width=middle + draw(st.floats(-6, 6)),
            length=middle + draw(st.floats(-6, 6)),
            sd=(draw(st.floats(0.8, 3)), draw(st.floats(0.8, 4))),
            correlation=draw(st.floats(-0.9, 0.9)),
        )
        for limb in limbs
    ]
    return sizes(*found, of=chart, chosen=draw(st.lists(st.sampled_from(codes), max_size=2)))


@bounded
@given(plain_pictures())
def test_each_size_is_the_rectangle_of_its_hoof_range(picture: SizesPicture) -> None:
    drawing = read(sizes_picture(picture))
    by = ruler(drawing)
    drawn = drawn_sizes(drawing)
    assert drawn
    for one in picture.sizes:
        if one.code in drawn and one.width is not None and one.length is not None:
            expected = (
                by.x(one.width.low_mm),
                by.y(one.length.high_mm),
                by.x(one.width.high_mm),
                by.y(one.length.low_mm),
            )
            assert drawn[one.code] == pytest.approx(expected, abs=10 * CLOSE)


@bounded
@given(plain_pictures())
def test_hooves_are_points_at_their_mean(picture: SizesPicture) -> None:
    drawing = read(sizes_picture(picture))
    by = ruler(drawing)
    points = {node.attrib["data-limb"]: numbers(node, "cx", "cy") for node in nodes(drawing.layer("hooves"), "circle")}
    expected = {one.limb.value: (by.x(one.width_mm), by.y(one.length_mm)) for one in picture.hooves}
    assert points.keys() == expected.keys()
    for limb, point in points.items():
        assert point == pytest.approx(expected[limb], abs=10 * CLOSE)


@bounded
@given(plain_pictures())
def test_the_half_axes_of_the_ellipses_are_the_roots_of_the_eigenvalues(picture: SizesPicture) -> None:
    drawing = read(sizes_picture(picture))
    by = ruler(drawing)
    for one in picture.hooves:
        shared = one.correlation * one.width_sd_mm * one.length_sd_mm
        covariance = np.array([[one.width_sd_mm**2, shared], [shared, one.length_sd_mm**2]])
        eigenvalues = np.linalg.eigvalsh(covariance)
        for sigmas, kind in ((1, "likely"), (2, "sure")):
            (ellipse,) = [
                node
                for node in nodes(drawing.layer("doubt"), "ellipse", kind=kind)
                if node.get("data-limb") == one.limb
            ]
            longer, shorter = numbers(ellipse, "rx", "ry")
            assert longer == pytest.approx(sigmas * by.units_per_mm * eigenvalues[1] ** 0.5, rel=5e-3, abs=CLOSE)
            assert shorter == pytest.approx(sigmas * by.units_per_mm * eigenvalues[0] ** 0.5, rel=5e-3, abs=CLOSE)


@bounded
@given(plain_pictures())
def test_the_ellipses_lie_along_the_eigenvectors_and_reach_two_sigma_on_both_axes(picture: SizesPicture) -> None:
    drawing = read(sizes_picture(picture))
    by = ruler(drawing)
    for one in picture.hooves:
        shared = one.correlation * one.width_sd_mm * one.length_sd_mm
        covariance = np.array([[one.width_sd_mm**2, shared], [shared, one.length_sd_mm**2]])
        (ellipse,) = [
            node for node in nodes(drawing.layer("doubt"), "ellipse", kind="sure") if node.get("data-limb") == one.limb
        ]
        turn = radians(turn_of(ellipse))
        longest = np.array([cos(turn), -sin(turn)])
        variance = longest @ covariance @ longest
        assert covariance @ longest == pytest.approx(variance * longest, abs=4e-4 * np.trace(covariance))
        left, top, right, bottom = extent(ellipse)
        assert right - left == pytest.approx(4 * one.width_sd_mm * by.units_per_mm, rel=5e-3)
        assert bottom - top == pytest.approx(4 * one.length_sd_mm * by.units_per_mm, rel=5e-3)


@bounded
@given(plain_pictures())
def test_labels_meet_neither_each_other_nor_a_hoof(picture: SizesPicture) -> None:
    drawing = read(sizes_picture(picture))
    labels = [extent(node) for node in nodes(drawing.layer("names"), "text")]
    points = [extent(node) for node in nodes(drawing.layer("hooves"), "circle")]
    assert len(labels) == len(picture.hooves) + len(drawn_sizes(drawing))
    assert [
        pair
        for place, one in enumerate(labels)
        for other in labels[:place]
        if meet(one, other)
        for pair in [(one, other)]
    ] == []
    assert [(one, point) for one in labels for point in points if meet(one, point, by=1.5)] == []


@bounded
@given(plain_pictures())
def test_tick_labels_do_not_meet(picture: SizesPicture) -> None:
    labels = [extent(node) for node in nodes(read(sizes_picture(picture)).layer("axes"), "text")]
    assert len(labels) > 4
    assert not any(meet(one, other) for place, one in enumerate(labels) for other in labels[:place])


@pytest.mark.parametrize("together", [1, 2, 3, 4])
def test_hooves_that_coincide_are_still_told_apart(together: int) -> None:
    alike = [hoof(limb) for limb in list(Limb)[:together]]
    labels = nodes(read(sizes_picture(sizes(*alike))).layer("names"), "text")
    boxes = [extent(node) for node in labels if shown(node) in set(Limb)]
    assert len(boxes) == together
    assert not any(meet(one, other) for place, one in enumerate(boxes) for other in boxes[:place])


def test_the_chosen_size_stands_out_by_hatching_and_by_heavier_edges() -> None:
    drawing = read(sizes_picture(sizes(chosen=("teasel",))))
    (chosen,) = nodes(drawing.layer("chosen"), "rect", kind="chosen")
    assert chosen.attrib["data-size"] == "teasel"
    hatched = [node for node in nodes(drawing.layer("chosen"), "rect") if node.get("fill", "").endswith("-hatch)")]
    assert [extent(node) for node in hatched] == [extent(chosen)]
    assert len(nodes(drawing.layer("chosen"), "line", kind="past")) == 4
    (label,) = [node for node in nodes(drawing.layer("names"), "text") if shown(node) == "teasel"]
    assert "strong" in label.attrib["class"].split()


def test_a_size_out_of_reach_is_left_out() -> None:
    chart = [size(f"s{mm}", width=(mm, mm + 4), length=(mm, mm + 4)) for mm in range(60, 240, 5)]
    drawn = drawn_sizes(read(sizes_picture(sizes(*BRAMBLE, of=chart, chosen=("s120",)))))
    assert "s120" in drawn
    assert {"s60", "s235"} & drawn.keys() == set()
    assert len(drawn) <= 8


def test_a_chosen_size_is_shown_however_far_it_is() -> None:
    drawn = drawn_sizes(read(sizes_picture(sizes(hoof(), chosen=("clover",)))))
    assert {"clover", "teasel"} <= drawn.keys()


def test_hooves_that_no_size_reaches_still_see_the_nearest() -> None:
    drawn = drawn_sizes(read(sizes_picture(sizes(hoof(width=170, length=168), chosen=()))))
    assert "angelica" in drawn


@bounded
@given(hooves(Limb.LF, "LF"))
def test_any_hoof_is_in_view_with_all_of_its_doubt(one: object) -> None:
    drawing = read(sizes_picture(sizes(one, chosen=())))
    (outer,) = nodes(drawing.layer("doubt"), "ellipse", kind="sure")
    frame = [extent(node) for node in nodes(drawing.layer("axes"), "line", kind="margin")]
    left, top, _, bottom = max(frame)
    box = extent(outer)
    assert left <= box[0]
    assert top <= box[1]
    assert box[3] <= bottom


@pytest.mark.parametrize("left_out", ["width", "length"])
def test_a_size_without_an_axis_is_a_band_across_open_at_both_ends(left_out: str) -> None:
    def without(one: Size) -> Size:
        return Size(
            code=one.code,
            width=None if left_out == "width" else one.width,
            length=None if left_out == "length" else one.length,
        )

    drawing = read(sizes_picture(sizes(of=[without(one) for one in MARLOWICK])))
    by = ruler(drawing)
    margins = [extent(node) for node in nodes(drawing.layer("axes"), "line", kind="margin")]
    left, top, _, bottom = max(margins)
    band = drawn_sizes(drawing)["teasel"]
    sides = [extent(node) for node in nodes(drawing.layer("chosen"), "line", kind="heavy")]
    assert len(sides) == 2
    if left_out == "length":
        assert band == pytest.approx((by.x(123), top, by.x(127), bottom), abs=10 * CLOSE)
        assert all(side[0] == side[2] for side in sides)
    else:
        assert (band[1], band[3]) == pytest.approx((by.y(129), by.y(125)), abs=10 * CLOSE)
        assert band[0] == left
        assert all(side[1] == side[3] for side in sides)


def test_an_empty_text_leaves_its_entry_out_of_the_key() -> None:
    key = SizesKey(chosen="chosen", other="", likely="", nearly_sure="")
    drawn = nodes(read(sizes_picture(sizes(key=key))).layer("key"), "text")
    assert [shown(node) for node in drawn] == ["chosen", "Marlowick by Vellory."]


def test_ticks_are_written_as_the_caller_wrote_them() -> None:
    quarters = tuple(Tick(at_mm=6.35 * quarter, label=f"{quarter / 4:g} in") for quarter in range(4, 44))
    picture = sizes()
    in_inches = SizesPicture(
        identity=picture.identity,
        sizes=picture.sizes,
        chosen=picture.chosen,
        hooves=picture.hooves,
        ticks=quarters,
        width_label="w",
        length_label="l",
        key=picture.key,
    )
    drawn = [shown(node) for node in nodes(read(sizes_picture(in_inches)).layer("axes"), "text")]
    assert {"4.5 in", "5 in"} <= set(drawn)
    assert {tick.label for tick in TICKS} & set(drawn) == set()


@bounded
@given(st.floats(95, 150), st.floats(-8, 8), st.sampled_from(Method), st.sampled_from(Limb))
def test_the_ellipses_of_a_reading_are_those_of_the_fits_estimate(
    width: float, longer: float, method: Method, limb: Limb
) -> None:
    reading = HoofReading(
        limb=limb,
        width=AxisReading(values_mm=(width,)),
        length=AxisReading(values_mm=(width + longer,)),
        method=method,
    )
    estimate = estimate_hoof(reading, animal_type=AnimalType.HORSE)
    (mean_width, mean_length), covariance = estimate.mean, estimate.covariance
    sd = np.sqrt(np.diag(covariance))
    believed = hoof(
        limb,
        width=float(mean_width),
        length=float(mean_length),
        sd=(float(sd[0]), float(sd[1])),
        correlation=float(covariance[0, 1] / sd.prod()),
    )
    drawing = read(sizes_picture(sizes(believed, chosen=())))
    by = ruler(drawing)
    (ellipse,) = nodes(drawing.layer("doubt"), "ellipse", kind="likely")
    turn = radians(turn_of(ellipse))
    axes = np.array([[cos(turn), sin(turn)], [-sin(turn), cos(turn)]]) * numbers(ellipse, "rx", "ry")
    assert axes @ axes.T / by.units_per_mm**2 == pytest.approx(covariance, rel=0.02, abs=0.02 * covariance.max())
    assert numbers(ellipse, "cx", "cy") == pytest.approx((by.x(mean_width), by.y(mean_length)), abs=10 * CLOSE)
