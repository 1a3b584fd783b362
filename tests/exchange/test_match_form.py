"""The request of a match: what is read, and what is refused with which faults."""

import json
from copy import deepcopy
from datetime import date, timedelta
from typing import Any

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from hooflast.errors import Fault, InputRefused
from hooflast.exchange import FaultCode, MatchForm, read_match_question, tell_fault
from hooflast.fit.boot import Course, Need
from hooflast.fit.hoof import AnimalType, AxisReading, HoofState, Limb, Method, Observer
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.texts import load_texts
from hooflast.units import Unit

from .strategies import TODAY, Document, anything, match_documents, places_in, spoiled_documents

VALIDATOR = Draft202012Validator(MatchForm.model_json_schema(), format_checker=Draft202012Validator.FORMAT_CHECKER)
BEYOND_THE_SCHEMA = {
    FaultCode.LENGTH_UNREADABLE,
    FaultCode.LENGTH_AMBIGUOUS,
    FaultCode.LENGTH_OUT_OF_RANGE,
    FaultCode.UNIT_UNKNOWN,
    FaultCode.DATE_UNREADABLE,
    FaultCode.DATE_IN_THE_FUTURE,
    FaultCode.DATE_TOO_LONG_AGO,
    FaultCode.DUPLICATE_LIMB,
    FaultCode.DUPLICATE_NEED,
    FaultCode.NOT_ONE_HOOF,
    FaultCode.BAD_CHARACTERS,
}


def read(document: object) -> MatchQuestion:
    return read_match_question(document, today=TODAY)


def faults_of(document: object) -> list[Fault]:
    with pytest.raises(InputRefused) as caught:
        read(document)
    return list(caught.value.faults)


def refusals_of(document: object) -> set[str]:
    """The codes of its faults; none if it is read."""
    try:
        read(document)
    except InputRefused as refused:
        return {fault.code for fault in refused.faults}
    return set()


def found_in(document: object) -> set[tuple[str, str]]:
    return {(fault.pointer, fault.code) for fault in faults_of(document)}


def hoof(**changes: object) -> Document:
    return {"limb": "LF", "width": 124, "length": 128} | changes


def form(*hooves: Document, **changes: object) -> Document:
    return {"hooves": list(hooves) or [hoof()]} | changes


