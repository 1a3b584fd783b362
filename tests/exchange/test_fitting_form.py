"""Fitting trials as they come in and as they go out."""

import json
from datetime import date
from typing import Any

import msgspec
import pytest
from tests.matching.worlds import SHELF

from hooflast.errors import Fault, InputRefused
from hooflast.exchange.fitting_document import FittingAnswerDocument, fitting_document
from hooflast.exchange.fitting_form import MOST_TRY_ONS, read_fitting_question
from hooflast.fit.boot import Closure, IntendedUse, Need
from hooflast.fit.findings import BulbMarks, Finding, HeelGap, Indicator, Rotation, Seen
from hooflast.fit.hoof import Limb
from hooflast.fit.lookahead import Order
from hooflast.matching.fitting_answer import Advice, FittingQuestion
from hooflast.matching.fitting_trial import answer_fitting
from hooflast.texts import load_texts

TODAY = date(2026, 5, 1)
HOOF = {"limb": "LF", "width": 126, "length": 126}
LEAST = {"hooves": [HOOF], "boot": "amble"}


def read(**changes: object) -> FittingQuestion:
    return read_fitting_question(json.dumps(LEAST | changes).encode(), today=TODAY)


def faults(**changes: object) -> set[tuple[str, str]]:
    with pytest.raises(InputRefused) as refused:
        read(**changes)
    return {(fault.pointer, fault.code) for fault in refused.value.faults}


def written(**changes: object) -> dict[str, Any]:
    answer = answer_fitting(read(**changes), SHELF, today=TODAY, language="en")
    document = fitting_document(answer, texts=load_texts("en"))
    encoded = msgspec.json.encode(document)
    assert msgspec.json.decode(encoded, type=FittingAnswerDocument) == document
    return dict(json.loads(encoded))


class TestTheForm:
    def test_a_hoof_and_a_boot_model_are_enough(self):
        question = read()
        assert (question.boot, question.tried, question.order, question.at_home) == ("amble", (), Order.SHORTEST, None)
        assert [hoof.limb for hoof in question.horse.hooves] == [Limb.LF]

    def test_every_field_arrives(self):
        question = read(
            horse={"name": " Juniper ", "animal_type": "pony", "is_foal": True},
            needs=[{"need": "heel_pain", "course": "chronic"}],
            uses=["hacking"],
            closures=["strap", "buckle", "strap"],
            order="one_above",
            at_home="dove",
            unit="cm",
            catalog_release="sha256-0",
            try_ons=[
                {
                    "size": "dove",
                    "finding": "stays_put",
                    "indicator": "right",
                    "rotation": "slight",
                    "heel_gap": "opens",
                    "bulb_marks": "marked",
                },
                {"boot": "brook", "size": "lark", "finding": "heel_not_seated"},
            ],
            hooves=[HOOF | {"width": 12.6, "length": 12.7}],
        )
        horse = question.horse
        assert (horse.horse_name, horse.is_foal, horse.catalog_release) == ("Juniper", True, "sha256-0")
        assert horse.uses == {IntendedUse.HACKING}
        assert horse.closures == (Closure.STRAP, Closure.BUCKLE)
        assert [named.need for named in horse.needs] == [Need.HEEL_PAIN]
        assert horse.hooves[0].width.mean_mm == pytest.approx(126.0)
        assert (question.order, question.at_home) == (Order.ONE_ABOVE, "dove")
        first, second = question.tried
        assert (first.boot, first.size) == ("amble", "dove")
        assert first.seen == Seen(
            finding=Finding.STAYS_PUT,
            indicator=Indicator.RIGHT,
            rotation=Rotation.SLIGHT,
            heel_gap=HeelGap.OPENS,
            bulb_marks=BulbMarks.MARKED,
        )
        assert (second.boot, second.size, second.seen) == ("brook", "lark", Seen(finding=Finding.HEEL_NOT_SEATED))

    def test_one_hoof_is_tried_on_at_a_time(self):
        assert faults(hooves=[HOOF, HOOF | {"limb": "RF"}]) == {("/hooves", "too-many")}
        assert faults(hooves=[]) == {("/hooves", "too-few")}

    def test_movement_in_a_boot_that_does_not_stay_put_is_refused(self):
        try_ons = [
            {"size": "dove", "finding": "turns", "rotation": "free", "bulb_marks": "none"},
            {"size": "dove", "finding": "stays_put", "rotation": "free"},
            {"size": "dove", "finding": "heel_not_seated", "heel_gap": "opens", "rotation": None},
        ]
        assert faults(try_ons=try_ons) == {
            ("/try_ons/0/rotation", "moved-without-seat"),
            ("/try_ons/0/bulb_marks", "moved-without-seat"),
            ("/try_ons/2/heel_gap", "moved-without-seat"),
        }

    def test_all_faults_are_told_at_once(self):
        try_ons = [{"size": "dove", "finding": "turn"}, {"finding": "turns", "rotation": "none"}, 7]
        needs = [{"need": "abscess"}, {"need": "abscess"}]
        assert faults(try_ons=try_ons, order="any", needs=needs, boot=7) == {
            ("/try_ons/0/finding", "unknown-choice"),
            ("/try_ons/1/size", "missing"),
            ("/try_ons/1/rotation", "moved-without-seat"),
            ("/try_ons/2", "wrong-type"),
            ("/order", "unknown-choice"),
            ("/needs/1/need", "duplicate-need"),
            ("/boot", "wrong-type"),
        }

    @pytest.mark.parametrize("try_ons", [None, "turns", {"size": "dove"}])
    def test_try_ons_that_are_no_list_are_of_the_wrong_type(self, try_ons):
        assert faults(try_ons=try_ons) == {("/try_ons", "wrong-type")}

    def test_a_size_needs_a_boot_model_that_it_belongs_to(self):
        try_ons = [{"size": "dove", "finding": "turns"}, {"boot": "brook", "size": "dove", "finding": "turns"}]
        assert faults(boot=None, try_ons=try_ons, at_home="dove") == {
            ("/at_home", "size-without-boot"),
            ("/try_ons/0/size", "size-without-boot"),
        }
        question = read(boot=None, try_ons=try_ons[1:])
        assert (question.boot, [one.boot for one in question.tried]) == (None, ["brook"])

    def test_try_ons_have_a_bound(self):
        one = {"size": "dove", "finding": "turns"}
        assert len(read(try_ons=[one] * MOST_TRY_ONS).tried) == MOST_TRY_ONS
        assert faults(try_ons=[one] * (MOST_TRY_ONS + 1)) == {("/try_ons", "too-many")}

    def test_what_is_no_object_is_refused(self):
        with pytest.raises(InputRefused):
            read_fitting_question(b"[]", today=TODAY)


