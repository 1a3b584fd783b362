"""Herds: trial sets and coverage from a shelf, with what is left out, refused and told."""

from dataclasses import replace

import numpy as np
import pytest
from tests.matching.worlds import TODAY, boot, shelf_of, without_axis

from hooflast.catalog.values import BootId, LimbSet, MakerId, SizeCode
from hooflast.errors import InputRefused, NotFound
from hooflast.fit.boot import Closure, Course, IntendedUse, Need, ShapeClass
from hooflast.fit.demand import Counting
from hooflast.fit.herd import Kind
from hooflast.fit.hoof import AnimalType, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.remark import Severity
from hooflast.matching.coverage import find_coverage
from hooflast.matching.coverage_answer import CoverageAnswer, CoverageQuestion
from hooflast.matching.gap_telling import gap_text
from hooflast.matching.herd_pictures import coverage_picture, curve_picture
from hooflast.matching.herd_question import HerdHorse, HerdQuestion, StockFilter
from hooflast.matching.question import NamedNeed
from hooflast.matching.shelf import Shelf
from hooflast.matching.trial_set_answer import ServedBy, TrialSetAnswer, TrialSetQuestion
from hooflast.matching.trial_sets import choose_trial_set
from hooflast.texts import load_texts

SHELF = shelf_of(boot("ingle"), boot("outle", closure=Closure.BUCKLE, limbs=LimbSet.HIND))
PONIES = Kind(animal_type=AnimalType.PONY)


def horse(*middles: float, limbs: tuple[Limb, ...] = tuple(Limb), **changes: object) -> HerdHorse:
    """A horse whose hooves measure so many mm in the middle of a size, one after the other on the four limbs."""
    hooves = tuple(
        HoofReading(
            limb=limb,
            width=AxisReading(values_mm=(middle,)),
            length=AxisReading(values_mm=(middle,)),
            method=Method.CALLIPER,
            observer=Observer.PROFESSIONAL,
            weeks_since_trim=0.0,
        )
        for limb, middle in zip(limbs, middles, strict=False)
    )
    return replace(HerdHorse(animal_type=AnimalType.HORSE, hooves=hooves), **changes)  # type: ignore[arg-type]


def herd(*horses: HerdHorse, **changes: object) -> HerdQuestion:
    return replace(HerdQuestion(horses=horses), **changes)  # type: ignore[arg-type]


def chosen(question: HerdQuestion, shelf: Shelf = SHELF, **changes: object) -> TrialSetAnswer:
    asked = replace(TrialSetQuestion(herd=question, share=1.0), **changes)  # type: ignore[arg-type]
    return choose_trial_set(asked, shelf, today=TODAY, language="en")


def found(question: HerdQuestion, shelf: Shelf = SHELF, *, threshold: float = 0.5) -> CoverageAnswer:
    asked = CoverageQuestion(herd=question, threshold=threshold)
    return find_coverage(asked, shelf, today=TODAY, language="en")


def codes(answer: TrialSetAnswer | CoverageAnswer) -> list[str]:
    return [caution.code for caution in answer.cautions]


def names(answer: TrialSetAnswer) -> list[tuple[str, str]]:
    return [(one.boot.id, one.size.code) for one in answer.carried]


def test_two_horses_of_two_sizes_need_two_sizes() -> None:
    answer = chosen(herd(horse(106.0, 107.0), horse(122.0)))
    assert names(answer) == [("ingle", "finch"), ("ingle", "thrush")]
    assert (answer.share, answer.cost, answer.is_exact) == (1.0, 2.0, True)
    assert [one.best_for for one in answer.carried] == pytest.approx([2 / 3, 1 / 3])
    assert [point.count for point in answer.curve] == [0, 1, 2]
    assert (answer.horses, answer.hooves, answer.sizes_in_question) == (2, 3, 16)


def test_a_boot_model_made_for_hind_feet_serves_no_fore_foot() -> None:
    hind_only = shelf_of(boot("outle", limbs=LimbSet.HIND))
    answer = chosen(herd(horse(106.0, limbs=(Limb.LF,)), horse(106.0, limbs=(Limb.LH,))), hind_only)
    assert answer.attainable == 0.5
    assert "share-out-of-reach" in codes(answer)


