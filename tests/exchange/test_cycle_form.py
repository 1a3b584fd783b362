"""The form of a question about the trim cycle: what is read of it, and what is refused, with its place."""

from datetime import date, timedelta

import pytest

from hooflast.errors import InputRefused
from hooflast.exchange.cycle_form import MOST_PAST_READINGS, CycleForm, read_cycle_question
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import Beside
from hooflast.fit.hoof import Limb, Method, Observer
from hooflast.matching.trim_cycle_answer import CycleQuestion

TODAY = date(2026, 5, 1)
HOOF = {"limb": "LF", "width": 124, "length": 128}
PAST = {"limb": "LF", "measured_on": "2026-03-20", "beside": "after_trim", "width": 123, "length": 126}


def form(**changes: object) -> dict[str, object]:
    return {"hooves": [HOOF], "cycle_weeks": 7, **changes}


def read(**changes: object) -> CycleQuestion:
    return read_cycle_question(form(**changes), today=TODAY)


def refused(document: object) -> set[tuple[str, str]]:
    with pytest.raises(InputRefused) as caught:
        read_cycle_question(document, today=TODAY)
    return {(fault.pointer, fault.code) for fault in caught.value.faults}


def test_the_example_of_the_schema_is_read() -> None:
    (example,) = CycleForm.model_json_schema()["examples"]
    question = read_cycle_question(example, today=TODAY)
    assert len(question.histories[Limb.LF]) == 3


def test_what_is_not_told_is_taken_as_documented() -> None:
    question = read()
    assert (question.boot, question.size, dict(question.histories)) == (None, None, {})
    assert question.circumstances == frozenset()
    assert question.horse.hooves[0].weeks_since_trim is None


def test_what_is_told_is_kept() -> None:
    question = read(
        boot="vellory-marlowick",
        size="tansy",
        cycle_weeks=6.5,
        weeks_since_trim=2,
        circumstances=["shod", "shod", "rest"],
        uses=["road"],
        horse={"name": " Juniper ", "girth": "180 cm"},
    )
    assert (question.boot, question.size, question.cycle_weeks) == ("vellory-marlowick", "tansy", 6.5)
    assert question.circumstances == {Circumstance.SHOD, Circumstance.REST}
    assert question.horse.hooves[0].weeks_since_trim == 2.0
    assert question.horse.horse_name == "Juniper"
    assert question.horse.girth_mm == 1800.0
    assert question.horse.uses == {"road"}


def test_past_readings_are_dated_back_from_today_and_sorted_by_hoof() -> None:
    other = {**PAST, "limb": "RH", "beside": "before_trim", "measured_on": "2026-04-24"}
    question = read(hooves=[HOOF, {**HOOF, "limb": "RH"}], history=[PAST, other, {**PAST, "width": 125}])
    first, second = question.histories[Limb.LF]
    assert first.weeks_ago == 6.0
    assert (first.beside, first.reading.width.mean_mm, second.reading.width.mean_mm) == (Beside.AFTER_TRIM, 123, 125)
    (hind,) = question.histories[Limb.RH]
    assert (hind.weeks_ago, hind.beside) == (1.0, Beside.BEFORE_TRIM)


def test_a_past_reading_leaves_to_the_form_what_it_does_not_say() -> None:
    question = read(method="calliper", observer="professional", history=[PAST, {**PAST, "method": "tape"}])
    first, second = (past.reading for past in question.histories[Limb.LF])
    assert (first.method, first.observer, second.method) == (Method.CALLIPER, Observer.PROFESSIONAL, Method.TAPE)


def test_the_unit_changes_nothing() -> None:
    in_mm, in_cm = (
        read(hooves=[{**HOOF, "width": 124 / by, "length": 128 / by, "resolution": 1 / by}], unit=unit,
             history=[{**PAST, "width": 123 / by, "length": 126 / by, "resolution": 1 / by}])
        for unit, by in (("mm", 1), ("cm", 10))
    )  # fmt: skip
    for one, other in ((in_mm.horse.hooves[0], in_cm.horse.hooves[0]),
                       (in_mm.histories[Limb.LF][0].reading, in_cm.histories[Limb.LF][0].reading)):  # fmt: skip
        assert one.width.mean_mm == pytest.approx(other.width.mean_mm)


