"""Pads: what a pad does to the size of a boot, how thick it may be, and what practice keeps from a painful foot."""

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests import demo
from tests.matching.worlds import HERE, SHELF, TODAY, boot, question, questions, reading, release_of

from hooflast.catalog.values import (
    Accessory,
    AccessoryId,
    AccessoryKind,
    AccessorySize,
    BootId,
    MakerId,
    SizeCode,
    SoldAs,
)
from hooflast.errors import InputRefused
from hooflast.fit.boot import Course, IntendedUse, Need
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.hoof import AnimalType, Axis
from hooflast.fit.pad import PadKind, Softness, room_lost
from hooflast.fit.padded import KEEPS
from hooflast.fit.remark import Severity
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.match_horse import match_horse
from hooflast.matching.needs import is_painful
from hooflast.matching.padding import PAD_FEATURES, asked_pad
from hooflast.matching.pads import answer_pads
from hooflast.matching.pads_answer import BootWithPad, PadEffect, PadsAnswer, PadsQuestion
from hooflast.matching.pads_picture import pads_picture
from hooflast.matching.question import MatchQuestion, NamedNeed
from hooflast.matching.shelf import Shelf, lay_out
from hooflast.texts import load_texts
from hooflast.units import Unit

quick = settings(max_examples=20, deadline=None)
DEMO = lay_out(demo.offered().library.active)


def pad(name: str, *, thickness_mm: float | None, goes_with: dict[str, set[str]], kind=AccessoryKind.PAD) -> Accessory:
    boots = {BootId(boot): frozenset(map(SizeCode, sizes)) for boot, sizes in goes_with.items()}
    return Accessory(
        id=AccessoryId(name),
        maker=MakerId("haskeby"),
        name=name.title(),
        kind=kind,
        sizes=(AccessorySize(code=SizeCode("moss"), goes_with=boots),),
        sold_as=SoldAs.SINGLE,
        provenance=HERE,
        thickness_mm=thickness_mm,
    )


PADS = (
    pad("felt", thickness_mm=6.0, goes_with={"amble": {"thrush", "dove"}}),
    pad("deep", thickness_mm=12.0, goes_with={"amble": {"dove"}, "brook": {"thrush"}}),
    pad("thin", thickness_mm=3.0, goes_with={"amble": {"wren"}}),
    pad("unmeasured", thickness_mm=None, goes_with={"amble": {"thrush", "dove"}}),
    pad("sleeve", thickness_mm=6.0, goes_with={"amble": {"thrush", "dove"}}, kind=AccessoryKind.GAITER),
)
BOOTS = (
    boot("amble", max_pad_mm=12.0),
    boot("brook", max_pad_mm=4.0),
    boot("fallow", intended_uses=frozenset({IntendedUse.CONFINED}), suits_needs=frozenset(Need), max_pad_mm=20.0),
)
PADDED = lay_out(replace(release_of(*BOOTS), accessories={one.id: one for one in PADS}))
"""Sizes are 119–126 (thrush), 127–134 (dove) and so on, on both axes."""


def ask(horse: MatchQuestion, *, boot: str | None = None, shelf: Shelf = PADDED) -> PadsAnswer:
    named = None if boot is None else BootId(boot)
    return answer_pads(PadsQuestion(horse=horse, boot=named), shelf, today=TODAY, language="en")


def amble(horse: MatchQuestion) -> BootWithPad:
    (hoof,) = ask(horse, boot="amble").hooves
    (found,) = hoof.boots
    return found


def codes(cautions) -> list[str]:
    return [caution.code for caution in cautions]