def test_a_boot_model_not_made_for_the_animal_serves_it_not() -> None:
    for_horses = shelf_of(boot("ingle", animal_types=frozenset({AnimalType.HORSE})))
    answer = chosen(herd(horse(106.0, animal_type=AnimalType.PONY)), for_horses)
    assert (answer.attainable, answer.carried) == (0.0, ())


def test_a_foal_and_a_painful_foot_are_left_out_and_stop_comes_first() -> None:
    painful = horse(140.0, needs=(NamedNeed(need=Need.FOUNDER, course=Course.ACUTE),))
    question = herd(horse(106.0), horse(90.0, is_foal=True), painful)
    for answer in (chosen(question), found(question)):
        assert answer.horses == 1
        assert codes(answer)[:2] == ["foals-left-out", "painful-left-out"]
        assert {caution.severity for caution in answer.cautions[:2]} == {Severity.STOP}


def test_a_chronic_need_does_not_leave_a_horse_out() -> None:
    chronic = horse(106.0, needs=(NamedNeed(need=Need.HEEL_PAIN, course=Course.CHRONIC),))
    assert chosen(herd(chronic)).horses == 1


def test_where_every_horse_is_left_out_there_is_no_set_and_no_picture() -> None:
    question = herd(horse(106.0, is_foal=True))
    answer = chosen(question)
    assert (answer.horses, answer.carried, answer.share, answer.mean_chance) == (0, (), 0.0, 0.0)
    assert curve_picture(answer, texts=load_texts("en"))
    covered = found(question)
    assert (covered.planes, covered.served, covered.by_chance) == ((), 0.0, 0.0)
    with pytest.raises(NotFound):
        coverage_picture(covered, texts=load_texts("en"))


def test_every_answer_says_that_the_sizes_are_for_sound_feet_only() -> None:
    for answer in (chosen(herd(kinds=(PONIES,))), found(herd(kinds=(PONIES,)))):
        assert "sound-feet-only" in codes(answer)
        assert "chances-not-calibrated" in codes(answer)


def test_donkeys_and_mules_are_told_of() -> None:
    assert "donkey-or-mule" in codes(chosen(herd(kinds=(Kind(animal_type=AnimalType.MULE),))))


@pytest.mark.parametrize(
    ("stock", "left"),
    [
        (StockFilter(boots=frozenset({BootId("outle")})), {"outle"}),
        (StockFilter(makers=frozenset({MakerId("haskeby")})), {"ingle", "outle"}),
        (StockFilter(closures=frozenset({Closure.STRAP})), {"ingle"}),
        (StockFilter(uses=frozenset({IntendedUse.ROAD})), {"ingle", "outle"}),
        (StockFilter(uses=frozenset({IntendedUse.MUD})), set()),
    ],
)
def test_filters_choose_the_boot_models_in_question(stock: StockFilter, left: set[str]) -> None:
    answer = chosen(herd(horse(106.0, 107.0, 122.0, 123.0), stock=stock))
    assert answer.sizes_in_question == 8 * len(left)
    assert {boot_id for boot_id, _ in names(answer)} <= left


def test_boots_for_a_standing_horse_are_only_in_question_when_asked_for() -> None:
    standing = shelf_of(boot("sickle", intended_uses=frozenset({IntendedUse.CONFINED})))
    assert chosen(herd(horse(106.0)), standing).sizes_in_question == 0
    for stock in (
        StockFilter(uses=frozenset({IntendedUse.CONFINED})),
        StockFilter(boots=frozenset({BootId("sickle")})),
    ):
        assert chosen(herd(horse(106.0), stock=stock), standing).sizes_in_question == 8


def test_a_discontinued_boot_model_is_not_in_question() -> None:
    assert chosen(herd(horse(106.0)), shelf_of(boot("old", discontinued_on=TODAY))).sizes_in_question == 0


