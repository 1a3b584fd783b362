"""Pictures of an answer: every number in a drawing is one of the answer's, read off the drawing's own marks."""

from dataclasses import replace
from xml.etree import ElementTree as ET

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.draw.reading import Read, extent, nodes, numbers, read, shown
from tests.matching.worlds import BOOTS, SHELF, TODAY, boot, question, questions, reading, shelf_of

from hooflast.catalog.values import BootId, Range
from hooflast.errors import NotFound
from hooflast.fit.boot import Need
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Severity
from hooflast.matching.answer import HoofAnswer, MatchAnswer, Padded
from hooflast.matching.gravity import GRAVITY, about_hoof, gravest
from hooflast.matching.likelihood import Likelihood, likelihood
from hooflast.matching.match_horse import match_horse
from hooflast.matching.pictures import hooves_picture, horse_sizes_picture, sizes_picture, sole_picture
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.texts import load_texts
from hooflast.units import Unit

TEXTS = load_texts("en")
CLOSE_MM = 0.06
"""What coordinates rounded to two decimals may add up to."""

quick = settings(max_examples=20, deadline=None)


def ask(asked: MatchQuestion, shelf=SHELF) -> MatchAnswer:
    return match_horse(asked, shelf, today=TODAY, language="en")


any_answer = questions.map(ask)


def with_boots(answer: MatchAnswer) -> list[HoofAnswer]:
    return [hoof for hoof in answer.hooves if hoof.boots]


def titled(svg: str) -> tuple[str, str]:
    root = ET.fromstring(svg)
    title, desc = (root.findtext(f"{{http://www.w3.org/2000/svg}}{tag}") for tag in ("title", "desc"))
    return title or "", desc or ""


def seen(hoof: HoofAnswer) -> HoofAnswer | Padded:
    """The hoof's dimensions as its boots see them: with the pad in the boot, if one was asked for."""
    return hoof.in_boot or hoof


class TestHooves:
    @quick
    @given(any_answer)
    def test_every_hoof_is_drawn_as_large_as_it_is_believed_to_be(self, answer: MatchAnswer) -> None:
        drawing = read(hooves_picture(answer, texts=TEXTS))
        for hoof in answer.hooves:
            cell = drawing.layer(f"hoof-{hoof.reading.limb.lower()}")
            assert outline_mm(cell, "hoof") == pytest.approx(
                (hoof.width.mean_mm, hoof.length.mean_mm), abs=4 * CLOSE_MM
            )

    @quick
    @given(any_answer)
    def test_every_hoof_is_drawn_with_the_largest_hoof_its_size_is_made_for(self, answer: MatchAnswer) -> None:
        drawing = read(hooves_picture(answer, texts=TEXTS))
        for hoof in with_boots(answer):
            size = hoof.boots[0].best.size
            if size.width is None or size.length is None:
                continue
            cell = drawing.layer(f"hoof-{hoof.reading.limb.lower()}")
            assert outline_mm(cell, "largest") == pytest.approx(
                (size.width.high_mm, size.length.high_mm), abs=4 * CLOSE_MM
            )

    @quick
    @given(any_answer)
    def test_every_hoof_names_its_first_boot_its_size_and_its_chance(self, answer: MatchAnswer) -> None:
        drawing = read(hooves_picture(answer, texts=TEXTS))
        for hoof in answer.hooves:
            words = " ".join(shown(node) for node in nodes(cell_of(drawing, hoof), "text"))
            if not hoof.boots:
                assert TEXTS.say("picture.no-boot") in words
                continue
            fit = hoof.boots[0]
            for word in (fit.boot.name, fit.maker.name, fit.best.size.code, TEXTS.chance(fit.best.fit_chance)):
                assert word in words

    @quick
    @given(any_answer)
    def test_who_hears_the_picture_is_told_the_same(self, answer: MatchAnswer) -> None:
        title, desc = titled(hooves_picture(answer, texts=TEXTS))
        assert answer.question.horse_name in title
        for hoof in with_boots(answer):
            fit = hoof.boots[0]
            assert f"{fit.boot.name} by {fit.maker.name}, size {fit.best.size.code}" in desc

    @quick
    @given(any_answer)
    def test_every_hoof_carries_the_mark_of_its_gravest_caution_but_for_notes(self, answer: MatchAnswer) -> None:
        drawing = read(hooves_picture(answer, texts=TEXTS))
        for hoof in answer.hooves:
            severity = gravest(about_hoof(hoof, answer))
            words = [shown(node) for node in nodes(cell_of(drawing, hoof), "text", kind="alert")]
            is_marked = severity in (Severity.LOOK_AGAIN, Severity.STOP)
            assert words == ([TEXTS.say(f"severity.{severity}")] if is_marked else [])

    def test_a_painful_foot_is_marked_stop_on_every_hoof(self) -> None:
        answer = ask(question(reading(Limb.LF), reading(Limb.RH), needs=(NamedNeed(need=Need.FOUNDER),)))
        drawing = read(hooves_picture(answer, texts=TEXTS))
        for hoof in answer.hooves:
            assert [shown(node) for node in nodes(cell_of(drawing, hoof), "text", kind="alert")] == ["stop"]

    def test_a_horse_without_a_name_has_a_title_all_the_same(self) -> None:
        title, _ = titled(hooves_picture(ask(question(horse_name="")), texts=TEXTS))
        assert title == "Hooves and boots"