class TestTheSize:
    """What the pad does to the best size."""

    def test_a_hoof_near_the_end_of_its_size_moves_to_the_next(self):
        found = amble(question(reading(width=125.5, length=125.0), pad_mm=8.0))
        assert (found.without.size.code, found.with_pad.size.code) == ("thrush", "dove")
        assert found.effect is PadEffect.OTHER_SIZE
        assert found.limits.same_size_mm < 8.0
        (told,) = [caution for caution in found.cautions if caution.code == "pad-other-size"]
        assert told.facts == {"size": "thrush", "padded_size": "dove"}

    def test_a_hoof_in_the_middle_of_its_size_keeps_it(self):
        found = amble(question(reading(width=121.5, length=121.0), pad_mm=3.0))
        assert found.effect is PadEffect.SAME_SIZE
        assert found.without.size.code == found.with_pad.size.code == "thrush"
        assert found.limits.same_size_mm >= 3.0
        assert codes(found.cautions) == []

    def test_a_hoof_in_the_largest_size_leaves_the_boot_model(self):
        found = amble(question(reading(width=158.0, length=157.0), animal_type=AnimalType.DRAFT, pad_mm=12.0))
        assert found.effect is PadEffect.OUT_OF_THE_BOOT_MODEL
        assert found.with_pad.fit_chance <= KEEPS * found.without.fit_chance
        assert found.limits.serves_mm < 12.0
        assert codes(found.cautions) == ["pad-out-of-the-boot-model", "fit-doubtful"]

    def test_a_pad_above_the_makers_limit_gets_no_size_and_says_stop(self):
        (hoof,) = ask(question(pad_mm=4.5), boot="brook").hooves
        (found,) = hoof.boots
        assert (found.effect, found.with_pad) == (PadEffect.TOO_THICK, None)
        assert found.without is not None
        (told,) = [caution for caution in found.cautions if caution.severity is Severity.STOP]
        assert (told.code, told.facts) == ("pad-above-limit", {"pad_mm": 4.5, "most_mm": 4.0})
        assert max(found.limits.same_size_mm, found.limits.serves_mm) <= 4.0

    def test_a_pad_of_just_the_makers_limit_may_be_used(self):
        (hoof,) = ask(question(pad_mm=4.0), boot="brook").hooves
        assert hoof.boots[0].effect is not PadEffect.TOO_THICK

    def test_the_size_with_the_pad_is_told_with_how_it_sits(self):
        bare = amble(question(reading(width=121.0, length=120.5), pad_mm=4.0))
        assert bare.with_pad.verdict_chances[Axis.WIDTH].keys() == set(Verdict)
        for size in (bare.without, bare.with_pad):
            assert sum(size.verdict_chances[Axis.WIDTH].values()) == pytest.approx(1.0)
        loose_before, loose_after = (
            size.verdict_chances[Axis.LENGTH][Verdict.TOO_LOOSE] for size in (bare.without, bare.with_pad)
        )
        assert bare.without.size.code == bare.with_pad.size.code
        assert loose_after < loose_before

    def test_an_axis_that_the_chart_leaves_out_has_no_verdict(self):
        (hoof,) = ask(question(pad_mm=0.0), boot="heath", shelf=SHELF).hooves
        assert hoof.boots[0].without.verdicts.keys() == {Axis.WIDTH}

    @quick
    @given(questions.filter(lambda asked: not asked.is_foal and not is_painful(asked.needs)))
    def test_no_pad_changes_nothing(self, asked):
        for hoof in ask(replace(asked, pad_mm=0.0), shelf=SHELF).hooves:
            for found in hoof.boots:
                assert found.effect is PadEffect.SAME_SIZE
                assert found.with_pad == found.without

    @quick
    @given(questions, st.sampled_from(PadKind), st.sampled_from(Softness), st.floats(0.0, 12.0))
    def test_limits_and_chances_are_in_bounds_whatever_is_asked(self, asked, kind, softness, thickness):
        horse = replace(asked, pad_kind=kind, pad_softness=softness, pad_mm=thickness)
        for hoof in ask(horse, shelf=DEMO).hooves:
            assert len(hoof.boots) <= horse.boots_per_hoof
            for found in hoof.boots:
                assert found.boot.max_pad_mm >= thickness
                for limit in () if found.limits is None else (found.limits.same_size_mm, found.limits.serves_mm):
                    assert 0.0 <= limit <= found.boot.max_pad_mm
                    assert limit % 0.5 == 0.0
                for size in (found.without, found.with_pad):
                    assert size is None or 0.0 <= size.fit_chance <= 1.0

    @quick
    @given(questions)
    def test_a_pad_inside_the_wall_leaves_every_size_as_it_was(self, asked):
        horse = replace(asked, pad_kind=PadKind.PARTIAL, pad_mm=4.0)
        for hoof in ask(horse, shelf=DEMO).hooves:
            assert not hoof.room.mean_mm.any()
            for found in hoof.boots:
                assert found.effect is PadEffect.SAME_SIZE