def test_makers_boots_and_sizes_that_are_not_there_are_all_refused() -> None:
    stock = StockFilter(makers=frozenset({MakerId("nobody")}), boots=frozenset({BootId("nothing")}))
    with pytest.raises(InputRefused) as refused:
        chosen(herd(horse(106.0), stock=stock))
    assert [fault.code for fault in refused.value.faults] == ["maker-unknown", "boot-unknown"]
    wren, eagle = (BootId("ingle"), SizeCode("wren")), (BootId("ingle"), SizeCode("eagle"))
    with pytest.raises(InputRefused) as refused:
        chosen(herd(horse(106.0)), must=(wren, eagle), at_hand=(eagle,), costs={eagle: 2.0})
    assert [fault.path for fault in refused.value.faults] == [("must", 1), ("at_hand", 0), ("costs", 0)]


def test_sizes_at_hand_are_not_counted_and_sizes_that_must_be_in_are_marked() -> None:
    wren, finch = (BootId("ingle"), SizeCode("wren")), (BootId("ingle"), SizeCode("finch"))
    answer = chosen(herd(horse(106.0), horse(122.0)), at_hand=(finch,), must=(wren,))
    assert names(answer) == [("ingle", "wren"), ("ingle", "thrush")]
    assert [one.is_asked_for for one in answer.carried] == [True, False]
    assert (answer.cost, answer.share) == (2.0, 1.0)
    assert answer.mean_chance > 0.9


def test_of_two_sizes_that_serve_alike_the_cheaper_is_carried() -> None:
    twins = shelf_of(boot("ingle"), boot("other"))
    dear = {(BootId("ingle"), size.code): 5.0 for size in boot("ingle").sizes}
    answer = chosen(herd(horse(106.0)), twins, costs=dear, other_cost=3.0)
    assert names(answer) == [("other", "finch")]
    assert (answer.cost, answer.least_cost) == (3.0, 3.0)


def test_counting_horses_both_ends_of_a_horse_must_be_served() -> None:
    question = herd(horse(106.0, 106.0, 98.0, 98.0), horse(122.0))
    answer = chosen(question, counting=Counting.HORSES, share=0.5)
    assert (len(answer.carried), answer.share) == (1, 0.5)
    assert len(chosen(question, counting=Counting.HORSES).carried) == 3


def test_by_chance_the_share_follows_the_mean_chance() -> None:
    answer = chosen(herd(kinds=(PONIES,)), served_by=ServedBy.CHANCE, share=0.6)
    assert answer.share == pytest.approx(answer.mean_chance, abs=0.05)
    assert "served-by-chance" in [assumed.code for assumed in answer.assumptions]


def test_a_hard_question_is_answered_greedily_with_its_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    exact = chosen(herd(kinds=(PONIES,)), share=0.7)
    monkeypatch.setattr("hooflast.matching.trial_sets.HARD_WANTS", 0)
    monkeypatch.setattr("hooflast.matching.trial_sets.EASY_WANTS", 0)
    hasty = chosen(herd(kinds=(PONIES,)), share=0.7)
    assert hasty.least_cost <= exact.cost <= hasty.cost
    assert hasty.is_exact == ("set-may-not-be-cheapest" not in codes(hasty))
    assert all(point.bound >= point.share for point in hasty.curve)


def test_only_the_limbs_that_count_are_looked_at() -> None:
    question = herd(horse(106.0, 106.0, 98.0, 98.0), horse(122.0, limbs=(Limb.LH,)), limbs=LimbSet.FORE)
    answer = chosen(question)
    assert (answer.horses, answer.hooves) == (1, 2)
    assert {plane.limbs for plane in found(question).planes} == {LimbSet.FORE}
    assert {plane.limbs for plane in found(replace(question, limbs=LimbSet.HIND)).planes} == {LimbSet.HIND}


def test_the_same_question_has_the_same_answer() -> None:
    question = herd(kinds=(PONIES,))
    assert chosen(question, share=0.7) == chosen(question, share=0.7)