class TestPad:
    @pytest.mark.parametrize("draw_it", [sole_picture, sizes_picture])
    def test_a_picture_of_hooves_with_a_pad_says_so(self, draw_it) -> None:
        told = TEXTS.say("picture.with-pad").split()[:4]
        for thickness, says in ((0.0, False), (4.0, True)):
            answer = ask(question(pad_mm=thickness), shelf_of(boot("amble", max_pad_mm=6.0)))
            words = " ".join(
                shown(node) for node in nodes(read(draw_it(answer, limb=Limb.LF, texts=TEXTS)).root, "text")
            )
            assert (" ".join(told) in words) is says


class TestSole:
    @quick
    @given(any_answer)
    def test_the_sole_and_both_bounds_are_as_large_as_the_answer_says(self, answer: MatchAnswer) -> None:
        for hoof in with_boots(answer):
            sole = read(sole_picture(answer, limb=hoof.reading.limb, texts=TEXTS)).layer("sole")
            size = hoof.boots[0].best.size
            assert outline_mm(sole, "hoof") == pytest.approx(
                (seen(hoof).width.mean_mm, seen(hoof).length.mean_mm), abs=2 * CLOSE_MM
            )
            if size.width is not None and size.length is not None:
                largest, smallest = outline_mm(sole, "largest"), outline_mm(sole, "smallest")
                assert largest == pytest.approx((size.width.high_mm, size.length.high_mm), abs=2 * CLOSE_MM)
                assert smallest == pytest.approx((size.width.low_mm, size.length.low_mm), abs=2 * CLOSE_MM)

    @quick
    @given(any_answer)
    def test_the_magnified_axes_show_the_range_the_hoof_its_doubt_and_both_clearances(
        self, answer: MatchAnswer
    ) -> None:
        for hoof in with_boots(answer):
            drawing = read(sole_picture(answer, limb=hoof.reading.limb, texts=TEXTS))
            size = hoof.boots[0].best.size
            for axis, span, estimated in (
                ("width", size.width, seen(hoof).width),
                ("length", size.length, seen(hoof).length),
            ):
                strip = drawing.layer(f"strip-{axis}")
                if span is None:
                    assert TEXTS.say("picture.missing", {"axis": axis}) in [
                        shown(node) for node in nodes(strip, "text")
                    ]
                    continue
                (scale,) = numbers(strip, "data-units-per-mm")
                (smallest,), (largest,), (middle,) = (at_x(strip, kind) for kind in ("smallest", "largest", "hoof"))
                assert (largest - smallest) / scale == pytest.approx(span.high_mm - span.low_mm, abs=CLOSE_MM)
                assert (middle - smallest) / scale == pytest.approx(estimated.mean_mm - span.low_mm, abs=CLOSE_MM)
                widest = max(numbers(node, "width")[0] for node in nodes(strip, "rect", kind="doubt"))
                assert widest / scale == pytest.approx(4 * estimated.standard_uncertainty_mm, abs=CLOSE_MM)

    @quick
    @given(st.floats(95, 158), st.floats(95, 158), st.sampled_from(Unit))
    def test_the_clearances_are_written_as_they_are_in_the_askers_unit(
        self, width: float, length: float, unit: Unit
    ) -> None:
        answer = ask(question(reading(width=width, length=length), unit=unit), shelf_of(boot("amble")))
        (hoof,) = answer.hooves
        if not hoof.boots:
            return
        words = [shown(node) for node in nodes(read(sole_picture(answer, limb=Limb.LF, texts=TEXTS)).root, "text")]
        size = hoof.boots[0].best.size
        for span, estimated in ((size.width, hoof.width), (size.length, hoof.length)):
            assert span is not None
            below = span.high_mm - estimated.mean_mm
            said = TEXTS.in_unit(unit).length(abs(below))
            assert f"{said} {'to the largest' if below >= 0 else 'past the largest'}" in words

    def test_a_hoof_without_a_boot_has_no_sole_picture(self) -> None:
        with pytest.raises(NotFound):
            sole_picture(ask(question(is_foal=True)), limb=Limb.LF, texts=TEXTS)

    def test_a_hoof_that_was_not_asked_about_is_not_found(self) -> None:
        with pytest.raises(NotFound):
            sole_picture(ask(question(reading(Limb.LF))), limb=Limb.RH, texts=TEXTS)