class TestTheRoom:
    """What is said about the hoof itself."""

    def test_the_room_is_that_of_the_asked_pad_under_a_hoof_of_this_length(self):
        horse = question(reading(length=126.0), pad_mm=10.0, pad_kind=PadKind.WEDGE, pad_softness=Softness.FIRM)
        (hoof,) = ask(horse).hooves
        length_mm = float(estimate_hoof(horse.hooves[0], animal_type=horse.animal_type).mean[1])
        wanted = room_lost(asked_pad(horse), hoof_length_mm=length_mm)
        assert hoof.room.mean_mm.tolist() == wanted.mean_mm.tolist()
        assert hoof.room.tilt_deg == wanted.tilt_deg
        assert hoof.length.mean_mm == length_mm

    @pytest.mark.parametrize(
        ("kind", "told"), [(PadKind.FULL, {"pad-lifts"}), (PadKind.PARTIAL, set()), (PadKind.WEDGE, {"pad-tilts"})]
    )
    def test_the_lift_against_the_collar_is_told_as_a_number(self, kind, told):
        (hoof,) = ask(question(pad_mm=10.0, pad_kind=kind, pad_softness=Softness.SOFT)).hooves
        found = {caution.code: caution.facts for caution in hoof.cautions if caution.code.startswith("pad-")}
        assert found.keys() == told
        for facts in found.values():
            assert facts["lift_mm"] == pytest.approx(6.5)

    @pytest.mark.parametrize(
        ("kind", "code"),
        [
            (PadKind.FULL, "pad-takes-room"),
            (PadKind.PARTIAL, "pad-inside-the-wall"),
            (PadKind.WEDGE, "pad-wedge"),
        ],
    )
    def test_every_kind_of_pad_has_its_caution(self, kind, code):
        told = codes(ask(question(pad_mm=6.0, pad_kind=kind)).cautions)
        assert {code, "pad-look-daily", "chances-not-calibrated"} <= set(told)

    def test_a_softness_that_was_not_told_is_an_assumption(self):
        untold, told = (
            codes(ask(question(pad_mm=6.0, pad_softness=softness)).assumptions)
            for softness in (Softness.UNKNOWN, Softness.FIRM)
        )
        assert set(untold) - set(told) == {"pad-softness-unknown"}
        assert {"pad-chart-without", "pad-walls", "as-measured"} <= set(told)

    def test_a_hoof_that_no_boot_takes_with_the_pad_is_told_so(self):
        (hoof,) = ask(question(pad_mm=30.0)).hooves
        assert hoof.boots == ()
        assert "no-boot-near" in codes(hoof.cautions)


class TestBootModels:
    """Which boot models are looked at."""

    def test_they_come_in_the_order_of_the_padded_hooves(self):
        horse = question(reading(width=125.5, length=125.0), pad_mm=4.0)
        (hoof,) = ask(horse).hooves
        assert [found.boot.id for found in hoof.boots] == ["amble", "brook"]
        assert len(ask(replace(horse, boots_per_hoof=1)).hooves[0].boots) == 1

    def test_those_that_take_no_such_pad_are_counted(self):
        answer = ask(question(pad_mm=8.0))
        assert [found.boot.id for found in answer.hooves[0].boots] == ["amble"]
        assert answer.left_out[LeftOutBecause.PAD] == 1

    def test_a_named_one_is_looked_at_alone(self):
        for name in ("amble", "brook"):
            (hoof,) = ask(question(pad_mm=2.0), boot=name).hooves
            assert [found.boot.id for found in hoof.boots] == [name]

    def test_a_named_one_that_serves_another_limb_or_use_is_left_out_with_the_reason(self):
        answer = ask(question(pad_mm=0.0, uses=frozenset({IntendedUse.SOAKING})), boot="amble")
        assert answer.hooves[0].boots == ()
        assert answer.left_out == {"use": 1}

    def test_one_that_is_not_in_the_catalog_is_refused_at_its_place(self):
        with pytest.raises(InputRefused) as refused:
            ask(question(pad_mm=2.0), boot="nowhere")
        (fault,) = refused.value.faults
        assert (fault.path, fault.code, fault.received) == (("boot",), "boot-unknown", "nowhere")


class TestCatalogPads:
    """Pads of the catalog that go with a boot model."""

    def test_a_pad_is_offered_if_it_goes_with_the_size_that_is_best_with_it(self):
        found = amble(question(reading(width=125.5, length=125.0), pad_mm=1.0))
        assert [
            (one.accessory.id, one.thickness_mm, one.size, one.boot_size.size.code) for one in found.catalog_pads
        ] == [
            ("felt", 6.0, "moss", "dove"),
            ("deep", 12.0, "moss", "dove"),
        ]
        assert [one.effect for one in found.catalog_pads] == [PadEffect.OTHER_SIZE, PadEffect.OTHER_SIZE]

    def test_its_size_is_the_one_that_asking_for_it_would_give(self):
        horse = question(reading(width=123.0, length=122.0), pad_mm=6.0)
        found = amble(horse)
        (felt,) = [one for one in found.catalog_pads if one.accessory.id == "felt"]
        assert felt.boot_size == found.with_pad
        assert felt.effect is found.effect


