"""Four-hooves picture: each hoof in its place, all to one scale, chances as tally marks, cautions as signs."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.draw.reading import Extent, Read, extent, meet, nodes, read
from tests.draw.samples import BRAMBLE, bounded, entry, four, hoof, hooves

from hooflast.draw import four_hooves_picture
from hooflast.draw.marks import tally_of
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Severity

some_limbs = st.lists(st.sampled_from(Limb), min_size=1, unique=True)


def soles(drawing: Read) -> dict[str, Extent]:
    cells = drawing.layers("hoof-")
    return {cell.attrib["id"][-2:].upper(): extent(nodes(cell, "path", kind="hoof")[0]) for cell in cells}


@bounded
@given(some_limbs)
def test_every_hoof_stands_where_the_horse_has_it_seen_from_above(limbs: list[Limb]) -> None:
    found = soles(read(four_hooves_picture(four(*(entry(hoof(limb)) for limb in limbs)))))
    assert found.keys() == {limb.value for limb in limbs}
    for left, right in (("LF", "RF"), ("LH", "RH"), ("LF", "RH"), ("LH", "RF")):
        if left in found and right in found:
            assert found[left][2] < found[right][0]
    for front, behind in (("LF", "LH"), ("RF", "RH"), ("LF", "RH"), ("RF", "LH")):
        if front in found and behind in found:
            assert found[front][3] < found[behind][1]


def test_a_single_hoof_stands_in_the_middle() -> None:
    drawing = read(four_hooves_picture(four(entry(hoof(Limb.RH)))))
    (box,) = soles(drawing).values()
    assert (box[0] + box[2]) / 2 == pytest.approx(drawing.view_box[2] / 2, abs=0.02)


@bounded
@given(st.tuples(*(hooves(limb, limb.value) for limb in Limb)))
def test_all_soles_are_drawn_to_one_scale(drawn: tuple) -> None:
    found = soles(read(four_hooves_picture(four(*(entry(one) for one in drawn)))))
    scales = [(found[one.limb][2] - found[one.limb][0]) / one.width_mm for one in drawn]
    scales += [(found[one.limb][3] - found[one.limb][1]) / one.length_mm for one in drawn]
    assert scales == pytest.approx([scales[0]] * len(scales), rel=2e-3)


@bounded
@given(st.tuples(*(hooves(limb) for limb in Limb)))
def test_no_texts_meet(drawn: tuple) -> None:
    cautions = (*Severity, None)
    picture = four(*(entry(one, caution=caution) for one, caution in zip(drawn, cautions, strict=True)))
    boxes = [extent(node) for node in nodes(read(four_hooves_picture(picture)).root, "text")]
    assert not any(meet(one, other) for place, one in enumerate(boxes) for other in boxes[:place])


@given(st.floats(0, 1))
def test_tally_marks_count_tenths_and_are_full_only_when_nearly_sure(chance: float) -> None:
    assert abs(tally_of(chance) - 10 * chance) <= 0.95
    assert (tally_of(chance) == 10) == (chance >= 0.995)


@pytest.mark.parametrize("chance", [0.0, 0.12, 0.5, 0.84, 1.0])
def test_as_many_tally_marks_are_drawn(chance: float) -> None:
    (cell,) = read(four_hooves_picture(four(entry(hoof(), chance=chance)))).layers("hoof-")
    struck = nodes(cell, "line", kind="tally")
    assert len(struck) == tally_of(chance)
    assert len(nodes(cell, "line", kind="edge")) == 10 - len(struck)


def test_each_severity_has_a_sign_of_its_own_shape() -> None:
    signs = {}
    for severity in Severity:
        (cell,) = read(four_hooves_picture(four(entry(hoof(), caution=severity)))).layers("hoof-")
        shapes = [node for tag in ("circle", "polygon") for node in nodes(cell, tag, kind="mark")]
        assert len(shapes) == 1
        signs[severity] = len(shapes[0].get("points", "").split())
    assert signs == {Severity.NOTE: 0, Severity.LOOK_AGAIN: 3, Severity.STOP: 8}


def test_a_hoof_without_caution_has_no_sign() -> None:
    cells = read(four_hooves_picture(four(*(entry(one) for one in BRAMBLE)))).layers("hoof-")
    assert len(cells) == 4
    assert [node for cell in cells for tag in ("circle", "polygon") for node in nodes(cell, tag)] == []


def test_a_hoof_that_nothing_fits_is_drawn_alone() -> None:
    (cell,) = read(four_hooves_picture(four(entry(hoof(), best=None)))).layers("hoof-")
    assert len(nodes(cell, "path", kind="hoof")) == 1
    assert nodes(cell, "path", kind="largest") == []
