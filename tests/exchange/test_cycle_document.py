"""The answer about the trim cycle as a document: what it says, how it rounds, and that it is what its schema says."""

import json

import pytest
from jsonschema import Draft202012Validator
from tests.matching.test_trim_cycle import PAINFUL, asked, lived
from tests.matching.worlds import reading

from hooflast.catalog.values import BootId, SizeCode
from hooflast.exchange.answer_parts import encode
from hooflast.exchange.cycle_document import CycleAnswerDocument, cycle_document
from hooflast.exchange.schemas import COMPONENTS, document_schemas
from hooflast.fit.cycle import Moment
from hooflast.fit.growth import Circumstance
from hooflast.fit.hoof import Limb, Method
from hooflast.matching.trim_cycle_answer import CycleAnswer
from hooflast.texts import load_texts
from hooflast.units import Unit

TEXTS = load_texts("en")
ANSWERS = {
    "two hooves": asked(reading(), reading(Limb.RH, width=119.0, length=124.0, weeks_since_trim=None)),
    "its own history": asked(histories={Limb.LF: lived()}),
    "a foal": asked(horse={"is_foal": True}),
    "a painful foot": asked(horse={"needs": PAINFUL}, boot=BootId("fallow")),
    "a chart of one axis": asked(boot=BootId("heath"), circumstances=frozenset({Circumstance.SHOD})),
    "no boot": asked(reading(width=220.0, length=220.0), boot=None),
}
answers = pytest.mark.parametrize("answer", ANSWERS.values(), ids=ANSWERS.keys())


def written(answer: CycleAnswer) -> dict:
    return json.loads(encode(cycle_document(answer, texts=TEXTS)))


@answers
def test_it_is_what_its_schema_says(answer) -> None:
    schemas = document_schemas([CycleAnswerDocument])
    schema = {"$ref": COMPONENTS + "CycleAnswerDocument", "components": {"schemas": schemas}}
    Draft202012Validator(schema).validate(written(answer))


@answers
def test_every_sentence_is_said(answer) -> None:
    document = written(answer)
    remarks = [*document["cautions"], *document["assumptions"]]
    remarks += [one for hoof in document["hooves"] for one in (*hoof["advice"], *hoof["cautions"])]
    assert remarks
    assert all(remark["text"].endswith(".") for remark in remarks)
    assert not any("{" in remark["text"] for remark in remarks)


@answers
def test_it_is_the_same_every_time(answer) -> None:
    assert encode(cycle_document(answer, texts=TEXTS)) == encode(cycle_document(answer, texts=TEXTS))


def test_the_numbers_are_the_answers() -> None:
    answer = ANSWERS["two hooves"]
    for hoof, told in zip(answer.hooves, written(answer)["hooves"], strict=True):
        assert [one["size"] for one in told["sizes"]] == [one.size.code for one in hoof.sizes]
        for size, said in zip(hoof.sizes, told["sizes"], strict=True):
            assert said["holds_chance"] == pytest.approx(size.holds_chance, abs=6e-4)
            for moment in Moment:
                assert said["chances"][moment.value] == pytest.approx(size.chances[moment], abs=6e-4)
        for week, said in zip(hoof.weeks, told["weeks"], strict=True):
            assert said["week"] == week.week
            assert said["length"]["mean_mm"] == pytest.approx(week.length.mean_mm, abs=0.06)


def test_what_was_learned_is_told_with_its_interval() -> None:
    answer = ANSWERS["its own history"]
    learned, told = answer.hooves[0].learned, written(answer)["hooves"][0]["learned"]
    assert learned is not None
    assert told["own_readings"] == 8
    names = ("width_per_week", "length_per_week", "width_at_trim", "length_at_trim")
    for name, mean, (low, high) in zip(names, learned.changes.mean, learned.interval, strict=True):
        assert told[name] == {
            "mean_mm": pytest.approx(mean, abs=0.006),
            "low_mm": pytest.approx(low, abs=0.006),
            "high_mm": pytest.approx(high, abs=0.006),
        }


def test_a_foal_is_told_no_size_and_no_boot() -> None:
    (hoof,) = written(ANSWERS["a foal"])["hooves"]
    assert (hoof["boot"], hoof["sizes"], hoof["weeks"], hoof["advice"]) == (None, [], [], [])
    assert hoof["width_turn"] is hoof["length_turn"] is hoof["learned"] is None


def test_a_chart_of_one_axis_has_no_turn_on_the_other() -> None:
    (hoof,) = written(ANSWERS["a chart of one axis"])["hooves"]
    assert hoof["length_turn"] is None


def test_a_turn_that_is_far_off_has_no_week() -> None:
    found = asked(reading(method=Method.CALLIPER), size=SizeCode("rook")).hooves[0].turns
    told = written(asked(reading(method=Method.CALLIPER), size=SizeCode("rook")))["hooves"][0]
    for axis, turned in found.items():
        said = told[f"{axis.value}_turn"]
        assert (said is None) == (turned is None)
        if turned is not None:
            assert said["side"] == turned.side.value
            assert (said["week"] is None) == (turned.week is None)
            assert (said["late_week"] is None) == (turned.late_week is None)


def test_sentences_are_in_the_askers_unit() -> None:
    inches = asked(reading(width=200.0, length=200.0), horse={"unit": Unit.INCH})
    assert written(inches)["asked"]["unit"] == "in"
    cautions = [one["text"] for one in written(inches)["hooves"][0]["cautions"]]
    assert any(" in" in text and "mm" not in text for text in cautions)