@pytest.mark.parametrize(
    ("changes", "pointer", "code"),
    [
        ({"cycle_weeks": 1}, "/cycle_weeks", "out-of-range"),
        ({"cycle_weeks": 17}, "/cycle_weeks", "out-of-range"),
        ({"cycle_weeks": "7"}, "/cycle_weeks", "wrong-type"),
        ({"size": "tansy"}, "/size", "size-without-boot"),
        ({"boot": ""}, "/boot", "wrong-form"),
        ({"boot": "two words"}, "/boot", "wrong-form"),
        ({"circumstances": ["tired"]}, "/circumstances/0", "unknown-choice"),
        ({"history": [{**PAST, "limb": "RF"}]}, "/history/0/limb", "history-of-another-hoof"),
        ({"history": [{**PAST, "beside": "after"}]}, "/history/0/beside", "unknown-choice"),
        ({"history": [{**PAST, "measured_on": "2026-05-03"}]}, "/history/0/measured_on", "date-in-the-future"),
        ({"history": [{**PAST, "width": 30}]}, "/history/0/width", "length-out-of-range"),
        ({"history": [PAST] * (MOST_PAST_READINGS + 1)}, "/history", "too-many"),
        ({"hooves": [HOOF, HOOF]}, "/hooves/1/limb", "duplicate-limb"),
        ({"weeks": 7}, "/weeks", "unknown-field"),
    ],
)
def test_a_fault_has_its_place_and_its_code(changes, pointer, code) -> None:
    assert (pointer, code) in refused(form(**changes))


@pytest.mark.parametrize("missing", ["measured_on", "beside", "limb", "width", "length"])
def test_a_past_reading_says_when_and_where_it_was_taken(missing) -> None:
    past = {name: value for name, value in PAST.items() if name != missing}
    assert (f"/history/0/{missing}", "missing") in refused(form(history=[past]))


def test_the_weeks_between_trims_are_asked_for() -> None:
    assert refused({"hooves": [HOOF]}) == {("/cycle_weeks", "missing")}


def test_all_faults_come_at_once() -> None:
    found = refused(form(cycle_weeks=99, size="tansy", history=[{**PAST, "limb": "RF", "beside": "x"}]))
    assert {pointer for pointer, _ in found} == {"/cycle_weeks", "/size", "/history/0/limb", "/history/0/beside"}


@pytest.mark.parametrize("document", [[], "x", None, {"hooves": 3, "history": 4}, {"hooves": [1], "history": [2]}])
def test_what_is_no_form_is_refused_without_falling_over(document) -> None:
    assert refused(document)


@pytest.mark.parametrize("limb", [{}, [], 3, None, "lf", True])
def test_a_limb_that_is_none_is_one_fault_wherever_it_stands(limb) -> None:
    assert {place for place, _ in refused(form(history=[{**PAST, "limb": limb}]))} == {"/history/0/limb"}
    assert {place for place, _ in refused(form(hooves=[{**HOOF, "limb": limb}], history=[PAST]))} == {"/hooves/0/limb"}


def test_a_hoof_that_cannot_be_read_makes_no_history_a_strangers() -> None:
    """A limb that is wrong among the hooves is one fault, not one for each earlier reading as well."""
    assert refused(form(hooves=[], history=[PAST])) == {("/hooves", "too-few")}


def test_a_day_later_than_today_is_today() -> None:
    tomorrow = (TODAY + timedelta(days=1)).isoformat()
    (past,) = read(history=[{**PAST, "measured_on": tomorrow}]).histories[Limb.LF]
    assert past.weeks_ago == 0.0
