"""The form of a question about a pad, and the document of its answer."""

from datetime import date

import msgspec
import pytest
from tests import demo

from hooflast.errors import InputRefused
from hooflast.exchange.pads_document import PadsAnswerDocument, pads_document
from hooflast.exchange.pads_form import PadsForm, read_pads_question
from hooflast.fit.boot import IntendedUse
from hooflast.fit.pad import PadKind, Softness
from hooflast.matching.pads import answer_pads
from hooflast.matching.shelf import lay_out
from hooflast.texts import load_texts

TODAY = date(2026, 5, 1)
DEMO = lay_out(demo.offered().library.active)
TOM = {
    "horse": {"name": "Old Tom"},
    "method": "calliper",
    "hooves": [{"limb": "LF", "width": 124, "length": 122}],
    "pad": "1/4 in",
}


def refused(**changes: object) -> set[tuple[tuple[str | int, ...], str]]:
    with pytest.raises(InputRefused) as found:
        read_pads_question(TOM | changes, today=TODAY)
    return {(fault.path, fault.code) for fault in found.value.faults}


def told(**changes: object) -> PadsAnswerDocument:
    answer = answer_pads(read_pads_question(TOM | changes, today=TODAY), DEMO, today=TODAY, language="en")
    return pads_document(answer, texts=load_texts("en"))


class TestForm:
    def test_a_pad_alone_is_a_full_one_of_unknown_softness(self):
        asked = read_pads_question(TOM, today=TODAY)
        assert asked.boot is None
        assert asked.horse.pad_mm == pytest.approx(6.35)
        assert (asked.horse.pad_kind, asked.horse.pad_softness) == (PadKind.FULL, Softness.UNKNOWN)

    def test_everything_that_is_told_is_asked(self):
        asked = read_pads_question(
            TOM
            | {
                "pad_kind": "wedge",
                "pad_softness": "firm",
                "boot": "haskeby-ingleworth",
                "uses": ["turnout"],
                "boots_per_hoof": 2,
            },
            today=TODAY,
        )
        assert (asked.horse.pad_kind, asked.horse.pad_softness) == (PadKind.WEDGE, Softness.FIRM)
        assert asked.boot == "haskeby-ingleworth"
        assert asked.horse.uses == {IntendedUse.TURNOUT}
        assert (asked.horse.boots_per_hoof, asked.horse.horse_name) == (2, "Old Tom")

    def test_all_faults_are_told_at_once(self):
        assert refused(pad=-1, pad_kind="thick", pad_softness="hard", boot="No Boot") == {
            (("pad",), "length-out-of-range"),
            (("pad_kind",), "unknown-choice"),
            (("pad_softness",), "unknown-choice"),
            (("boot",), "wrong-form"),
        }

    def test_a_question_without_a_pad_is_none(self):
        with pytest.raises(InputRefused) as found:
            read_pads_question({name: value for name, value in TOM.items() if name != "pad"}, today=TODAY)
        assert [(fault.path, fault.code) for fault in found.value.faults] == [(("pad",), "missing")]

    def test_its_example_is_read(self):
        (example,) = PadsForm.model_json_schema()["examples"]
        assert read_pads_question(example, today=TODAY).horse.pad_softness is Softness.SOFT


class TestDocument:
    def test_it_tells_the_pad_the_room_and_both_sizes(self):
        document = told()
        assert (document.pad.kind, document.pad.thickness_mm) == (PadKind.FULL, 6.3)
        (hoof,) = document.hooves
        assert hoof.room.width.mean_mm == pytest.approx(0.85 * 6.35 * 2 * 0.2309, abs=0.051)
        assert hoof.room.length.mean_mm == pytest.approx(0.85 * 6.35 * 0.5774, abs=0.051)
        assert hoof.room.heel_lift_mm == hoof.room.toe_lift_mm == 5.4
        first = hoof.boots[0]
        assert first.most_pad_mm >= 6.3
        assert first.with_pad.fit_chance > 0.0
        assert first.without.width.text

    def test_it_can_be_written_and_read_again(self):
        document = told(needs=[{"need": "heel_pain", "course": "chronic"}])
        assert msgspec.json.decode(msgspec.json.encode(document), type=PadsAnswerDocument) == document

    def test_a_pad_above_the_limit_has_no_size(self):
        (hoof,) = told(pad=12, boot="haskeby-ingleworth").hooves
        (found,) = hoof.boots
        assert (found.with_pad, found.effect.value) == (None, "too_thick")
        assert found.limits.same_size_mm <= found.most_pad_mm

    def test_a_painful_foot_has_no_second_size(self):
        document = told(needs=[{"need": "founder"}])
        assert document.cautions[0].severity.value == "stop"
        for found in document.hooves[0].boots:
            assert (found.without, found.limits, found.catalog_pads) == (None, None, [])

    def test_sentences_are_in_the_unit_of_the_asker(self):
        (hoof,) = told(unit="in", pad=0.25, hooves=[{"limb": "LF", "width": 4.875, "length": 4.8}]).hooves
        assert any("in" in caution.text and "0.21" in caution.text for caution in hoof.cautions)