class TestNeeds:
    """Practice, under the direction of the veterinarian."""

    def test_only_what_concerns_pads_is_said(self):
        for need in Need:
            for course in Course:
                (said,) = ask(question(pad_mm=2.0, needs=(NamedNeed(need=need, course=course),))).needs
                assert {*said.suits, *said.as_directed, *said.never} <= PAD_FEATURES
                assert (said.need, said.course) == (need, course)

    @pytest.mark.parametrize(
        ("need", "course", "changes", "code", "severity"),
        [
            (Need.FOUNDER, Course.ACUTE, {}, "pad-as-directed", Severity.STOP),
            (Need.FOUNDER, Course.CHRONIC, {}, "pad-as-directed", Severity.LOOK_AGAIN),
            (Need.HEEL_PAIN, Course.CHRONIC, {"pad_kind": PadKind.WEDGE}, "pad-as-directed", Severity.LOOK_AGAIN),
            (Need.THIN_SOLE, Course.CHRONIC, {"pad_kind": PadKind.PARTIAL}, "pad-never", Severity.STOP),
            (Need.ABSCESS, Course.ACUTE, {"pad_kind": PadKind.PARTIAL}, "pad-never", Severity.STOP),
            (
                Need.AFTER_SURGERY,
                Course.CHRONIC,
                {"pad_softness": Softness.SOFT},
                "pad-as-directed",
                Severity.LOOK_AGAIN,
            ),
        ],
    )
    def test_a_pad_that_practice_keeps_from_a_need_is_told(self, need, course, changes, code, severity):
        answer = ask(question(pad_mm=6.0, needs=(NamedNeed(need=need, course=course),), **changes))
        (told,) = [one for one in answer.cautions if one.code in ("pad-as-directed", "pad-never")]
        assert (told.code, told.severity) == (code, severity)
        assert told.facts == {"need": need, "course": course}

    def test_a_pad_that_suits_a_need_is_told_nothing_against(self):
        needs = (NamedNeed(need=Need.HEEL_PAIN, course=Course.CHRONIC), NamedNeed(need=Need.OUT_OF_SHOES))
        told = codes(ask(question(pad_mm=6.0, needs=needs, pad_softness=Softness.SOFT)).cautions)
        assert not {"pad-as-directed", "pad-never"} & set(told)

    @pytest.mark.parametrize("shelf", [PADDED, DEMO], ids=["small", "demo"])
    @pytest.mark.parametrize("need", [need for need in Need if is_painful([NamedNeed(need=need)])])
    def test_on_a_painful_foot_one_size_is_told_and_no_series(self, need, shelf):
        answer = ask(question(pad_mm=6.0, needs=(NamedNeed(need=need),)), shelf=shelf)
        assert {"painful-foot", "veterinarian-first"} <= set(codes(answer.cautions))
        for hoof in answer.hooves:
            for found in hoof.boots:
                assert (found.without, found.limits, found.catalog_pads) == (None, None, ())
                assert "pad-other-size" not in codes(found.cautions)
                assert "fit-doubtful" not in codes(found.cautions)

    def test_a_boot_for_a_standing_horse_says_that_it_is_for_nothing_else(self):
        answer = ask(question(pad_mm=6.0, needs=(NamedNeed(need=Need.FOUNDER),)))
        (found,) = answer.hooves[0].boots
        assert found.boot.id == "fallow"
        assert "standing-only" in codes(found.cautions)

    def test_a_foal_gets_no_boots(self):
        answer = ask(question(pad_mm=6.0, is_foal=True))
        assert "foal" in codes(answer.cautions)
        assert [hoof.boots for hoof in answer.hooves] == [()]
        assert "no-boot-near" not in codes(answer.hooves[0].cautions)