class TestWhatIsRead:
    """A right request becomes the question it asks."""

    def test_the_example_of_the_schema_is_read(self) -> None:
        (example,) = MatchForm.model_json_schema()["examples"]
        question = read_match_question(json.dumps(example).encode(), today=date(2026, 3, 28))
        assert question.horse_name == "Bramble"
        assert [reading.limb for reading in question.hooves] == [Limb.LF, Limb.RF]
        assert question.hooves[0].width == AxisReading(values_mm=(124.0, 125.0), resolution_mm=1.0)
        assert question.hooves[1].width == AxisReading(values_mm=(123.825,), resolution_mm=3.175)
        assert {reading.age_weeks for reading in question.hooves} == {2.0}

    @given(match_documents())
    def test_every_right_request_is_read(self, document: Document) -> None:
        question = read(document)
        assert [reading.limb for reading in question.hooves] == [hoof["limb"] for hoof in document["hooves"]]
        assert all(40 <= value <= 250 for reading in question.hooves for value in reading.width.values_mm)

    @given(match_documents())
    def test_bytes_and_values_are_read_alike(self, document: Document) -> None:
        assert read_match_question(json.dumps(document).encode(), today=TODAY) == read(document)

    @given(match_documents())
    def test_reading_leaves_the_values_as_they_were(self, document: Document) -> None:
        before = deepcopy(document)
        read(document)
        assert document == before

    @given(match_documents(), st.randoms())
    def test_the_order_of_members_changes_nothing(self, document: Document, random: Any) -> None:
        members = list(document.items())
        random.shuffle(members)
        turned = dict(members)
        turned["hooves"] = [dict(reversed(one.items())) for one in turned["hooves"]]
        assert read(turned) == read(document)

    @given(st.integers(400, 2_500), st.integers(400, 2_500))
    def test_the_unit_changes_nothing(self, width: int, length: int) -> None:
        """A hoof in tenths of a millimetre, told in each unit as number and as text."""
        if not 0.55 <= width / length <= 1.6:
            length = width
        told = [
            form(hoof(width=width / 10, length=length / 10)),
            form(hoof(width=f"{width / 10} mm", length=f"{length / 10}")),
            form(hoof(width=width / 100, length=length / 100), unit="cm"),
            form(hoof(width=width / 254, length=length / 254, unit="in")),
        ]
        axes = [axis for document in told for one in read(document).hooves for axis in (one.width, one.length)]
        assert [axis.mean_mm for axis in axes] == pytest.approx([width / 10, length / 10] * 4)

    def test_what_a_hoof_says_goes_before_what_the_form_says(self) -> None:
        whole = {
            "unit": "cm",
            "method": "tape",
            "observer": "owner",
            "measured_on": "2026-03-13",
            "weeks_since_trim": 3,
        }
        own = hoof(
            limb="RF",
            unit="in",
            width=5,
            length=5,
            method="calliper",
            observer="professional",
            measured_on="2026-03-06",
            weeks_since_trim=0,
        )
        first, second = read(form(hoof(width=12.4, length=12.8), own, **whole)).hooves
        assert (first.method, first.observer, first.age_weeks, first.weeks_since_trim) == (
            Method.TAPE,
            Observer.OWNER,
            1.0,
            3.0,
        )
        assert first.width.values_mm == (124.0,)
        assert (second.method, second.observer, second.age_weeks, second.weeks_since_trim) == (
            Method.CALLIPER,
            Observer.PROFESSIONAL,
            2.0,
            0.0,
        )
        assert second.width.values_mm == (127.0,)

    def test_what_is_not_told_is_taken_as_documented(self) -> None:
        question = read(form())
        (only,) = question.hooves
        assert (only.method, only.observer, only.age_weeks, only.weeks_since_trim, only.states) == (
            Method.UNKNOWN,
            Observer.OWNER,
            0.0,
            None,
            frozenset(),
        )
        assert (question.horse_name, question.animal_type, question.is_foal) == ("", AnimalType.HORSE, False)
        assert (question.boots_per_hoof, question.pad_mm, question.unit) == (5, 0.0, Unit.MM)
        assert question.catalog_release is None

    def test_a_need_without_a_course_counts_as_acute(self) -> None:
        needs = [{"need": "founder"}, {"need": "heel_pain", "course": "chronic"}]
        assert read(form(needs=needs)).needs == (
            NamedNeed(need=Need.FOUNDER, course=Course.ACUTE),
            NamedNeed(need=Need.HEEL_PAIN, course=Course.CHRONIC),
        )

    def test_the_step_is_the_coarsest_written_unless_it_is_told(self) -> None:
        repeats = ["124 mm", "4 7/8 in"]
        assert read(form(hoof(width=repeats))).hooves[0].width.resolution_mm == 3.175
        assert read(form(hoof(width=repeats, resolution="0.5 mm"))).hooves[0].width.resolution_mm == 0.5

    def test_a_day_later_than_today_is_taken_as_today(self) -> None:
        tomorrow = (TODAY + timedelta(days=1)).isoformat()
        assert read(form(measured_on=tomorrow)).hooves[0].age_weeks == 0.0

    def test_days_may_come_as_days(self) -> None:
        assert read(form(measured_on=TODAY - timedelta(days=7))).hooves[0].age_weeks == 1.0

    def test_a_name_is_taken_without_the_space_around_it(self) -> None:
        assert read(form(horse={"name": "  Old Tom "})).horse_name == "Old Tom"

    def test_a_whole_number_may_be_written_with_a_decimal_point(self) -> None:
        assert read_match_question(json.dumps(form(boots_per_hoof=7.0)).encode(), today=TODAY).boots_per_hoof == 7

    def test_states_and_wishes_keep_what_was_said_once(self) -> None:
        question = read(form(hoof(states=["flare", "flare"]), closures=["strap", "lace", "strap"]))
        assert question.hooves[0].states == {HoofState.FLARE}
        assert question.closures == ("strap", "lace")