class TestTheDocument:
    def test_it_says_what_to_do_next_and_how(self):
        document = written(horse={"name": "Juniper"}, order="one_above")
        assert document["horse_name"] == "Juniper"
        assert (document["advice"], document["size"]) == ("try", document["chosen"]["size"])
        assert document["size"] in document["text"]
        assert document["order"] == "one_above"
        assert document["boot"]["id"] == "amble"
        assert document["limb_text"]
        assert all(step["text"] for step in document["steps"])
        assert document["versions"]["catalog_release"] == SHELF.release.id

    def test_chances_are_rounded_to_a_thousandth_and_try_ons_to_a_hundredth(self):
        document = written()
        for order in ("chosen", "shortest"):
            assert round(document[order]["try_ons_left"], 2) == document[order]["try_ons_left"] > 0.0
            assert round(document[order]["ends_fitting"], 3) == document[order]["ends_fitting"]
        for size in document["sizes"]:
            chances = [size[standing] for standing in ("right", "too_large", "too_narrow", "too_short")]
            assert sum(chances) == pytest.approx(1.0, abs=2.5e-3)
            assert chances == [round(chance, 3) for chance in chances]

    def test_the_exchange_is_named_for_each_finding_in_words(self):
        exchanges = written(at_home="dove")["exchanges"]
        assert exchanges
        for one in exchanges:
            assert one["finding_text"]
            assert one["size"] is None or one["size"] in one["text"]

    def test_the_next_boot_model_is_told_with_what_to_expect_of_it(self):
        try_ons = [{"size": "dove", "finding": "turns"}, {"size": "thrush", "finding": "will_not_go_on"}]
        document = written(try_ons=try_ons, hooves=[HOOF | {"width": 126.5, "length": 126.5}])
        assert document["advice"] == "change_boot"
        assert document["next_boot"]["boot"]["id"] != "amble"
        assert document["next_boot"]["expected"]["size"]
        assert [size["size"] for size in document["sizes"] if size["was_tried"]] == ["thrush", "dove"]

    def test_where_all_stops_no_size_and_no_number_is_told(self):
        document = written(needs=[{"need": "founder"}])
        assert (document["advice"], document["size"], document["chosen"], document["shortest"]) == (
            Advice.STOP.value,
            None,
            None,
            None,
        )
        assert document["sizes"] == document["exchanges"] == []
        assert {one["severity"] for one in document["cautions"]} >= {"stop"}

    def test_without_a_boot_model_to_try_there_is_none_in_it(self):
        document = written(boot=None, needs=[{"need": "founder"}])
        assert (document["advice"], document["boot"]) == ("stop", None)

    @pytest.mark.parametrize("advice", Advice)
    def test_every_advice_has_a_sentence(self, advice):
        assert load_texts("en").say(f"advice.{advice}", {"size": "dove"})


@pytest.mark.parametrize("finding", [{}, [], 5, None, "sits"])
def test_a_finding_of_any_kind_is_refused_or_left_out_and_never_breaks_the_reading(finding: object) -> None:
    written = {"hooves": [{"limb": "LF", "width": 124, "length": 127}], "boot": "own"}
    found: list[Fault] = []
    try:
        read_fitting_question({**written, "try_ons": [{"size": "fern", "finding": finding}]}, today=date(2026, 5, 4))
    except InputRefused as refused:
        found += refused.faults
    assert {fault.path[:2] for fault in found} <= {("try_ons", 0)}
