"""What to buy for one horse: from offers, within stock and budget, with the runner-up, and safe for a painful foot."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.values import BootModel, Sides, Size, SizeCode, SoldAs
from hooflast.errors import Fact, InputRefused
from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.hoof import HoofReading, Limb
from hooflast.fit.plan_order import Aim
from hooflast.fit.remark import Remark, Severity
from hooflast.matching.match_horse import match_horse
from hooflast.matching.plan_answer import HorsePlan, PlanAnswer
from hooflast.matching.plan_question import LEAST_FIT_CHANCE, PlanQuestion, SizeOffer
from hooflast.matching.question import NamedNeed
from hooflast.matching.shelf import Shelf
from hooflast.matching.whole_horse import plan_whole_horse

from .worlds import BOOTS, SHELF, TODAY, boot, question, reading, shelf_of

FORES = (reading(Limb.LF, width=116.0, length=116.0), reading(Limb.RF, width=124.0, length=124.0))
"""A left fore in the middle of `lark` and a right fore in the middle of `thrush`, in most boot models."""

HINDS = (reading(Limb.LH, width=116.0, length=116.0), reading(Limb.RH, width=116.0, length=116.0))


def plan(
    *hooves: HoofReading,
    shelf: Shelf = SHELF,
    offers: tuple[SizeOffer, ...] | None = None,
    horse: dict[str, object] | None = None,
    **asked: object,
) -> PlanAnswer:
    asked_of = PlanQuestion(
        horse=replace(question(*(hooves or FORES)), **(horse or {})),  # type: ignore[arg-type]
        offers=offers,
        currency="EUR",
        **asked,  # type: ignore[arg-type]
    )
    return plan_whole_horse(asked_of, shelf, today=TODAY, language="en")


def offer(name: str, *codes: str, **told: object) -> tuple[SizeOffer, ...]:
    """The same offer for several sizes of a boot model."""
    return tuple(SizeOffer(boot=name, size=code, **told) for code in codes)  # type: ignore[arg-type]


def planned(answer: PlanAnswer) -> HorsePlan:
    assert answer.plan is not None
    return answer.plan


def worn(found: HorsePlan) -> dict[str, tuple[str, str]]:
    return {hoof.limb.value: (hoof.wears.boot.id, hoof.wears.size.code) for hoof in found.hooves}


def bought(found: HorsePlan) -> list[tuple[str, str, SoldAs, int]]:
    return [(item.of.boot.id, item.of.size.code, item.sold_as, item.quantity) for item in found.items]


def codes(said: tuple[Remark, ...]) -> list[str]:
    return [remark.code for remark in said]


class TestOffers:
    def test_only_what_is_offered_is_bought(self) -> None:
        found = planned(plan(offers=offer("brook", "lark", "thrush", price=6490)))
        assert worn(found) == {"LF": ("brook", "lark"), "RF": ("brook", "thrush")}
        assert (found.price, found.unpriced) == (12980, 0)
        assert [item.offer for item in found.items] == [0, 1]

    def test_without_offers_the_catalog_is_on_sale_at_unknown_prices(self) -> None:
        answer = plan()
        found = planned(answer)
        assert (found.price, found.unpriced) == (0, 2)
        assert [item.price for item in found.items] == [None, None]
        assert "whole-catalog-on-sale" in codes(answer.assumptions)

    def test_a_pairs_only_boot_for_unlike_hooves_takes_two_pairs_and_tells_the_spares(self) -> None:
        found = planned(plan(offers=offer("brook", "lark", "thrush", price=10000, sold_as=SoldAs.PAIR)))
        assert bought(found) == [("brook", "lark", SoldAs.PAIR, 1), ("brook", "thrush", SoldAs.PAIR, 1)]
        assert [(spare.of.size.code, spare.boots) for spare in found.spares] == [("lark", 1), ("thrush", 1)]
        assert found.price == 20000

    def test_it_is_sold_as_the_catalog_says_unless_the_offer_says_otherwise(self) -> None:
        shelf = shelf_of(boot("amble", sold_as=SoldAs.PAIR))
        for sold_as, quantity in ((None, 1), (SoldAs.SINGLE, 2)):
            found = planned(plan(*HINDS, shelf=shelf, offers=offer("amble", "lark", sold_as=sold_as)))
            assert bought(found) == [("amble", "lark", sold_as or SoldAs.PAIR, quantity)]

    def test_a_gtin_of_any_length_names_a_size(self) -> None:
        sizes = tuple(replace(size, gtin="04012345000009" if size.code == "lark" else None) for size in boot("x").sizes)
        shelf = shelf_of(boot("amble", sizes=sizes))
        found = planned(plan(HINDS[0], shelf=shelf, offers=(SizeOffer(gtin="4012345000009", price=5000),)))
        assert worn(found) == {"LH": ("amble", "lark")}

    def test_every_offer_that_names_nothing_is_told_with_its_place(self) -> None:
        offers = (
            SizeOffer(boot="ambel", size="lark"),
            SizeOffer(boot="brook", size="larch"),
            SizeOffer(gtin="40123455"),
            SizeOffer(boot="brook", size="lark"),
        )
        with pytest.raises(InputRefused) as refused:
            plan(offers=offers)
        assert [(fault.pointer, fault.code) for fault in refused.value.faults] == [
            ("/offers/0/boot", "boot-unknown"),
            ("/offers/1/size", "size-unknown"),
            ("/offers/2/gtin", "offer-gtin-unknown"),
        ]
        size_fault = refused.value.faults[1]
        assert str(size_fault.facts["accepted_list"]).startswith("lark, ")

    def test_the_order_of_offers_is_no_matter(self) -> None:
        offers = (*offer("brook", "lark", "thrush", price=5000), *offer("amble", "lark", "thrush", price=6000, stock=1))
        found, turned = (planned(plan(*FORES, *HINDS, offers=listed)) for listed in (offers, offers[::-1]))
        assert (worn(found), found.price) == (worn(turned), turned.price)


class TestStockAndBudget:
    def test_a_size_out_of_stock_is_named_with_its_hoof(self) -> None:
        offers = (*offer("brook", "lark", "thrush", stock=0), *offer("amble", "lark", "thrush"))
        answer = plan(horse={"closures": (Closure.PULL_ON,)}, offers=offers)
        assert {boot_id for boot_id, _ in worn(planned(answer)).values()} == {"amble"}
        told = [(remark.code, remark.facts["size"], remark.facts["limb_list"]) for remark in answer.missed]
        assert told == [("short-of", "lark", "LF"), ("short-of", "thrush", "RF")]

    def test_two_hooves_that_need_the_last_boot_are_told(self) -> None:
        offers = (*offer("brook", "lark", stock=1), *offer("amble", "lark"))
        answer = plan(*HINDS, horse={"closures": (Closure.PULL_ON,)}, offers=offers)
        facts: dict[str, Fact] = {"boot": "Brook", "size": "lark", "limb_list": "LH,RH", "count": 1}
        assert answer.missed == (Remark(code="short-of", facts=facts),)

    def test_with_everything_in_stock_nothing_is_missed(self) -> None:
        assert plan(offers=offer("brook", "lark", "thrush", price=1, stock=9)).missed == ()

    def test_a_budget_that_serves_one_pair_leaves_the_other_and_says_why(self) -> None:
        answer = plan(*FORES, *HINDS, offers=offer("amble", "lark", "thrush", price=5000), budget=10000)
        assert len(planned(answer).hooves) == 2
        assert [one.because.code for one in answer.unserved] == ["beyond-the-budget"] * 2
        assert all(one.next_best is not None for one in answer.unserved)

    def test_a_surer_plan_beyond_the_budget_is_told_with_its_price(self) -> None:
        offers = (*offer("amble", "lark", price=9000), *offer("brook", "thrush", price=2000))
        hoof = reading(Limb.LF, width=117.5, length=117.5)
        answer = plan(hoof, offers=offers, budget=5000, least_fit_chance=0.01)
        assert worn(planned(answer)) == {"LF": ("brook", "thrush")}
        (missed,) = answer.missed
        assert (missed.code, missed.facts["price_money"]) == ("surer-without-the-budget", "EUR 9000")
        likelier = missed.facts["difference_chance"]
        assert isinstance(likelier, float)
        assert 0.0 < likelier < 1.0

    def test_a_surer_plan_without_a_price_is_told_to_be_so(self) -> None:
        offers = (*offer("amble", "lark"), *offer("brook", "thrush", price=2000))
        hoof = reading(Limb.LF, width=117.5, length=117.5)
        answer = plan(hoof, offers=offers, budget=5000, least_fit_chance=0.01)
        assert codes(answer.missed) == ["surer-at-an-unknown-price"]

    @given(budget=st.integers(0, 40000))
    def test_a_plan_keeps_to_its_budget(self, budget: int) -> None:
        offers = (*offer("amble", "lark", "thrush", price=7000), *offer("brook", "lark", "thrush", price=5500))
        answer = plan(*FORES, *HINDS, offers=offers, budget=budget)
        assert answer.plan is None or answer.plan.price <= budget
        served = {hoof.limb for hoof in answer.plan.hooves} if answer.plan else set()
        assert served | {one.limb for one in answer.unserved} == set(Limb)


class TestUnserved:
    """Why a hoof gets no boot."""

    def reasons(self, answer: PlanAnswer) -> set[str]:
        assert answer.plan is None
        return {one.because.code for one in answer.unserved}

    def test_nothing_on_sale_for_it(self) -> None:
        answer = plan(horse={"uses": frozenset({IntendedUse.SNOW_AND_ICE})})
        assert self.reasons(answer) == {"nothing-on-sale"}
        assert [one.next_best for one in answer.unserved] == [None, None]

    def test_no_size_likely_enough(self) -> None:
        answer = plan(HINDS[0], offers=offer("amble", "crane"))
        assert self.reasons(answer) == {"no-size-likely"}
        assert answer.unserved[0].next_best is not None

    def test_no_boot_model_for_both_feet(self) -> None:
        answer = plan(offers=(*offer("amble", "lark"), *offer("brook", "thrush")))
        assert self.reasons(answer) == {"no-boot-for-both"}

    def test_out_of_stock(self) -> None:
        assert self.reasons(plan(HINDS[0], offers=offer("amble", "lark", stock=0))) == {"out-of-stock"}

    def test_beyond_the_budget(self) -> None:
        assert self.reasons(plan(HINDS[0], offers=offer("amble", "lark", price=2), budget=1)) == {"beyond-the-budget"}

    def test_beyond_both(self) -> None:
        answer = plan(HINDS[0], offers=offer("amble", "lark", price=2, stock=0), budget=1)
        assert self.reasons(answer) == {"beyond-stock-and-budget"}


class TestTheRunnerUp:
    def trade(self, *, other_price: int | None, other: str = "brook", best_price: int = 5000) -> list[str]:
        offers = (*offer("amble", "lark", price=best_price), *offer(other, "lark", price=other_price))
        answer = plan(HINDS[0], horse={"closures": (Closure.STRAP,)}, offers=offers)
        assert answer.runner_up is not None
        assert worn(answer.runner_up.plan) == {"LH": (other, "lark")}
        return codes(answer.runner_up.trade)

    def test_it_says_what_it_costs_or_saves(self) -> None:
        assert self.trade(other_price=6000)[-1] == "costs-more"
        assert self.trade(other_price=4000)[-1] == "costs-less"
        assert self.trade(other_price=5000)[-1] == "costs-as-much"
        assert self.trade(other_price=None)[-1] == "price-not-known"

    def test_the_difference_is_told_in_money(self) -> None:
        offers = (*offer("amble", "lark", price=5000), *offer("brook", "lark", price=4000))
        answer = plan(HINDS[0], horse={"closures": (Closure.STRAP,)}, offers=offers)
        assert answer.runner_up is not None
        assert answer.runner_up.trade[-1].facts == {"difference_money": "EUR 1000"}

    def test_it_says_whether_it_fits_as_surely(self) -> None:
        assert self.trade(other_price=6000)[0] == "fits-less"
        twin = shelf_of(boot("amble"), boot("brook", id="brook"))
        offers = (*offer("amble", "lark", price=5000), *offer("brook", "lark", price=6000))
        answer = plan(HINDS[0], shelf=twin, offers=offers)
        assert answer.runner_up is not None
        assert codes(answer.runner_up.trade) == ["fits-as-well", "costs-more"]

    def test_a_surer_but_dearer_one_is_told_to_fit_more(self) -> None:
        offers = (*offer("brook", "lark", price=4000), *offer("amble", "lark", price=5000))
        answer = plan(HINDS[0], offers=offers, aim=Aim.CHEAPEST)
        assert answer.runner_up is not None
        assert codes(answer.runner_up.trade) == ["fits-more", "costs-more"]

    def test_there_is_none_where_only_one_boot_model_is_on_sale(self) -> None:
        assert plan(offers=offer("brook", "lark", "thrush")).runner_up is None


class TestTheFrontier:
    def test_it_rises_in_price_and_in_fit(self) -> None:
        offers = tuple(
            one
            for place, name in enumerate(("brook", "amble", "clover"))
            for one in offer(name, "lark", "thrush", price=4000 + 500 * place)
        )
        steps = plan(offers=offers, least_fit_chance=0.05).frontier
        assert len(steps) > 1
        assert [step.price for step in steps] == sorted({step.price for step in steps})
        assert [step.expected_fitting for step in steps] == sorted({step.expected_fitting for step in steps})

    def test_steps_too_small_to_matter_are_left_out(self) -> None:
        models = [moved_by(place) for place in range(40)]
        offers = tuple(
            one for place, model in enumerate(models) for one in offer(model.id, "lark", price=9000 - 100 * place)
        )
        steps = plan(HINDS[0], shelf=shelf_of(*models), offers=offers, least_fit_chance=0.01).frontier
        assert 5 <= len(steps) <= 10

    def test_there_is_none_without_prices(self) -> None:
        assert plan().frontier == ()


def moved_by(place: int) -> BootModel:
    """A boot model whose only size lies a little further from the hoof with every place."""
    model = boot(f"boot-{place:02}")
    size = next(one for one in model.sizes if one.code == "lark")
    assert size.width is not None
    assert size.length is not None
    by_mm = 0.2 * place
    changed = Size(
        code=SizeCode("lark"),
        width=replace(size.width, low_mm=size.width.low_mm + by_mm, high_mm=size.width.high_mm + by_mm),
        length=replace(size.length, low_mm=size.length.low_mm + by_mm, high_mm=size.length.high_mm + by_mm),
    )
    return replace(model, sizes=(changed,))


class TestFilters:
    def test_nothing_is_planned_that_a_match_would_not_offer(self) -> None:
        horse = replace(question(*FORES, *HINDS), uses=frozenset({IntendedUse.ROAD}), boots_per_hoof=20)
        match = match_horse(horse, SHELF, today=TODAY, language="en")
        offered = {hoof.reading.limb: {fit.boot.id for fit in hoof.boots} for hoof in match.hooves}
        answer = plan_whole_horse(PlanQuestion(horse=horse), SHELF, today=TODAY, language="en")
        assert answer.runner_up is not None
        for found in (planned(answer), answer.runner_up.plan):
            assert all(hoof.wears.boot.id in offered[hoof.limb] for hoof in found.hooves)

    @pytest.mark.parametrize("pad_mm", [0.0, 6.0])
    def test_its_fit_chances_are_those_of_the_match(self, pad_mm: float) -> None:
        horse = replace(question(*FORES, *HINDS), boots_per_hoof=20, pad_mm=pad_mm)
        match = match_horse(horse, SHELF, today=TODAY, language="en")
        chances = {
            (hoof.reading.limb, fit.boot.id, fit.best.size.code): fit.best.fit_chance
            for hoof in match.hooves
            for fit in hoof.boots
        }
        answer = plan_whole_horse(PlanQuestion(horse=horse), SHELF, today=TODAY, language="en")
        assert {caution.code for caution in match.cautions} <= {caution.code for caution in answer.cautions}
        for hoof in planned(answer).hooves:
            place = (hoof.limb, hoof.wears.boot.id, hoof.wears.size.code)
            assert hoof.fit_chance == pytest.approx(chances[place], abs=1e-3)

    def test_a_wished_closure_decides_between_plans_that_fit_alike(self) -> None:
        twins = shelf_of(boot("amble"), boot("brook", closure=Closure.LACE))
        for wish, chosen in ((Closure.STRAP, "amble"), (Closure.LACE, "brook")):
            answer = plan(shelf=twins, horse={"closures": (wish,)})
            assert {name for name, _ in worn(planned(answer)).values()} == {chosen}

    def test_what_is_left_out_is_counted(self) -> None:
        assert sum(plan().left_out.values()) < len(BOOTS)


class TestSafety:
    def test_a_foal_gets_its_caution_and_no_plan(self) -> None:
        answer = plan(horse={"is_foal": True})
        assert (answer.plan, answer.runner_up, answer.frontier, answer.unserved) == (None, None, (), ())
        assert [caution.code for caution in answer.cautions if caution.severity is Severity.STOP] == ["foal"]

    def test_on_a_painful_foot_only_boots_for_standing_are_planned(self) -> None:
        needs = (NamedNeed(need=Need.FOUNDER, course=Course.ACUTE),)
        answer = plan(horse={"needs": needs})
        assert {name for name, _ in worn(planned(answer)).values()} == {"fallow"}
        stops = {caution.code for caution in answer.cautions if caution.severity is Severity.STOP}
        assert stops == {"painful-foot", "veterinarian-first"}
        assert answer.needs

    def test_on_a_painful_foot_no_fit_is_traded_for_price_and_no_unlikely_size_is_named(self) -> None:
        offers = (*offer("fallow", "lark", "thrush", price=5000), *offer("amble", "lark", "thrush", price=4000))
        needs = (NamedNeed(need=Need.FOUNDER),)
        assert plan(offers=offers, least_fit_chance=0.05).frontier
        assert plan(offers=offers, least_fit_chance=0.05, horse={"needs": needs}).frontier == ()
        for painful, named in (((), True), (needs, False)):
            (unserved,) = plan(HINDS[0], offers=offer("fallow" if painful else "amble", "crane"),
                               horse={"needs": painful}).unserved  # fmt: skip
            assert (unserved.because.code, unserved.next_best is not None) == ("no-size-likely", named)

    def test_a_doubtful_fit_is_told_and_on_a_painful_foot_no_other_size_is_tried(self) -> None:
        hoof = reading(Limb.LF, width=118.0, length=119.0)
        for needs, boot_id, told in (
            ((), "amble", "planned-fit-doubtful"),
            ((NamedNeed(need=Need.FOUNDER),), "fallow", "planned-fit-doubtful-ask"),
        ):
            answer = plan(hoof, horse={"needs": needs}, offers=offer(boot_id, "lark"))
            (planned_hoof,) = planned(answer).hooves
            assert told in {caution.code for caution in planned_hoof.cautions}

    def test_boots_for_one_foot_of_a_pair_are_told_to_leave_the_horse_unlevel(self) -> None:
        alone = plan(FORES[0])
        assert "one-of-a-pair" in {caution.code for caution in alone.cautions}
        assert "one-of-a-pair" not in {caution.code for caution in plan(*FORES).cautions}
        soaking = plan(FORES[0], horse={"uses": frozenset({IntendedUse.SOAKING})})
        assert "one-of-a-pair" not in {caution.code for caution in soaking.cautions}

    def test_what_a_boot_asks_to_be_careful_about_stands_beside_its_hoof(self) -> None:
        found = planned(plan(shelf=shelf_of(boot("amble", sides=Sides.LEFT_AND_RIGHT))))
        assert {caution.code for caution in found.hooves[0].cautions} >= {"left-and-right"}
        for name, told in (("heath", "no-length-in-chart"), ("ivy", "no-width-in-chart")):
            found = planned(plan(offers=offer(name, "lark", "thrush")))
            assert told in {caution.code for caution in found.hooves[0].cautions}
        soaking = planned(plan(horse={"uses": frozenset({IntendedUse.SOAKING})}))
        assert "standing-only" in {caution.code for caution in soaking.hooves[0].cautions}


def test_the_least_fit_chance_that_was_not_asked_for_is_told() -> None:
    for aim, least in LEAST_FIT_CHANCE.items():
        told = Remark(code="least-fit-chance", facts={"least_chance": least})
        assert told in plan(aim=aim).assumptions
    assert "least-fit-chance" not in codes(plan(least_fit_chance=0.3).assumptions)


def test_stock_that_was_not_told_counts_as_enough_and_is_told_so() -> None:
    assert "stock-enough" in codes(plan(offers=offer("brook", "lark", "thrush")).assumptions)
    assert "stock-enough" not in codes(plan(offers=offer("brook", "lark", "thrush", stock=2)).assumptions)


def test_the_same_question_has_the_same_answer() -> None:
    assert plan(*FORES, *HINDS) == plan(*FORES, *HINDS)
