"""Forms of a herd: horses or kinds, filters and sizes, read with every fault; files of a herd; answers written down."""

from datetime import date

import msgspec
import pytest
from tests.matching.worlds import TODAY, boot, shelf_of

from hooflast.catalog.values import BootId, LimbSet, MakerId, SizeCode
from hooflast.errors import InputRefused
from hooflast.exchange.coverage_document import CoverageDocument, coverage_document
from hooflast.exchange.coverage_form import CoverageForm, read_coverage_question
from hooflast.exchange.herd_form import MOST_HORSES
from hooflast.exchange.herd_readings import read_herd
from hooflast.exchange.readings import ReadingsFormat
from hooflast.exchange.trial_set_document import TrialSetDocument, trial_set_document
from hooflast.exchange.trial_set_form import TrialSetForm, read_trial_set_question
from hooflast.fit.demand import Counting
from hooflast.fit.hoof import AnimalType, Limb, Method, Observer
from hooflast.matching.coverage import find_coverage
from hooflast.matching.trial_set_answer import ServedBy
from hooflast.matching.trial_sets import choose_trial_set
from hooflast.texts import load_texts

HOOF = {"limb": "LF", "width": 106, "length": 107}
SHELF = shelf_of(boot("ingle"))


def faults(document: object) -> list[tuple[tuple[str | int, ...], str]]:
    with pytest.raises(InputRefused) as refused:
        read_trial_set_question(document, today=TODAY)
    return [(fault.path, fault.code) for fault in refused.value.faults]


def test_horses_take_what_they_leave_out_from_the_form() -> None:
    question = read_trial_set_question(
        {
            "method": "calliper",
            "observer": "professional",
            "measured_on": "2026-04-17",
            "weeks_since_trim": 1,
            "horses": [
                {"animal_type": "pony", "hooves": [HOOF, {"limb": "RF", "width": 10, "unit": "cm", "length": "4 in"}]}
            ],
        },
        today=TODAY,
    )
    (horse,) = question.herd.horses
    assert horse.animal_type is AnimalType.PONY
    assert [hoof.limb for hoof in horse.hooves] == [Limb.LF, Limb.RF]
    assert [hoof.width.mean_mm for hoof in horse.hooves] == [106.0, 100.0]
    assert {(hoof.method, hoof.observer, hoof.age_weeks, hoof.weeks_since_trim) for hoof in horse.hooves} == {
        (Method.CALLIPER, Observer.PROFESSIONAL, 2.0, 1.0)
    }


def test_kinds_are_read_with_their_own_units() -> None:
    question = read_coverage_question(
        {
            "unit": "cm",
            "kinds": [
                {"weight": 3, "fore": {"width": 12, "length": "124 mm"}, "size_spread": 0.8},
                {"animal_type": "donkey", "hind": {"unit": "in", "width": 3.5, "length": 4}},
            ],
        },
        today=TODAY,
    )
    one, other = question.herd.kinds
    assert (one.weight, one.fore_mm, one.hind_mm, one.size_sd_mm) == (3.0, (120.0, 124.0), None, 8.0)
    assert (other.animal_type, other.fore_mm, other.size_sd_mm) == (AnimalType.DONKEY, None, None)
    assert other.hind_mm == pytest.approx((88.9, 101.6))


def test_what_is_settled_filtered_and_counted_is_read() -> None:
    question = read_trial_set_question(
        {
            "kinds": [{}],
            "limbs": "hind",
            "makers": ["haskeby"],
            "boots": ["ingle"],
            "uses": ["road"],
            "closures": ["strap"],
            "share": 1,
            "counting": "horses",
            "served_by": "chance",
            "threshold": 0.7,
            "most": 5.0,
            "must": [{"boot": "ingle", "size": "wren"}],
            "at_hand": [{"boot": "ingle", "size": "lark"}],
            "costs": [{"boot": "ingle", "size": "wren", "cost": 3}, {"boot": "ingle", "size": "wren", "cost": 4}],
            "other_cost": 2,
        },
        today=TODAY,
    )
    wren = (BootId("ingle"), SizeCode("wren"))
    assert (question.herd.limbs, question.herd.stock.makers) == (LimbSet.HIND, frozenset({MakerId("haskeby")}))
    assert (question.share, question.counting, question.served_by) == (1.0, Counting.HORSES, ServedBy.CHANCE)
    assert (question.threshold, question.most, question.must, question.costs) == (0.7, 5, (wren,), {wren: 4.0})
    assert (question.at_hand, question.other_cost) == (((BootId("ingle"), SizeCode("lark")),), 2.0)


def test_a_herd_is_given_once() -> None:
    assert faults({}) == [(("horses",), "herd-missing")]
    assert faults({"horses": [{"hooves": [HOOF]}], "kinds": [{}]}) == [(("kinds",), "herd-twice")]


