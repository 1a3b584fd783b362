"""Calibration proposals: what is learned from outcomes over a shelf, and when nothing is proposed."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import boot, release_of, shelf_of

from hooflast.catalog.values import BootId, MakerId
from hooflast.errors import InputRefused
from hooflast.fit import ENGINE
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.evidence import Bar
from hooflast.fit.hoof import AnimalType, Axis, AxisReading, HoofReading, Limb, Method, Observer
from hooflast.fit.learned import Learned
from hooflast.fit.outcome import Channel, Outcome, ReadingGroup, Side
from hooflast.matching.calibrating import propose_calibration
from hooflast.matching.calibration import CalibrationProposal, content
from hooflast.matching.outcomes import OutcomesQuestion, ReceiptedHoof, SoldBoot
from hooflast.matching.shelf import lay_out

SHELF = shelf_of(boot("amble"), boot("brook"), boot("heath"))
CLINIC = ReadingGroup(method=Method.CALLIPER, channel=Channel.CLINIC)


def read(width: float, length: float) -> HoofReading:
    return HoofReading(
        limb=Limb.LF,
        width=AxisReading(values_mm=(width,)),
        length=AxisReading(values_mm=(length,)),
        method=Method.CALLIPER,
        observer=Observer.PROFESSIONAL,
    )


def sold(
    width: float = 114.0,
    length: float = 114.0,
    *,
    outcome: Outcome = Outcome.KEPT,
    name: str = "amble",
    size: str = "lark",
    order: str | None = None,
    group: ReadingGroup = CLINIC,
) -> SoldBoot:
    return SoldBoot(
        animal_type=AnimalType.HORSE,
        hoof=read(width, length),
        group=group,
        boot=name,
        size=size,
        outcome=outcome,
        order=order,
    )


def propose(*boots: SoldBoot) -> CalibrationProposal:
    return propose_calibration(OutcomesQuestion(sold=boots), SHELF, language="en")


@cache
def runs_small() -> CalibrationProposal:
    """Amble comes back as too small from hooves that its chart says it is made for; brook does not."""
    return propose(*_runs_small())


def _runs_small() -> list[SoldBoot]:
    generator = np.random.default_rng(0)
    made = []
    for _ in range(90):
        width, length = generator.uniform(111.5, 117.5, size=2).tolist()
        is_tight = width > 114.5 or length > 114.5
        outcome = Outcome.TOO_SMALL if is_tight and generator.random() < 0.8 else Outcome.KEPT
        made.append(sold(width, length, outcome=outcome))
        made.append(sold(*generator.uniform(112.0, 117.0, size=2).tolist(), name="brook"))
    return made


def test_a_boot_model_that_runs_small_is_proposed_and_one_that_does_not_is_not() -> None:
    small, right = runs_small().boots
    assert (small.boot.id, small.maker.id, small.is_proposed) == ("amble", "haskeby", True)
    assert all(learned.high < 0.0 for learned in small.offsets.values())
    assert small.evidence.bar is Bar.OVER
    assert small.evidence.outcomes == 90
    assert small.evidence.returns == sum(one.outcome is Outcome.TOO_SMALL for one in _runs_small())
    assert (right.boot.id, right.is_proposed) == ("brook", False)
    assert [offset.size.code for offset in small.sizes] == [size.code for size in small.boot.sizes]


def test_nothing_is_switched_on_and_small_gains_are_foretold() -> None:
    proposal = runs_small()
    assert [caution.code for caution in proposal.cautions[:2]] == ["calibration-not-switched-on", "expect-small-gains"]
    assert proposal.versions.calibration == "none"
    assert (proposal.versions.engine, proposal.versions.catalog_release) == (ENGINE, SHELF.release.id)
    assert proposal.versions.language == "en"


def test_a_few_outcomes_carry_no_proposal() -> None:
    proposal = propose(*[sold(outcome=Outcome.TOO_SMALL)] * 12)
    (one,) = proposal.boots
    assert one.evidence.bar is Bar.FEW_OUTCOMES
    assert not one.is_proposed
    assert "no-offset-proposed" in [caution.code for caution in proposal.cautions]
    assert content(proposal)["boots"] == {}


def test_what_says_nothing_of_fit_is_set_aside_and_counted() -> None:
    words = [Outcome.KEPT, Outcome.BROKE, Outcome.OTHER, Outcome.TOO_LARGE, Outcome.OTHER]
    proposal = propose(*(sold(outcome=word) for word in words))
    assert proposal.set_aside == 3
    assert proposal.outcomes == {Outcome.BROKE: 1, Outcome.KEPT: 1, Outcome.OTHER: 2, Outcome.TOO_LARGE: 1}
    plain = propose(*(sold(outcome=word) for word in (Outcome.KEPT, Outcome.TOO_LARGE)))
    assert proposal.boots == plain.boots
    assert proposal.whole is not None
    assert proposal.whole.outcomes == 2


@pytest.mark.parametrize("words", [(), (Outcome.BROKE,)])
def test_where_no_outcome_says_anything_of_fit_nothing_is_learned(words: Sequence[Outcome]) -> None:
    proposal = propose(*(sold(outcome=word) for word in words))
    assert proposal.boots == ()
    assert proposal.whole is None
    assert proposal.reliability is None
    assert proposal.keeping[Side.TIGHT].share == pytest.approx(0.0)


MIXED = [
    sold(112.0, 113.0, outcome=Outcome.KEPT, order="a"),
    sold(118.0, 116.0, outcome=Outcome.TOO_SMALL, order="a"),
    sold(120.0, 121.0, outcome=Outcome.KEPT, size="thrush"),
    sold(113.0, 115.0, outcome=Outcome.TURNED, name="brook"),
    sold(113.0, 115.0, outcome=Outcome.BROKE, name="brook"),
    sold(114.0, 112.0, outcome=Outcome.KEPT, name="heath", group=replace(CLINIC, channel=Channel.WEB)),
    sold(114.0, 112.0, outcome=Outcome.KEPT, name="heath", group=replace(CLINIC, channel=Channel.WEB)),
]


@settings(max_examples=5, deadline=None)
@given(st.permutations(MIXED))
def test_the_order_in_which_outcomes_come_changes_nothing(order: list[SoldBoot]) -> None:
    plain, turned = propose(*MIXED), propose(*order)
    assert turned == plain
    assert turned.id == plain.id


class TestId:
    def test_it_is_a_digest_that_does_not_go_by_the_language(self) -> None:
        proposal = runs_small()
        assert proposal.id.startswith("sha256-")
        assert len(proposal.id) == len(proposal.learned_from) == 71
        spoken = replace(proposal, versions=replace(proposal.versions, language="xx"), cautions=())
        assert spoken.id == proposal.id

    def test_it_goes_by_the_outcomes_the_release_and_what_is_proposed(self) -> None:
        proposal = runs_small()
        small, right = proposal.boots
        width = small.sizes[0].offsets[Axis.WIDTH]
        moved = replace(width, value=width.value + 0.02)
        sizes = (replace(small.sizes[0], offsets={**small.sizes[0].offsets, Axis.WIDTH: moved}), *small.sizes[1:])
        others = [
            replace(proposal, boots=(replace(small, sizes=sizes), right)),
            replace(proposal, learned_from="sha256-0"),
            replace(proposal, versions=replace(proposal.versions, catalog_release="sha256-1")),
            replace(proposal, versions=replace(proposal.versions, engine="fit-0")),
            replace(proposal, biases={}),
            replace(proposal, keeping={}),
        ]
        assert len({proposal.id, *(other.id for other in others)}) == len(others) + 1

    def test_it_does_not_go_by_the_last_digits_or_by_what_is_not_proposed(self) -> None:
        proposal = runs_small()
        small, right = proposal.boots
        nearly = replace(proposal.keeping[Side.FINE], share=0.0)
        same = [
            replace(proposal, boots=(small,)),
            replace(proposal, keeping={**proposal.keeping, Side.FINE: nearly}),
            replace(proposal, boots=(replace(small, offsets={}), right)),
        ]
        assert {proposal.id} == {one.id for one in same}

    def test_its_content_is_rounded(self) -> None:
        learned = Learned(value=-0.0001, low=-1.23456, high=0.98765, share=0.5)
        proposal = replace(runs_small(), boots=(), biases={CLINIC: {Axis.WIDTH: learned}}, keeping={Side.FINE: learned})
        assert content(proposal)["readings"] == {"calliper/clinic": {"width": [0.0, -1.23, 0.99]}}
        assert str(content(proposal)["readings"]["calliper/clinic"]["width"][0]) == "0.0"
        assert content(proposal)["keeping"] == {"fine": [-0.0001, -1.2346, 0.9877]}


class TestReceipts:
    def test_a_receipted_hoof_teaches_what_its_reading_does(self) -> None:
        reading = read(118.0, 116.0)
        estimate = estimate_hoof(reading, animal_type=AnimalType.HORSE)
        (width_sd, length_sd), covariance = np.sqrt(np.diagonal(estimate.covariance)), estimate.covariance
        receipted = ReceiptedHoof(
            limb=Limb.LF,
            means_mm=(float(estimate.mean[0]), float(estimate.mean[1])),
            deviations_mm=(float(width_sd), float(length_sd)),
            correlation=float(covariance[0, 1] / (width_sd * length_sd)),
        )
        measured = sold(118.0, 116.0, outcome=Outcome.TOO_SMALL)
        plain = propose(measured)
        again = propose(replace(measured, hoof=receipted))
        for axis, learned in plain.boots[0].offsets.items():
            assert again.boots[0].offsets[axis].value == pytest.approx(learned.value, abs=1e-6)
        for axis, learned in plain.biases[CLINIC].items():
            assert again.biases[CLINIC][axis].value == pytest.approx(learned.value, abs=1e-6)
        assert "receipts-as-told" in [remark.code for remark in again.assumptions]
        assert "receipts-as-told" not in [remark.code for remark in plain.assumptions]


def test_every_unknown_boot_model_and_size_is_named() -> None:
    with pytest.raises(InputRefused) as caught:
        propose(sold(), sold(name="nowhere"), sold(size="raven"), sold(name="elsewhere", size="raven"))
    found = {(fault.pointer, fault.code, fault.received) for fault in caught.value.faults}
    assert found == {
        ("/outcomes/1/boot", "boot-unknown", "nowhere"),
        ("/outcomes/2/size", "size-unknown", "raven"),
        ("/outcomes/3/boot", "boot-unknown", "elsewhere"),
    }
    (size,) = (fault for fault in caught.value.faults if fault.code == "size-unknown")
    assert size.facts == {"boot": "Amble", "accepted_list": "wren, finch, lark, thrush, dove, rook, heron, crane"}


def test_what_was_not_told_is_assumed_and_said() -> None:
    rough = replace(CLINIC, method=Method.UNKNOWN)
    codes = [remark.code for remark in propose(sold(order="a"), sold(group=rough)).assumptions]
    assert codes == ["outcomes-by-convention", "orders-apart", "method-unknown"]
    assert [remark.code for remark in propose(sold(order="a")).assumptions] == ["outcomes-by-convention"]


def test_chances_that_are_not_borne_out_are_warned_of() -> None:
    """Boots come back from hooves in the middle of the range, and are kept on those far outside it."""
    odd = [sold(order=f"in {at}", outcome=Outcome.RUBBED) for at in range(40)]
    odd += [sold(150.0, 95.0, order=f"out {at}") for at in range(40)]
    proposal = propose(*odd)
    warned = "keeping-not-borne-out" in [caution.code for caution in proposal.cautions]
    assert proposal.reliability is not None
    assert warned is not proposal.reliability.borne_out
    assert warned


def test_boot_models_of_one_maker_lend_each_other_strength_and_others_do_not() -> None:
    release = release_of(boot("amble"), boot("brook"), boot("clover"))
    other = MakerId("ombrick")
    release = replace(
        release,
        makers={**release.makers, other: replace(release.makers[MakerId("haskeby")], id=other)},
        boots={**release.boots, BootId("clover"): replace(release.boots[BootId("clover")], maker=other)},
    )
    made = [sold(order=str(at), outcome=Outcome.TOO_SMALL) for at in range(15)]
    made += [sold(name=name, order=name) for name in ("brook", "clover")]
    proposal = propose_calibration(OutcomesQuestion(sold=tuple(made)), lay_out(release), language="en")
    small, kin, stranger = (sum(learned.value for learned in one.offsets.values()) for one in proposal.boots)
    assert small < kin < stranger