class TestSizes:
    @quick
    @given(any_answer)
    def test_hoof_doubt_and_sizes_lie_where_the_answer_says(self, answer: MatchAnswer) -> None:
        for hoof in with_boots(answer):
            fit = next((fit for fit in hoof.boots if fit.best.size.width and fit.best.size.length), None)
            if fit is None:
                continue
            drawing = read(sizes_picture(answer, limb=hoof.reading.limb, boot=fit.boot.id, texts=TEXTS))
            boxes = {
                node.attrib["data-size"]: extent(node) for node in drawing.root.iter() if "data-size" in node.attrib
            }
            width, length = fit.best.size.width, fit.best.size.length
            assert width is not None
            assert length is not None
            left, top, right, bottom = boxes[fit.best.size.code]
            scale = (right - left) / (width.high_mm - width.low_mm)
            assert (bottom - top) / scale == pytest.approx(length.high_mm - length.low_mm, abs=CLOSE_MM)
            (point,) = nodes(drawing.layer("hooves"), "circle")
            x, y = numbers(point, "cx", "cy")
            assert width.low_mm + (x - left) / scale == pytest.approx(seen(hoof).width.mean_mm, abs=CLOSE_MM)
            assert length.low_mm + (bottom - y) / scale == pytest.approx(seen(hoof).length.mean_mm, abs=CLOSE_MM)
            for node in nodes(drawing.layer("doubt"), "ellipse"):
                sigmas = 2 if "sure" in node.attrib["class"].split() else 1
                near_x, near_y, far_x, far_y = extent(node)
                assert (far_x - near_x) / 2 / scale == pytest.approx(
                    sigmas * hoof.width.standard_uncertainty_mm, abs=CLOSE_MM
                )
                assert (far_y - near_y) / 2 / scale == pytest.approx(
                    sigmas * hoof.length.standard_uncertainty_mm, abs=CLOSE_MM
                )

    def test_every_size_stands_in_its_own_range(self) -> None:
        answer = ask(question(reading(width=126.5, length=126.5)), shelf_of(boot("amble")))
        drawing = read(sizes_picture(answer, limb=Limb.LF, texts=TEXTS))
        boxes = {node.attrib["data-size"]: extent(node) for node in drawing.root.iter() if "data-size" in node.attrib}
        spans = {str(size.code): size.width for size in boot("amble").sizes}
        assert len(boxes) > 2
        steps = [
            ((boxes[later][0] - boxes[earlier][0]), low_of(spans[later]) - low_of(spans[earlier]))
            for earlier, later in zip(boxes, list(boxes)[1:], strict=False)
        ]
        scales = [drawn / told for drawn, told in steps if told]
        assert max(scales) == pytest.approx(min(scales), abs=0.01)

    def test_another_boot_may_be_named_and_only_its_best_size_is_chosen(self) -> None:
        answer = ask(question())
        for fit in answer.hooves[0].boots:
            drawing = read(sizes_picture(answer, limb=Limb.LF, boot=fit.boot.id, texts=TEXTS))
            chosen = [node.get("data-size") for node in drawing.layer("chosen").iter() if "data-size" in node.attrib]
            assert chosen == [fit.best.size.code]

    def test_a_boot_that_is_not_in_the_answer_is_not_found(self) -> None:
        with pytest.raises(NotFound):
            sizes_picture(ask(question()), limb=Limb.LF, boot=BootId("nothing"), texts=TEXTS)
        with pytest.raises(NotFound):
            horse_sizes_picture(ask(question()), boot=BootId("nothing"), texts=TEXTS)

    def test_all_hooves_that_the_boot_is_made_for_are_among_its_sizes_and_no_other(self) -> None:
        answer = ask(question(*(reading(limb) for limb in Limb)))
        for name, limbs in (("amble", set(Limb)), ("clover", {Limb.LF, Limb.RF}), ("dell", {Limb.LH, Limb.RH})):
            drawing = read(horse_sizes_picture(answer, boot=BootId(name), texts=TEXTS))
            assert {node.get("data-limb") for node in nodes(drawing.layer("hooves"), "circle")} == limbs

    def test_on_a_painful_foot_no_other_size_is_shown(self) -> None:
        answer = ask(question(needs=(NamedNeed(need=Need.FOUNDER),)))
        (fit,) = answer.hooves[0].boots
        drawing = read(sizes_picture(answer, limb=Limb.LF, texts=TEXTS))
        drawn = [node.attrib["data-size"] for node in drawing.root.iter() if "data-size" in node.attrib]
        assert drawn == [fit.best.size.code]
        assert len(fit.boot.sizes) > 1

    @pytest.mark.parametrize(("unit", "label"), [(Unit.MM, "125"), (Unit.CM, "12.5"), (Unit.INCH, "5")])
    def test_axes_are_written_in_the_askers_unit(self, unit: Unit, label: str) -> None:
        answer = ask(question(reading(width=126.0, length=126.0), unit=unit), shelf_of(boot("amble")))
        words = [
            shown(node) for node in nodes(read(sizes_picture(answer, limb=Limb.LF, texts=TEXTS)).layer("axes"), "text")
        ]
        assert label in words
        assert f"width in {TEXTS.say(f'unit.{unit}')}" in words


