"""Coverage and curve pictures: they show what they are given, where it lies."""

from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.reading import SVG, drawn, extent, nodes, polyline, read, shown, squeezed
from tests.draw.samples import TICKS, bounded, identity, nasty_texts

from hooflast.draw.contours import contours
from hooflast.draw.coverage import coverage_picture
from hooflast.draw.curve import POINT_R, curve_picture
from hooflast.draw.errors import PictureRefused
from hooflast.draw.herd_values import (
    CountTick,
    CoverageKey,
    CoveragePicture,
    CurveKey,
    CurvePicture,
    DrawnGap,
    DrawnShare,
    ShareTick,
)
from hooflast.fit.coverage import PLANE_MM, Coverage

Picture = CoveragePicture | CurvePicture
Point = tuple[float, float]


def field(middle: tuple[float, float], *, sd: float) -> np.ndarray:
    """A round hill over the plane, 1 at its top."""
    width, length = np.meshgrid(PLANE_MM - middle[0], PLANE_MM - middle[1], indexing="ij")
    return np.exp(-0.5 * (width**2 + length**2) / sd**2)


def covered(
    *, herd: tuple[float, float] = (120.0, 122.0), sizes: tuple[float, float] = (124.0, 124.0)
) -> CoveragePicture:
    mass = field(herd, sd=6.0)
    return CoveragePicture(
        identity=identity(),
        covered=Coverage(accepted=field(sizes, sd=8.0), mass=mass / mass.sum(), threshold=0.5),
        gaps=(DrawnGap(label="1", width_mm=110.0, length_mm=112.0),),
        hooves=np.array([[118.0, 121.0], [122.0, 125.0], [250.0, 250.0]]),
        ticks=TICKS,
        width_label="width, mm",
        length_label="length, mm",
        key=CoverageKey(covered="covered", gap="gap", half="half", nearly_all="nearly all", hoof="hoof"),
        caption="Of these hooves.",
    )


def curve(*points: tuple[float, float], chosen: int | None = 2, first: int = 0) -> CurvePicture:
    given = points or ((0.0, 0.0), (0.4, 0.4), (0.6, 0.6), (0.7, 0.8), (0.75, 0.9))
    return CurvePicture(
        identity=identity(),
        points=tuple(
            DrawnShare(count=count, share=share, bound=bound, is_exact=share == bound)
            for count, (share, bound) in enumerate(given, start=first)
        ),
        wished=0.65,
        attainable=0.95,
        chosen=chosen,
        shares=tuple(ShareTick(at=at, label=f"{at:.0%}") for at in (0.0, 0.5, 1.0)),
        counts=tuple(CountTick(at=count, label=str(count)) for count in range(first, first + len(given))),
        share_label="hooves served",
        count_label="number of sizes",
        key=CurveKey(exact="exact", found="found", bound="bound", wished="wished", attainable="all", chosen="the set"),
        caption="Two sizes.",
    )


@st.composite
def any_picture(draw: st.DrawFn) -> Picture:
    if draw(st.booleans()):
        middles = st.tuples(st.floats(45.0, 240.0), st.floats(45.0, 240.0))
        herd = draw(middles)
        picture = covered(herd=herd, sizes=draw(st.sampled_from([herd, (130.0, 128.0)])))
        gaps = draw(
            st.lists(st.builds(DrawnGap, label=nasty_texts, width_mm=st.just(herd[0]), length_mm=st.just(herd[1])))
        )
        return replace(
            picture,
            gaps=tuple(gaps),
            ticks=draw(st.sampled_from((TICKS, TICKS[:1], ()))),
            width_label=draw(nasty_texts),
            length_label=draw(nasty_texts),
            key=CoverageKey(**{name: draw(nasty_texts) for name in CoverageKey.__slots__}),
            caption=draw(nasty_texts),
        )
    shares = sorted(draw(st.lists(st.floats(0.0, 1.0), min_size=1, max_size=40)))
    points = [(share, min(1.0, share + draw(st.sampled_from([0.0, 0.1])))) for share in shares]
    return replace(
        curve(*points, first=draw(st.integers(0, 200)), chosen=draw(st.sampled_from([None, 1]))),
        share_label=draw(nasty_texts),
        count_label=draw(nasty_texts),
        key=CurveKey(**{name: draw(nasty_texts) for name in CurveKey.__slots__}),
        caption=draw(nasty_texts),
    )


def svg(picture: Picture) -> str:
    return coverage_picture(picture) if isinstance(picture, CoveragePicture) else curve_picture(picture)


def texts(picture: Picture) -> set[str]:
    return {squeezed(shown(node)) for node in read(svg(picture)).root.iter(f"{SVG}text")}


@bounded
@given(any_picture())
def test_any_picture_is_well_formed_and_stays_in_its_view_box(picture: Picture) -> None:
    drawing = read(svg(picture))
    left, top, right, bottom = drawing.view_box
    for node in drawn(drawing.root):
        box = extent(node)
        assert left <= box[0] + 1e-6, node.attrib
        assert top <= box[1] + 1e-6, node.attrib
        assert box[2] <= right + 1e-6, node.attrib
        assert box[3] <= bottom + 1e-6, node.attrib


@bounded
@given(any_picture())
def test_the_same_value_always_gives_the_same_text(picture: Picture) -> None:
    assert svg(picture) == svg(picture)


@bounded
@given(any_picture())
def test_labels_and_caption_always_appear(picture: Picture) -> None:
    labels = (
        (picture.width_label, picture.length_label)
        if isinstance(picture, CoveragePicture)
        else (picture.share_label, picture.count_label)
    )
    assert {squeezed(text) for text in (*labels, picture.caption)} - {""} <= texts(picture)