class TestInAMatch:
    """A wished pad in a match: the sizes are those for the boots with the pad in them."""

    def match(self, horse: MatchQuestion):
        return match_horse(horse, PADDED, today=TODAY, language="en")

    @pytest.mark.parametrize("kind", PadKind)
    def test_its_best_sizes_are_those_that_a_question_about_the_pad_gets(self, kind):
        horse = question(reading(width=125.5, length=125.0), pad_mm=4.0, pad_kind=kind)
        (matched,), (asked,) = self.match(horse).hooves, ask(horse).hooves
        assert [fit.boot.id for fit in matched.boots] == [found.boot.id for found in asked.boots]
        for fit, found in zip(matched.boots, asked.boots, strict=True):
            assert fit.best.size == found.with_pad.size
            assert fit.best.fit_chance == pytest.approx(found.with_pad.fit_chance, abs=1e-9)

    def test_a_pad_moves_a_hoof_near_the_end_of_its_size_to_the_next(self):
        bare, padded = (
            self.match(question(reading(width=125.5, length=125.0), pad_mm=thickness)).hooves[0].boots[0].best.size
            for thickness in (0.0, 8.0)
        )
        assert (bare.code, padded.code) == ("thrush", "dove")

    def test_the_hoof_is_told_as_it_is_and_as_the_boots_see_it(self):
        horse = question(pad_mm=6.0, pad_softness=Softness.FIRM)
        (hoof,) = self.match(horse).hooves
        (bare,) = self.match(question()).hooves
        assert (hoof.width, hoof.length, hoof.shape) == (bare.width, bare.length, bare.shape)
        assert bare.in_boot is None
        room = room_lost(asked_pad(horse), hoof_length_mm=hoof.length.mean_mm)
        for axis, seen, own in ((0, hoof.in_boot.width, hoof.width), (1, hoof.in_boot.length, hoof.length)):
            assert seen.mean_mm == pytest.approx(own.mean_mm + room.mean_mm[axis])
            assert seen.standard_uncertainty_mm**2 == pytest.approx(
                own.standard_uncertainty_mm**2 + room.covariance[axis, axis]
            )

    def test_a_turn_is_looked_for_with_the_pad_in_the_boot(self):
        """With the pad the hoof is nearer to the next size by the room that the pad takes."""
        bare, padded = (
            {
                turn.code: turn.facts["change_mm"]
                for turn in self.match(
                    question(reading(width=122.0, length=123.0), pad_mm=thickness, pad_softness=Softness.FIRM)
                )
                .hooves[0]
                .turns
            }
            for thickness in (0.0, 4.0)
        )
        assert padded["more-length"] < bare["more-length"]

    def test_what_it_was_worked_out_with_is_assumed_aloud(self):
        told = {
            kind: codes(self.match(question(pad_mm=4.0, pad_kind=kind, pad_softness=Softness.SOFT)).assumptions)
            for kind in PadKind
        }
        assert {"pad-room", "pad-walls", "pad-chart-without"} <= set(told[PadKind.FULL]) & set(told[PadKind.WEDGE])
        assert "pad-takes-none" in told[PadKind.PARTIAL]
        assert "pad-room" not in told[PadKind.PARTIAL]
        assert not [code for code in codes(self.match(question()).assumptions) if code.startswith("pad-")]

    def test_the_room_told_is_that_of_the_pad(self):
        horse = question(pad_mm=10.0, pad_softness=Softness.FIRM)
        (told,) = [one for one in self.match(horse).assumptions if one.code == "pad-room"]
        room = room_lost(asked_pad(horse), hoof_length_mm=126.0)
        assert told.facts == {"pad_mm": 10.0, "width_mm": float(room.mean_mm[0]), "lift_mm": 9.5}

    def test_practice_about_the_pad_and_the_need_is_told_here_too(self):
        needs = (NamedNeed(need=Need.FOUNDER, course=Course.CHRONIC),)
        told = codes(self.match(question(pad_mm=4.0, needs=needs)).cautions)
        assert {"pad-takes-room", "pad-look-daily", "pad-as-directed"} <= set(told)
        assert not [code for code in codes(self.match(question(needs=needs)).cautions) if code.startswith("pad-")]


def test_the_same_question_has_the_same_answer():
    horse = question(reading(width=125.5, length=125.0), pad_mm=5.0)
    one, other = (ask(horse, shelf=DEMO) for _ in range(2))
    assert [hoof.boots for hoof in one.hooves] == [hoof.boots for hoof in other.hooves]
    assert one.versions == other.versions


class TestPicture:
    """The answer drawn."""

    def drawn(self, **changes) -> str:
        horse = question(reading(width=124.0, length=122.0), pad_softness=Softness.FIRM, **changes)
        return pads_picture(ask(horse), texts=load_texts("en"))

    def test_it_tells_the_room_lost_in_numbers(self):
        svg = self.drawn(pad_mm=10.0)
        assert "The heels come up by 9.5 mm; 4.4 mm of the width is lost." in svg
        assert "5.5 mm of the length is lost." in svg

    def test_a_wedge_is_said_to_give_length(self):
        assert "of length is gained: the hoof stands at a slant." in self.drawn(pad_mm=12.0, pad_kind=PadKind.WEDGE)

    def test_a_pad_inside_the_wall_is_said_to_take_nothing(self):
        assert "no room is lost" in self.drawn(pad_mm=6.0, pad_kind=PadKind.PARTIAL)

    def test_lengths_are_told_in_the_unit_of_the_asker(self):
        assert "come up by 0.37 in" in self.drawn(pad_mm=10.0, unit=Unit.INCH)