def test_every_fault_of_every_horse_is_told_at_its_place() -> None:
    found = faults(
        {
            "horses": [
                {"hooves": [HOOF, HOOF]},
                {"hooves": [], "needs": [{"need": "abscess"}, {"need": "abscess"}]},
                {"hooves": [{"limb": "LF", "width": 5, "length": 107}]},
                "Juniper",
            ],
            "share": 0,
            "most": 41,
        }
    )
    assert (("horses", 0, "hooves", 1, "limb"), "duplicate-limb") in found
    assert (("horses", 1, "needs", 1, "need"), "duplicate-need") in found
    assert {path for path, _ in found} >= {
        ("horses", 1, "hooves"),
        ("horses", 2, "hooves", 0, "width"),
        ("horses", 3),
        ("share",),
        ("most",),
    }


def test_what_is_no_object_is_one_fault() -> None:
    assert [code for _, code in faults([])] == ["wrong-type"]


def test_more_horses_than_the_bound_are_refused() -> None:
    horses = [{"hooves": [HOOF]}] * (MOST_HORSES + 1)
    assert faults({"horses": horses}) == [(("horses",), "too-many")]
    assert len(read_trial_set_question({"horses": horses[1:]}, today=TODAY).herd.horses) == MOST_HORSES


@pytest.mark.parametrize("form", [TrialSetForm, CoverageForm])
def test_the_examples_of_the_forms_are_read(form: type[TrialSetForm | CoverageForm]) -> None:
    read = read_trial_set_question if form is TrialSetForm else read_coverage_question
    for example in form.model_json_schema()["examples"]:
        assert read(example, today=date(2026, 5, 1)).herd


def test_rows_of_one_horse_are_its_hooves_and_a_row_without_one_is_a_horse_of_its_own() -> None:
    raw = b"horse,animal_type,limb,width,length\nMoth,pony,LF,106,107\n,,RF,122,121\nMoth,pony,LH,104,106\n,,LF,98,98\n"
    question = read_herd(raw, written_as=ReadingsFormat.CSV).read(
        lambda document: read_trial_set_question(document, today=TODAY), beside={"share": 1.0}
    )
    assert [[hoof.limb for hoof in horse.hooves] for horse in question.herd.horses] == [
        [Limb.LF, Limb.LH],
        [Limb.RF],
        [Limb.LF],
    ]
    assert question.herd.horses[0].animal_type is AnimalType.PONY
    assert question.share == 1.0


@pytest.mark.parametrize(
    ("raw", "written_as"),
    [
        (b'{"kinds":[{"animal_type":"pony"}],"share":0.5}', ReadingsFormat.JSON),
        (b"kinds:\n  - animal_type: pony\nshare: 0.5\n", ReadingsFormat.YAML),
    ],
)
def test_what_stands_beside_a_file_goes_before_it(raw: bytes, written_as: ReadingsFormat) -> None:
    herd = read_herd(raw, written_as=written_as)
    question = herd.read(lambda document: read_trial_set_question(document, today=TODAY), beside={"share": 0.9})
    assert (question.herd.kinds[0].animal_type, question.share) == (AnimalType.PONY, 0.9)


def test_a_file_that_is_no_herd_is_refused() -> None:
    with pytest.raises(InputRefused):
        read_herd(b"[1]", written_as=ReadingsFormat.JSON).read(
            lambda document: read_trial_set_question(document, today=TODAY), beside={"share": 0.9}
        )


def test_answers_are_written_as_their_documents() -> None:
    texts = load_texts("en")
    fitting, too_large = {"limb": "LF", "width": 10.6, "length": 10.7}, {"limb": "LH", "width": 17, "length": 17}
    asked = {"unit": "cm", "horses": [{"hooves": [fitting]}, {"hooves": [too_large]}]}
    trial = choose_trial_set(read_trial_set_question(asked, today=TODAY), SHELF, today=TODAY, language="en")
    written = msgspec.json.encode(trial_set_document(trial, texts=texts))
    document = msgspec.json.decode(written, type=TrialSetDocument)
    assert [(one.boot.id, one.size) for one in document.sizes] == [("ingle", "finch")]
    assert (document.share, document.attainable, document.wished) == (0.5, 0.5, 0.8)
    assert [point.count for point in document.curve] == [0, 1]
    covered = find_coverage(read_coverage_question(asked, today=TODAY), SHELF, today=TODAY, language="en")
    told = msgspec.json.decode(msgspec.json.encode(coverage_document(covered, texts=texts)), type=CoverageDocument)
    (hind,) = [plane for plane in told.planes if plane.limbs is LimbSet.HIND]
    (gap,) = hind.gaps
    assert gap.nearest is not None
    assert (gap.nearest.boot.id, gap.nearest.size) == ("ingle", "crane")
    assert "cm" in gap.text
    assert "mm" not in gap.text
    assert sum(region.share for region in hind.regions) == pytest.approx(1.0, abs=0.005)
