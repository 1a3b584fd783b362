"""The pad picture: the hoof stands where the pad lifts it, and what it covers of the boot's walls is the room lost."""

import re
from math import radians, tan

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.draw.reading import nodes, numbers, read, shown

from hooflast.draw import DrawnPad, Identity, PaddedHoof, PadKey, PadPanel, PadPicture, Slopes, pad_picture
from hooflast.draw.pad import HOOF_MM, INSET_MM
from hooflast.fit.pad import PadKind

SIDE, TOE = 1.0 / tan(radians(77.0)), 1.0 / tan(radians(60.0))
CLOSE = 0.02
quick = settings(max_examples=30, deadline=None)


def picture(kind: PadKind = PadKind.FULL, *, toe: float = 6.0, heel: float = 6.0, hooves: int = 1) -> PadPicture:
    pad = DrawnPad(kind=kind, toe_mm=toe, widest_mm=(toe + heel) / 2.0, heel_mm=heel)
    return PadPicture(
        identity=Identity(prefix="pad", title="A pad", desc="What it does", language="en"),
        hooves=tuple(
            PaddedHoof(
                label=f"hoof {place}",
                width_mm=120.0,
                length_mm=125.0,
                pad=pad,
                behind=PadPanel(name="behind", said="width"),
                side=PadPanel(name="side", said="length"),
            )
            for place in range(hooves)
        ),
        slopes=Slopes(medial=SIDE, lateral=SIDE, toe=TOE),
        key=PadKey(boot="boot", bare="without", padded="with", pad="the pad", lost="lost"),
        caption="A caption.",
    )


def parts(drawn: PadPicture, view: str, part: str) -> list[np.ndarray]:
    """The corners of the shapes of one part, in mm, with the boot's floor at height 0."""
    layer = read(pad_picture(drawn)).layer(f"hoof-1-{view}")
    (scale,) = numbers(layer, "data-units-per-mm")

    def corners(name: str) -> list[np.ndarray]:
        return [
            np.array([list(map(float, pair.split(","))) for pair in re.findall(r"[-\d.]+,[-\d.]+", node.attrib["d"])])
            for node in nodes(layer, "path")
            if node.get("data-part") == name
        ]

    floor = max(wall[:, 1].max() for wall in corners("wall"))
    left = min(wall[:, 0].min() for wall in corners("wall"))
    return [(shape - [left, floor]) / scale * [1.0, -1.0] for shape in corners(part)]


def test_a_full_pad_lifts_the_hoof_by_its_thickness() -> None:
    (bare,), (padded,) = (parts(picture(), "behind", part) for part in ("bare", "padded"))
    assert padded - bare == pytest.approx(np.tile([0.0, 6.0], (4, 1)), abs=CLOSE)


def test_the_room_lost_is_as_wide_as_the_formula_says() -> None:
    """6 mm between walls at 77 degrees cost 2.77, half of it on either side; 3.46 at the toe."""
    behind, side = (parts(picture(), view, "lost") for view in ("behind", "side"))
    widths = [abs(shape[1, 0] - shape[0, 0]) for shape in behind]
    assert widths == pytest.approx([1.385, 1.385], abs=CLOSE)
    assert [abs(shape[1, 0] - shape[0, 0]) for shape in side] == pytest.approx([3.464], abs=CLOSE)


@quick
@given(st.floats(1.0, 20.0), st.floats(1.0, 20.0))
def test_what_is_lost_lies_between_wall_and_hoof(toe: float, heel: float) -> None:
    drawn = picture(PadKind.WEDGE, toe=toe, heel=heel)
    for shape in parts(drawn, "side", "lost"):
        edge, wall, top_wall, top_hoof = shape
        assert edge[1] == pytest.approx(toe, abs=CLOSE)
        assert wall[0] == pytest.approx(toe * TOE, abs=CLOSE)
        assert top_wall[0] == pytest.approx(top_wall[1] * TOE, abs=CLOSE)
        assert top_hoof[0] <= top_wall[0] + CLOSE


def test_a_wedge_turns_the_hoof_about_its_toe_and_keeps_its_size() -> None:
    (bare,), (padded,) = (
        parts(picture(PadKind.WEDGE, toe=0.0, heel=12.0), "side", part) for part in ("bare", "padded")
    )
    assert padded[0] == pytest.approx([0.0, 0.0], abs=CLOSE)
    assert padded[-1][1] == pytest.approx(12.0, abs=CLOSE)
    for one, other in ((0, 1), (0, 3), (1, 2)):
        assert np.linalg.norm(padded[one] - padded[other]) == pytest.approx(
            np.linalg.norm(bare[one] - bare[other]), abs=3 * CLOSE
        )


def test_a_wedge_that_is_nothing_at_the_toe_takes_nothing_there() -> None:
    assert parts(picture(PadKind.WEDGE, toe=0.0, heel=12.0), "side", "lost") == []


def test_a_pad_inside_the_wall_leaves_the_hoof_where_it_is() -> None:
    drawn = picture(PadKind.PARTIAL)
    for view in ("behind", "side"):
        (bare,), (padded,) = (parts(drawn, view, part) for part in ("bare", "padded"))
        assert padded == pytest.approx(bare)
        assert parts(drawn, view, "lost") == []
        (pad,) = parts(drawn, view, "pad")
        assert pad[:, 0].min() == pytest.approx(INSET_MM, abs=CLOSE)
    assert "lost" not in [shown(node) for node in nodes(read(pad_picture(drawn)).layer("key"), "text")]


@quick
@given(st.sampled_from(PadKind), st.floats(0.0, 25.0), st.floats(0.0, 25.0), st.integers(0, 4))
def test_everything_lies_on_the_sheet_and_every_word_is_there(
    kind: PadKind, toe: float, heel: float, hooves: int
) -> None:
    drawing = read(pad_picture(picture(kind, toe=toe, heel=heel, hooves=hooves)))
    _, _, right, bottom = drawing.view_box
    for node in nodes(drawing.root, "path"):
        for x, y in re.findall(r"([-\d.]+),([-\d.]+)", node.attrib["d"]):
            assert -0.01 <= float(x) <= right + 0.01
            assert -0.01 <= float(y) <= bottom + 0.01
    words = [shown(node) for node in nodes(drawing.root, "text")]
    assert {"boot", "without", "with", "the pad", "A caption."} <= set(words)
    assert words.count("behind") == words.count("side") == hooves


def test_the_hoof_is_drawn_as_high_as_it_says() -> None:
    (bare,) = parts(picture(), "behind", "bare")
    assert bare[:, 1].max() == pytest.approx(HOOF_MM, abs=CLOSE)