def test_coverage_parts_a_herd_by_kind_of_animal_fore_and_hind() -> None:
    question = herd(horse(106.0, 106.0, 106.0), horse(106.0, animal_type=AnimalType.PONY))
    answer = found(question)
    parts = {(plane.animal_type, plane.limbs): plane.share for plane in answer.planes}
    assert parts == pytest.approx(
        {
            (AnimalType.HORSE, LimbSet.FORE): 0.5,
            (AnimalType.HORSE, LimbSet.HIND): 0.25,
            (AnimalType.PONY, LimbSet.FORE): 0.25,
        }
    )
    assert answer.planes[0].share == 0.5
    assert answer.served == pytest.approx(sum(plane.share * plane.served for plane in answer.planes))


def test_a_hoof_larger_than_every_size_is_a_gap_with_the_largest_as_its_nearest() -> None:
    (plane,) = found(herd(horse(170.0))).planes
    (gap,) = plane.gaps
    assert gap.share == pytest.approx(1.0, abs=0.02)
    assert gap.shape is ShapeClass.ROUND
    assert gap.nearest is not None
    assert (gap.nearest.boot.id, gap.nearest.size.code) == ("ingle", "crane")
    assert gap.nearest.beyond_width_mm == pytest.approx(170.0 - 159.0, abs=2.5)


def test_without_boot_models_everything_is_a_gap_without_a_nearest() -> None:
    question = herd(horse(106.0), stock=StockFilter(uses=frozenset({IntendedUse.MUD})))
    (plane,) = found(question).planes
    assert (plane.served, plane.boots, plane.sizes) == (0.0, 0, ())
    assert [gap.nearest for gap in plane.gaps] == [None]


def test_a_chart_without_lengths_covers_nothing_above_one_half() -> None:
    model = boot("ingle")
    half = shelf_of(replace(model, sizes=without_axis(model, "length")))
    assert found(herd(horse(106.0)), half, threshold=0.6).served == 0.0
    assert "missing-axis-counts-half" in [assumed.code for assumed in found(herd(horse(106.0)), half).assumptions]


def test_measured_hooves_are_drawn_as_dots_and_kinds_are_not() -> None:
    measured, kinds = found(herd(horse(106.0, 107.0))), found(herd(kinds=(PONIES,)))
    assert measured.planes[0].hooves.shape == (2, 2)
    assert kinds.planes[0].hooves.shape == (0, 2)
    texts = load_texts("en")
    assert texts.say("picture.key.measured-hoof") in coverage_picture(measured, texts=texts)
    assert texts.say("picture.key.measured-hoof") not in coverage_picture(kinds, texts=texts)


def test_the_pictures_say_what_the_answers_say() -> None:
    texts = load_texts("en")
    covered, answer = found(herd(horse(106.0))), chosen(herd(horse(106.0), horse(122.0)))
    assert texts.say("picture.coverage.no-gaps") in coverage_picture(covered, texts=texts)
    far = found(herd(horse(170.0)))
    assert gap_text(far.planes[0].gaps[0], texts=texts) in coverage_picture(far, texts=texts)
    drawn = curve_picture(answer, texts=texts)
    assert texts.say("picture.curve.caption", {"count": 2, "set_chance": 1.0}) in drawn
    assert texts.say("picture.key.exact").split()[0] in drawn


def test_a_set_off_the_curve_is_not_ringed() -> None:
    texts = load_texts("en")
    question = herd(horse(106.0), horse(122.0), horse(138.0))
    off, on = chosen(question, most=1), chosen(question, most=5)
    assert texts.say("picture.key.chosen-set") not in curve_picture(off, texts=texts)
    assert texts.say("picture.key.chosen-set") in curve_picture(on, texts=texts)


def test_a_mean_hoof_of_a_breed_is_covered_where_its_size_is() -> None:
    breed = Kind(animal_type=AnimalType.HORSE, fore_mm=(106.0, 106.0), size_sd_mm=1.0)
    (plane,) = found(herd(kinds=(breed,), limbs=LimbSet.FORE)).planes
    assert plane.served > 0.75
    assert np.isclose(sum(region.share for region in plane.regions), 1.0)