def test_pictures_of_one_page_share_no_id() -> None:
    answer = ask(question(reading(Limb.LF), reading(Limb.RF)))
    svgs = [
        hooves_picture(answer, texts=TEXTS),
        sole_picture(answer, limb=Limb.LF, texts=TEXTS, prefix="sole-lf"),
        sole_picture(answer, limb=Limb.RF, texts=TEXTS, prefix="sole-rf"),
        sizes_picture(answer, limb=Limb.LF, texts=TEXTS, prefix="sizes-lf"),
    ]
    ids = [node.attrib["id"] for svg in svgs for node in ET.fromstring(svg).iter() if "id" in node.attrib]
    assert len(set(ids)) == len(ids)


@given(st.floats(0, 1), st.floats(0, 1))
def test_a_greater_chance_is_never_called_less_likely(one: float, other: float) -> None:
    words = list(Likelihood)
    low, high = sorted((one, other))
    assert words.index(likelihood(low)) <= words.index(likelihood(high))


def test_severities_are_ordered_from_note_to_stop() -> None:
    assert sorted(Severity, key=GRAVITY.__getitem__) == [Severity.NOTE, Severity.LOOK_AGAIN, Severity.STOP]
    assert gravest(()) is None


def test_the_same_answer_gives_the_same_text() -> None:
    one, other = (hooves_picture(ask(replace(question(), boots_per_hoof=3)), texts=TEXTS) for _ in range(2))
    assert one == other
    assert len(BOOTS) > 3


def cell_of(drawing: Read, hoof: HoofAnswer) -> ET.Element:
    return drawing.layer(f"hoof-{hoof.reading.limb.lower()}")


def outline_mm(layer: ET.Element, kind: str) -> tuple[float, float]:
    """Width and length of a kind of outline in a layer, by the layer's own scale."""
    (scale,) = numbers(layer, "data-units-per-mm")
    boxes = [extent(node) for node in nodes(layer, "path", kind=kind)]
    across = max(box[2] for box in boxes) - min(box[0] for box in boxes)
    along = max(box[3] for box in boxes) - min(box[1] for box in boxes)
    return across / scale, along / scale


def at_x(strip: ET.Element, kind: str) -> list[float]:
    return [numbers(node, "x1")[0] for node in nodes(strip, "line", kind=kind)]


def low_of(span: Range | None) -> float:
    assert span is not None
    return span.low_mm