class TestWhatIsRefused:
    """A wrong request is refused with every fault, each at its place."""

    @pytest.mark.parametrize(
        ("document", "pointer", "code"),
        [
            ({}, "/hooves", "missing"),
            (form(horse=None), "/horse", "wrong-type"),
            (form(horse={"nam": "Moth"}), "/horse/nam", "unknown-field"),
            (form(horse={"name": 7}), "/horse/name", "wrong-type"),
            (form(horse={"name": "M" * 81}), "/horse/name", "too-long"),
            (form(horse={"name": "Mo\x00th"}), "/horse/name", "bad-characters"),
            (form(horse={"name": "Mo\ud800th"}), "/horse/name", "bad-characters"),
            (form(horse={"animal_type": "zebra"}), "/horse/animal_type", "unknown-choice"),
            (form(horse={"is_foal": "no"}), "/horse/is_foal", "wrong-type"),
            (form(horse={"is_foal": 0}), "/horse/is_foal", "wrong-type"),
            (form(unit="feet"), "/unit", "unknown-choice"),
            (form(unit=None), "/unit", "unknown-choice"),
            (form(method="guess"), "/method", "unknown-choice"),
            (form(observer=["owner"]), "/observer", "unknown-choice"),
            (form(measured_on="2026-02-30"), "/measured_on", "date-unreadable"),
            (form(measured_on="20260301"), "/measured_on", "date-unreadable"),
            (form(measured_on="2026-W10-1"), "/measured_on", "date-unreadable"),
            (form(measured_on=20260301), "/measured_on", "date-unreadable"),
            (form(measured_on="2026-03-22"), "/measured_on", "date-in-the-future"),
            (form(measured_on="1999-12-31"), "/measured_on", "date-too-long-ago"),
            (form(weeks_since_trim=-1), "/weeks_since_trim", "out-of-range"),
            (form(weeks_since_trim=105), "/weeks_since_trim", "out-of-range"),
            (form(weeks_since_trim="3"), "/weeks_since_trim", "wrong-type"),
            (form(weeks_since_trim=True), "/weeks_since_trim", "wrong-type"),
            (form(weeks_since_trim=float("nan")), "/weeks_since_trim", "number-not-finite"),
            (form(uses="road"), "/uses", "wrong-type"),
            (form(uses=["road", "raod"]), "/uses/1", "unknown-choice"),
            (form(uses=["road"] * 12), "/uses", "too-many"),
            (form(needs=[{}]), "/needs/0/need", "missing"),
            (form(needs=["founder"]), "/needs/0", "wrong-type"),
            (form(needs=[{"need": "founder", "course": "slow"}]), "/needs/0/course", "unknown-choice"),
            (form(needs=[{"need": "founder"}, {"need": "founder"}]), "/needs/1/need", "duplicate-need"),
            (form(closures=["rope"]), "/closures/0", "unknown-choice"),
            (form(pad="1,240"), "/pad", "length-ambiguous"),
            (form(pad=41), "/pad", "length-out-of-range"),
            (form(pad=-1), "/pad", "length-out-of-range"),
            (form(pad=[6]), "/pad", "wrong-type"),
            (form(boots_per_hoof=0), "/boots_per_hoof", "out-of-range"),
            (form(boots_per_hoof=21), "/boots_per_hoof", "out-of-range"),
            (form(boots_per_hoof=2.5), "/boots_per_hoof", "wrong-type"),
            (form(boots_per_hoof="5"), "/boots_per_hoof", "wrong-type"),
            (form(boots_per_hoof=10**30), "/boots_per_hoof", "out-of-range"),
            (form(boots_per_hoof=10**400), "/boots_per_hoof", "number-not-finite"),
            (form(catalog_release="a b"), "/catalog_release", "wrong-form"),
            (form(catalog_release=""), "/catalog_release", "wrong-form"),
            (form(size="wren"), "/size", "unknown-field"),
            ({"hooves": []}, "/hooves", "too-few"),
            ({"hooves": {}}, "/hooves", "wrong-type"),
            ({"hooves": [hoof()] * 5}, "/hooves", "too-many"),
            (form(hoof(), hoof()), "/hooves/1/limb", "duplicate-limb"),
            (form(hoof(limb="lf")), "/hooves/0/limb", "unknown-choice"),
            (form(hoof(width=None)), "/hooves/0/width", "wrong-type"),
            (form(hoof(width=True)), "/hooves/0/width", "wrong-type"),
            (form(hoof(width={"mm": 124})), "/hooves/0/width", "wrong-type"),
            (form(hoof(width=[])), "/hooves/0/width", "too-few"),
            (form(hoof(width=[124] * 11)), "/hooves/0/width", "too-many"),
            (form(hoof(width=[124, "x"])), "/hooves/0/width/1", "length-unreadable"),
            (form(hoof(width=[124, [125]])), "/hooves/0/width/1", "wrong-type"),
            (form(hoof(width="")), "/hooves/0/width", "length-unreadable"),
            (form(hoof(width="124" + " " * 40)), "/hooves/0/width", "length-unreadable"),
            (form(hoof(width="124 ell")), "/hooves/0/width", "unit-unknown"),
            (form(hoof(width="4,875 in")), "/hooves/0/width", "length-ambiguous"),
            (form(hoof(width=39.9)), "/hooves/0/width", "length-out-of-range"),
            (form(hoof(width="250.1 mm")), "/hooves/0/width", "length-out-of-range"),
            (form(hoof(width="-124 mm")), "/hooves/0/width", "length-out-of-range"),
            (form(hoof(width=1e308)), "/hooves/0/width", "length-out-of-range"),
            (form(hoof(width=float("inf"))), "/hooves/0/width", "number-not-finite"),
            (form(hoof(width=200, length=100)), "/hooves/0/length", "not-one-hoof"),
            (form(hoof(width=60, length=120)), "/hooves/0/length", "not-one-hoof"),
            (form(hoof(resolution=0)), "/hooves/0/resolution", "length-out-of-range"),
            (form(hoof(resolution="2 cm")), "/hooves/0/resolution", "length-out-of-range"),
            (form(hoof(states=["long toe"])), "/hooves/0/states/0", "unknown-choice"),
            (form(hoof(age=3)), "/hooves/0/age", "unknown-field"),
            ({"hooves": [3]}, "/hooves/0", "wrong-type"),
            ([form()], "", "wrong-type"),
            (None, "", "wrong-type"),
            ("124", "", "wrong-type"),
            ({1: 2}, "", "bad-key"),
            (form(**{"x" * 101: 1}), "", "bad-key"),
            (form(**{"\ud800": 1}), "", "bad-key"),
            (form(horse={"name": object()}), "/horse/name", "wrong-type"),
        ],
    )
    def test_a_fault_has_its_place_and_its_code(self, document: object, pointer: str, code: str) -> None:
        assert (pointer, code) in found_in(document)

    @pytest.mark.parametrize(
        ("raw", "code"),
        [
            (b"", "not-json"),
            (b"{", "not-json"),
            (b"{'hooves': []}", "not-json"),
            (b'{"hooves": [],}', "not-json"),
            (b"\xff\xfe", "not-utf-8"),
            (json.dumps(form()).encode("utf-16"), "not-utf-8"),
            (b"[" * 100_000, "too-deep"),
            (b"[" * 13 + b"]" * 13, "too-deep"),
            (b"[" + b"0," * 1_000 + b"0]", "too-big"),
            (b'{"hooves": NaN}', "number-not-finite"),
            (b'{"hooves": -Infinity}', "number-not-finite"),
            (b'{"hooves": 1e999}', "number-not-finite"),
            (b'{"hooves": ' + b"1" * 5_000 + b"}", "number-not-finite"),
            (b'{"unit": "mm", "unit": "in"}', "duplicate-key"),
            (b'{"hooves": "\\u0000"}', "bad-characters"),
            (b'{"hooves": "\\ud800"}', "bad-characters"),
            (b'{"\\ud800": 1}', "bad-key"),
        ],
    )
    def test_what_is_no_document_is_refused_as_such(self, raw: bytes, code: str) -> None:
        assert code in {fault.code for fault in faults_of(raw)}

    def test_a_byte_order_mark_is_passed_over(self) -> None:
        assert read(b"\xef\xbb\xbf" + json.dumps(form()).encode()) == read(form())

    def test_all_faults_come_at_once(self) -> None:
        raw = b"""{
            "horse": {"nam": "Sable", "animal_type": "hors"}, "unit": "feet", "measured_on": "soon",
            "hooves": [{"limb": "LF", "width": [12.4, NaN, "x"], "length": null, "length": "5 ells"},
                       {"limb": "RF", "unit": "cm", "width": 124}, {"limb": "RF", "width": 200, "length": 100}, 3],
            "uses": ["flying"], "needs": [{"course": "slow"}], "boots_per_hoof": 0, "\\u0000": 1}"""
        assert found_in(raw) == {
            ("", "bad-key"),
            ("/horse/nam", "unknown-field"),
            ("/horse/animal_type", "unknown-choice"),
            ("/unit", "unknown-choice"),
            ("/measured_on", "date-unreadable"),
            ("/hooves/0/width/1", "number-not-finite"),
            ("/hooves/0/width/2", "length-unreadable"),
            ("/hooves/0/length", "duplicate-key"),
            ("/hooves/0/length", "unit-unknown"),
            ("/hooves/1/width", "length-out-of-range"),
            ("/hooves/1/length", "missing"),
            ("/hooves/2/limb", "duplicate-limb"),
            ("/hooves/2/length", "not-one-hoof"),
            ("/hooves/3", "wrong-type"),
            ("/uses/0", "unknown-choice"),
            ("/needs/0/need", "missing"),
            ("/needs/0/course", "unknown-choice"),
            ("/boots_per_hoof", "out-of-range"),
        }

    def test_an_unknown_unit_is_one_fault_and_not_one_for_every_length(self) -> None:
        assert found_in(form(hoof(width=5, length=5), unit="ell")) == {("/unit", "unknown-choice")}
        assert found_in(form(hoof(width=5, length=5, unit="ell"))) == {("/hooves/0/unit", "unknown-choice")}

    @pytest.mark.parametrize(
        ("width", "unit", "likely"),
        [
            (12.4, "mm", "cm"),
            (4.875, "mm", "in"),
            (124, "cm", "mm"),
            (124, "in", "mm"),
            (12.4, "in", "cm"),
            (0, "mm", None),
        ],
    )
    def test_a_length_that_suits_another_unit_says_so(self, width: float, unit: str, likely: str | None) -> None:
        (fault,) = faults_of(form(hoof(width=width, length="128 mm"), unit=unit))
        assert fault.facts.get("likely_unit") == likely

    def test_the_range_is_told_in_the_unit_the_reader_measures_in(self) -> None:
        (fault,) = faults_of(form(hoof(width=12, length="5 in", unit="in")))
        assert "1.57 in to 9.84 in" in tell_fault(fault, texts=load_texts("en")).accepted

    @pytest.mark.parametrize(
        ("document", "closest"),
        [
            (form(hoof(limb="lf")), "LF"),
            (form(hoofs=[]), "hooves"),
            (form(horse={"animal_type": "Donky"}), "donkey"),
            (form(uses=["snow and ice"]), "snow_and_ice"),
        ],
    )
    def test_a_slip_of_the_pen_is_told_the_closest_match(self, document: Document, closest: str) -> None:
        (fault,) = faults_of(document)
        assert fault.facts["closest"] == closest
        assert closest in tell_fault(fault, texts=load_texts("en")).wrong

    def test_a_choice_is_told_all_that_is_accepted(self) -> None:
        (fault,) = faults_of(form(hoof(limb="front")))
        assert "LF, RF, LH, or RH" in tell_fault(fault, texts=load_texts("en")).accepted