def layer(picture: Picture, name: str) -> list[str]:
    """The path data in one layer of a picture."""
    root = read(svg(picture)).root
    (group,) = [node for node in root.iter(f"{SVG}g") if node.get("id") == f"bramble-{name}"]
    return [node.attrib["d"] for node in group.iter(f"{SVG}path")]


def test_covered_gaps_and_herd_lie_in_layers_of_their_own() -> None:
    picture = covered()
    assert len(layer(picture, "covered")) == 2
    assert len(layer(picture, "gaps")) == 2
    outlines, dots = layer(picture, "herd")[:2], layer(picture, "herd")[2]
    outer, inner = (polyline(outline) for outline in outlines)
    assert np.all(outer.min(axis=0) < inner.min(axis=0))
    assert np.all(outer.max(axis=0) > inner.max(axis=0))
    assert dots.count("M") == 2


def test_without_a_gap_the_key_tells_of_none() -> None:
    whole = covered()
    whole = replace(whole, covered=replace(whole.covered, accepted=np.ones_like(whole.covered.mass)))
    assert layer(whole, "gaps") == []
    assert "gap" not in texts(whole)
    assert "gap" in texts(covered())


def test_where_nothing_is_covered_only_gaps_are_drawn() -> None:
    bare = covered()
    bare = replace(bare, covered=replace(bare.covered, accepted=np.zeros_like(bare.covered.mass)))
    assert layer(bare, "covered") == []
    assert len(layer(bare, "gaps")) == 2


def test_numbers_of_gaps_never_cover_each_other() -> None:
    picture = covered()
    gaps = tuple(DrawnGap(label=str(place), width_mm=112.0 + place / 10, length_mm=114.0) for place in range(20))
    written = texts(replace(picture, gaps=gaps))
    assert "0" in written
    assert len({str(place) for place in range(20)} & written) < 20


def test_the_curve_rises_to_the_right_as_its_shares_do() -> None:
    root = read(svg(curve())).root
    dots = [node for node in nodes(root, "circle") if "data-count" in node.attrib]
    places = [(float(node.attrib["cx"]), float(node.attrib["cy"])) for node in dots]
    assert all(a[0] < b[0] and a[1] > b[1] for a, b in pairwise(places))
    assert [node.attrib["class"] for node in dots] == ["fore", "fore", "fore", "hind", "hind"]
    assert {float(node.attrib["r"]) for node in dots} == {POINT_R}


def test_the_ring_stands_round_the_chosen_number() -> None:
    def rings(picture: CurvePicture) -> list[tuple[str, str]]:
        circles = list(nodes(read(svg(picture)).root, "circle"))
        at = {
            node.attrib["cx"] + node.attrib["cy"]: node.attrib["data-count"]
            for node in circles
            if "data-count" in node.attrib
        }
        return [
            (node.attrib["class"], at[place])
            for node in circles
            if node.get("class") == "chosen" and (place := node.attrib["cx"] + node.attrib["cy"]) in at
        ]

    assert rings(curve(chosen=2)) == [("chosen", "2")]
    assert rings(curve(chosen=None)) == []


def test_the_ribbon_is_drawn_only_where_more_may_be_possible() -> None:
    assert len(list(nodes(read(svg(curve())).root, "polygon"))) == 1
    exact = curve((0.0, 0.0), (0.5, 0.5), chosen=1)
    assert list(nodes(read(svg(exact)).root, "polygon")) == []
    assert texts(exact) & {"bound", "found"} == set()
    assert "exact" not in texts(curve((0.0, 0.2), (0.5, 0.7)))


@pytest.mark.parametrize("share", [-0.1, 0.8])
def test_a_share_beyond_its_bound_is_refused(share: float) -> None:
    with pytest.raises(PictureRefused):
        DrawnShare(count=1, share=share, bound=0.7, is_exact=False)


def test_a_curve_without_points_or_out_of_order_is_refused() -> None:
    for points in ((), tuple(reversed(curve().points))):
        with pytest.raises(PictureRefused):
            replace(curve(), points=points)


@bounded
@given(st.lists(st.lists(st.integers(0, 1), min_size=6, max_size=6), min_size=5, max_size=5))
def test_contours_hold_all_that_is_higher_and_nothing_that_is_lower(rows: list[list[int]]) -> None:
    values = np.array(rows, dtype=float)
    loops = contours(values, height=0.5)
    for row, column in np.ndindex(values.shape):
        assert inside((row, column), loops) == bool(values[row, column])


def inside(point: tuple[float, float], loops: list[list[tuple[float, float]]]) -> bool:
    """Even-odd rule: how often a ray along the rows crosses a loop."""
    crossings = 0
    x, y = point[0], point[1] + 1e-7
    for loop in loops:
        for (x0, y0), (x1, y1) in zip(loop, [*loop[1:], loop[0]], strict=True):
            if (y0 > y) != (y1 > y) and x0 + (y - y0) / (y1 - y0) * (x1 - x0) > x:
                crossings += 1
    return crossings % 2 == 1


def test_a_contour_lies_where_linear_interpolation_puts_it() -> None:
    slope = np.tile(np.arange(5.0)[:, None], (1, 3))
    (loop,) = contours(slope, height=2.25)
    assert min(row for row, _ in loop) == pytest.approx(2.25)


def test_two_hills_have_two_loops_and_a_hole_has_its_own() -> None:
    hills = np.zeros((7, 7))
    hills[1, 1] = hills[5, 5] = 1.0
    assert len(contours(hills, height=0.5)) == 2
    ring = np.zeros((7, 7))
    ring[1:6, 1:6] = 1.0
    ring[3, 3] = 0.0
    assert len(contours(ring, height=0.5)) == 2
