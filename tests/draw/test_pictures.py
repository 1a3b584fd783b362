"""Pictures: what holds for every picture, whatever it is drawn from."""

from collections import Counter
from dataclasses import replace

import pytest
from hypothesis import given
from tests.draw.reading import SVG, drawn, extent, nodes, numbers, read, shown, squeezed
from tests.draw.samples import Picture, bounded, cycle, draw, four, handed_in, pictures, sizes, sole

from hooflast.draw.lettering import BODY
from hooflast.draw.sheet import WIDTH

SAMPLES = [pytest.param(picture, id=type(picture).__name__) for picture in (sizes(), sole(), four(), cycle())]


@bounded
@given(pictures)
def test_any_picture_is_well_formed(picture: Picture) -> None:
    root = read(draw(picture)).root
    assert root.tag == f"{SVG}svg"
    assert {node.tag.partition("}")[0] for node in root.iter()} == {SVG[:-1]}


@bounded
@given(pictures)
def test_every_text_handed_in_appears(picture: Picture) -> None:
    root = read(draw(picture)).root
    texts = [node for tag in ("title", "desc", "text") for node in root.iter(f"{SVG}{tag}")]
    said = {squeezed(shown(node)) for node in texts}
    assert {squeezed(text) for text in handed_in(picture)} - {""} <= said


@bounded
@given(pictures)
def test_nothing_leaves_the_view_box(picture: Picture) -> None:
    drawing = read(draw(picture))
    left, top, right, bottom = drawing.view_box
    for node in drawn(drawing.root):
        box = extent(node)
        assert left <= box[0], node.attrib
        assert top <= box[1], node.attrib
        assert box[2] <= right, node.attrib
        assert box[3] <= bottom, node.attrib


@bounded
@given(pictures)
def test_the_same_value_always_gives_the_same_text(picture: Picture) -> None:
    assert draw(picture) == draw(picture)


@bounded
@given(pictures)
def test_no_two_ids_are_alike_and_all_begin_with_the_prefix(picture: Picture) -> None:
    root, prefix = read(draw(picture)).root, picture.identity.prefix
    ids = [node.attrib["id"] for node in root.iter() if "id" in node.attrib]
    assert [name for name, count in Counter(ids).items() if count > 1] == []
    assert root.attrib["id"] == prefix
    assert all(name.startswith(f"{prefix}-") for name in ids[1:])


@pytest.mark.parametrize("picture", SAMPLES)
def test_two_pictures_on_one_page_share_no_id(picture: Picture) -> None:
    other = replace(picture, identity=replace(picture.identity, prefix="juniper"))
    ids = [
        {node.attrib["id"] for node in read(draw(one)).root.iter() if "id" in node.attrib} for one in (picture, other)
    ]
    assert ids[0] & ids[1] == set()


@pytest.mark.parametrize("picture", SAMPLES)
def test_every_reference_leads_to_a_part_of_the_same_picture(picture: Picture) -> None:
    root = read(draw(picture)).root
    ids = {node.get("id") for node in root.iter()}
    fills = {node.attrib["fill"] for node in root.iter() if "fill" in node.attrib}
    assert fills
    assert {fill.removeprefix("url(#").removesuffix(")") for fill in fills} <= ids


@pytest.mark.parametrize("picture", SAMPLES)
def test_a_screen_reader_is_told_the_title_and_the_description(picture: Picture) -> None:
    root = read(draw(picture)).root
    assert root.attrib["role"] == "img"
    named = {node.get("id"): node for node in root}
    heard = [named[name] for name in root.attrib["aria-labelledby"].split()]
    assert [node.tag.removeprefix(SVG) for node in heard] == ["title", "desc"]
    assert [node.text for node in heard] == [picture.identity.title, picture.identity.desc]
    assert root.attrib["lang"] == picture.identity.language


@bounded
@given(pictures)
def test_text_is_legible_on_a_narrow_phone(picture: Picture) -> None:
    narrow_px, least_px = 320, 12
    root = read(draw(picture)).root
    assert root.attrib["width"] == "100%"
    assert float(root.attrib["viewBox"].split()[2]) == WIDTH
    font_sizes = [numbers(node, "font-size")[0] for node in nodes(root, "text")]
    assert all(font_size * narrow_px / WIDTH >= least_px for font_size in font_sizes)
    assert BODY * narrow_px / WIDTH >= least_px


@pytest.mark.parametrize("picture", SAMPLES)
def test_coordinates_are_rounded_to_two_decimals(picture: Picture) -> None:
    names = {"x", "y", "width", "height", "x1", "y1", "x2", "y2", "cx", "cy", "r", "rx", "ry", "font-size"}
    written = [node.attrib[name] for node in drawn(read(draw(picture)).root) for name in names & node.attrib.keys()]
    assert written
    assert [number for number in written if len(number.partition(".")[2]) > 2] == []