class TestWhateverComes:
    """Nothing that comes in makes anything but a question or a refusal."""

    @given(st.binary(max_size=200) | st.text(alphabet='{}[]",:0123456789.eEtrufalsn \\-', max_size=60).map(str.encode))
    def test_any_bytes_are_read_or_refused(self, raw: bytes) -> None:
        assert faults_of(raw)

    @given(anything | st.fixed_dictionaries({"hooves": anything}))
    def test_any_value_is_refused_at_places_that_are_there(self, document: object) -> None:
        self.look_at(faults_of(document), document)

    @given(spoiled_documents())
    def test_a_spoiled_request_is_read_or_refused_at_places_that_are_there(self, document: object) -> None:
        if refusals_of(document):
            self.look_at(faults_of(document), document)

    @given(spoiled_documents())
    def test_the_schema_takes_whatever_is_read_and_refusals_beyond_it_are_few(self, document: object) -> None:
        codes = refusals_of(document)
        if VALIDATOR.is_valid(document):
            assert codes <= BEYOND_THE_SCHEMA
        else:
            assert codes

    @staticmethod
    def look_at(faults: Any, document: object) -> None:
        """Every fault lies in the document or at a member missing there, can be told, and can be written down."""
        places = set(places_in(document))
        for fault in faults:
            assert fault.path in places or (fault.code == "missing" and fault.path[:-1] in places)
            told = tell_fault(fault, texts=load_texts("en"))
            assert told.wrong
            assert told.accepted
            msgspec.json.encode([fault.received, fault.pointer, told.place])


def test_a_width_that_is_no_number_is_the_only_fault_of_its_hoof() -> None:
    """What only follows from a value that could not be read is not told beside it."""
    with pytest.raises(InputRefused) as refused:
        read_match_question(b'{"unit":"furlong","hooves":[{"limb":"LF","width":NaN,"length":9}]}', today=TODAY)
    assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [
        ("/hooves/0/width", "number-not-finite"),
        ("/unit", "unknown-choice"),
    ]
