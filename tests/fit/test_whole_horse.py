"""Plans for a whole horse: held against trying everything, what does not matter, and what never hurts."""

from collections.abc import Callable
from dataclasses import replace
from itertools import combinations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from hooflast.fit.buying import Offer
from hooflast.fit.hoof import Limb
from hooflast.fit.pair_choices import BootOnSale
from hooflast.fit.plan_order import Aim, Goal, parts
from hooflast.fit.wearable import HoofBoots, Wearable
from hooflast.fit.whole_horse import Bought, Plan, Spare, ideal_fitting, plan_horse

from .sales import (
    Key,
    Sale,
    assignments,
    boots_in,
    goals,
    ideal_by_trial,
    key_of,
    sales,
    value_of,
    worn_in,
)
from .strategies import bounded

OTHER_SIDE = {Limb.LF: Limb.RF, Limb.RF: Limb.LF, Limb.LH: Limb.RH, Limb.RH: Limb.LH}
PLENTY = Goal(least_fit_chance=0.25, band_width=0.1)


def best_of(sale: Sale, *, goal: Goal) -> Plan:
    return plan_horse(sale.hooves, sale.on_sale, goal=goal).best


def key(plan: Plan, sale: Sale, *, goal: Goal) -> Key:
    """What a plan is ordered by, worked out from what its hooves wear."""
    value = value_of(worn_in(plan), sale, goal=goal)
    assert value is not None
    return key_of(value, goal=goal, ideal=ideal_by_trial(sale, goal=goal))


def hoof(limb: Limb, **chances: tuple[float, ...]) -> HoofBoots:
    """A hoof with the fit chances of each boot model's sizes."""
    return HoofBoots(
        limb=limb,
        sizes={
            boot: tuple(Wearable(size=size, fit_chance=chance, worth=chance) for size, chance in enumerate(of_boot))
            for boot, of_boot in chances.items()
        },
        closeness=dict.fromkeys(chances, 0.5),
    )


def on_sale(boot: str, *offers: Offer, sizes: int = 3, is_sided: bool = False) -> BootOnSale:
    """A boot model with the same offers for every size."""
    return BootOnSale(boot=boot, offers=dict.fromkeys(range(sizes), offers), is_sided=is_sided)


class TestEveryPlanIsCompared:
    """What is chosen is what trying everything finds."""

    @bounded
    @given(sale=sales(), goal=goals)
    def test_no_plan_is_better_than_the_best(self, sale: Sale, goal: Goal) -> None:
        ideal = ideal_by_trial(sale, goal=goal)
        values = [value_of(worn, sale, goal=goal) for worn in assignments(sale, goal=goal)]
        least = min(key_of(value, goal=goal, ideal=ideal) for value in values if value is not None)
        assert key(best_of(sale, goal=goal), sale, goal=goal) == least

    @bounded
    @given(sale=sales(), goal=goals)
    def test_no_plan_in_other_boot_models_is_better_than_the_runner_up(self, sale: Sale, goal: Goal) -> None:
        plans = plan_horse(sale.hooves, sale.on_sale, goal=goal)
        best = worn_in(plans.best)
        ideal = ideal_by_trial(sale, goal=goal)
        others = [
            key_of(value, goal=goal, ideal=ideal)
            for worn in assignments(sale, goal=goal)
            if worn.keys() == best.keys() and boots_in(worn) != boots_in(best)
            and (value := value_of(worn, sale, goal=goal)) is not None
        ]  # fmt: skip
        assert (plans.runner_up is None) == (not others)
        if plans.runner_up is not None:
            assert boots_in(worn_in(plans.runner_up)) != boots_in(best)
            assert key(plans.runner_up, sale, goal=goal) == min(others)

    @bounded
    @given(sale=sales(), goal=goals)
    def test_the_frontier_is_every_price_at_which_a_surer_plan_begins(self, sale: Sale, goal: Goal) -> None:
        plans = plan_horse(sale.hooves, sale.on_sale, goal=goal)
        values = [
            value_of(worn, sale, goal=goal)
            for worn in assignments(sale, goal=goal)
            if worn.keys() == worn_in(plans.best).keys()
        ]
        points = {
            (value["price"], value["fitting"]) for value in values if value is not None and value["unpriced"] == 0
        }
        unbeaten = {
            (price, fitting)
            for price, fitting in points
            if not any(
                other_price <= price and other_fitting >= fitting and (other_price, other_fitting) != (price, fitting)
                for other_price, other_fitting in points
            )
        }
        assert [(plan.price, plan.expected_fitting) for plan in plans.frontier] == sorted(unbeaten)

    @bounded
    @given(sale=sales(), goal=goals)
    def test_a_plan_buys_what_its_hooves_wear_and_says_what_that_comes_to(self, sale: Sale, goal: Goal) -> None:
        plans = plan_horse(sale.hooves, sale.on_sale, goal=goal)
        by_boot = {one.boot: one for one in sale.on_sale}
        for plan in [plans.best, *([plans.runner_up] if plans.runner_up else []), *plans.frontier]:
            value = value_of(worn_in(plan), sale, goal=goal)
            assert value is not None
            bought = [(one, by_boot[one.boot].offers[one.size][one.offer]) for one in plan.bought]
            assert all(offer.stock is None or 0 < one.quantity <= offer.stock for one, offer in bought)
            assert plan.price == value["price"] == sum(one.quantity * (offer.price or 0) for one, offer in bought)
            boots = [one.quantity * (2 if offer.is_pair else 1) for one, offer in bought]
            assert sum(boots) == len(plan.worn) + sum(spare.boots for spare in plan.spares)
            assert plan.unpriced == value["unpriced"]
            assert sum(spare.boots for spare in plan.spares) == value["spares"]
            assert plan.expected_fitting == value["fitting"]


class TestWhatDoesNotMatter:
    @bounded
    @given(sale=sales(), goal=goals, data=st.data())
    def test_the_order_of_hooves_and_boot_models_is_no_matter(
        self, sale: Sale, goal: Goal, data: st.DataObject
    ) -> None:
        hooves = data.draw(st.permutations(sale.hooves))
        boots = data.draw(st.permutations(sale.on_sale))
        assert plan_horse(hooves, boots, goal=goal) == plan_horse(sale.hooves, sale.on_sale, goal=goal)

    @bounded
    @given(sale=sales(), goal=goals)
    def test_left_and_right_may_change_places(self, sale: Sale, goal: Goal) -> None:
        mirrored = replace(sale, hooves=tuple(replace(one, limb=OTHER_SIDE[one.limb]) for one in sale.hooves))
        here, there = best_of(sale, goal=goal), best_of(mirrored, goal=goal)
        assert key(here, sale, goal=goal) == key(there, mirrored, goal=goal)

    @bounded
    @given(sale=sales(), goal=goals, factor=st.integers(2, 100))
    def test_the_currency_is_no_matter(self, sale: Sale, goal: Goal, factor: int) -> None:
        def dearer(offer: Offer) -> Offer:
            return replace(offer, price=None if offer.price is None else offer.price * factor)

        changed = _with_offers(sale, dearer)
        budget = None if goal.budget is None else goal.budget * factor
        here, there = best_of(sale, goal=goal), best_of(changed, goal=replace(goal, budget=budget))
        assert (there.worn, there.bought, there.price) == (here.worn, here.bought, here.price * factor)

    @bounded
    @given(sale=sales(), goal=goals)
    def test_one_pair_of_hooves_is_served_as_if_it_were_alone_when_nothing_runs_out(
        self, sale: Sale, goal: Goal
    ) -> None:
        endless = _with_offers(sale, lambda offer: Offer(is_pair=False, price=offer.price))
        goal = replace(goal, budget=None, aim=Aim.CHEAPEST)
        alone = [
            best_of(replace(endless, hooves=pair), goal=goal).worn
            for pair in (
                tuple(one for one in sale.hooves if one.limb.is_fore),
                tuple(one for one in sale.hooves if not one.limb.is_fore),
            )
            if pair
        ]
        together = best_of(endless, goal=goal)
        values = [sum(one.wearable.fit_chance for one in worn) for worn in (sum(alone, ()), together.worn)]
        assert values[0] == values[1]


def _with_offers(sale: Sale, change: Callable[[Offer], Offer]) -> Sale:
    boots = tuple(
        replace(one, offers={size: tuple(map(change, ways)) for size, ways in one.offers.items()})
        for one in sale.on_sale
    )
    return replace(sale, on_sale=boots)


class TestMoreNeverHurts:
    @bounded
    @given(sale=sales(), goal=goals, more=st.integers(1, 3))
    def test_more_stock_never_makes_the_plan_worse(self, sale: Sale, goal: Goal, more: int) -> None:
        def stocked(offer: Offer) -> Offer:
            return replace(offer, stock=None if offer.stock is None else offer.stock + more)

        richer = _with_offers(sale, stocked)
        assert key(best_of(richer, goal=goal), richer, goal=goal) <= key(best_of(sale, goal=goal), sale, goal=goal)

    @bounded
    @given(sale=sales(), goal=goals, more=st.none() | st.integers(1, 10))
    def test_a_larger_budget_never_makes_the_plan_worse(self, sale: Sale, goal: Goal, more: int | None) -> None:
        assume(goal.budget is not None)
        larger = replace(goal, budget=None if more is None else (goal.budget or 0) + more)
        before, after = best_of(sale, goal=goal), best_of(sale, goal=larger)
        assert key(after, sale, goal=larger) <= key(before, sale, goal=larger)

    @bounded
    @given(sale=sales(), goal=goals)
    def test_pairs_split_into_singles_at_half_the_price_never_cost_more(self, sale: Sale, goal: Goal) -> None:
        def even(offer: Offer) -> Offer:
            return replace(offer, price=None if offer.price is None else 2 * offer.price)

        def split(offer: Offer) -> Offer:
            if not offer.is_pair:
                return offer
            price, stock = offer.price, offer.stock
            return Offer(
                is_pair=False,
                price=None if price is None else price // 2,
                stock=None if stock is None else 2 * stock,
            )

        in_pairs = _with_offers(sale, even)
        in_singles = _with_offers(in_pairs, split)
        assert key(best_of(in_singles, goal=goal), in_singles, goal=goal) <= key(
            best_of(in_pairs, goal=goal), in_pairs, goal=goal
        )

    @bounded
    @given(sale=sales(), goal=goals)
    def test_a_lower_price_never_makes_the_cheapest_plan_dearer(self, sale: Sale, goal: Goal) -> None:
        goal = replace(goal, aim=Aim.CHEAPEST, budget=None)

        def cheaper(offer: Offer) -> Offer:
            return replace(offer, price=None if offer.price is None else max(0, offer.price - 1))

        here, there = best_of(sale, goal=goal), best_of(_with_offers(sale, cheaper), goal=goal)
        assert (there.unpriced, there.price) <= (here.unpriced, here.price)


class TestAPairOfHooves:
    def test_two_hooves_share_a_pair_of_one_size(self) -> None:
        hooves = [hoof(Limb.LF, a=(0.0, 0.9)), hoof(Limb.RF, a=(0.0, 0.9))]
        plan = plan_horse(hooves, [on_sale("a", Offer(is_pair=True, price=100))], goal=PLENTY).best
        assert plan.bought == (Bought(boot="a", size=1, offer=0, quantity=1),)
        assert (plan.spares, plan.price) == ((), 100)

    def test_two_hooves_of_unlike_size_take_two_pairs_and_leave_two_boots(self) -> None:
        hooves = [hoof(Limb.LF, a=(0.9, 0.0)), hoof(Limb.RF, a=(0.0, 0.9))]
        plan = plan_horse(hooves, [on_sale("a", Offer(is_pair=True, price=100))], goal=PLENTY).best
        assert plan.price == 200
        assert plan.spares == (Spare(boot="a", size=0, boots=1), Spare(boot="a", size=1, boots=1))

    @pytest.mark.parametrize(("is_sided", "pairs"), [(False, 1), (True, 2)])
    def test_a_pair_serves_two_hooves_of_one_side_unless_its_lasts_are_left_and_right(
        self, *, is_sided: bool, pairs: int
    ) -> None:
        hooves = [hoof(Limb.LF, a=(0.9,)), hoof(Limb.LH, a=(0.9,))]
        boots = [on_sale("a", Offer(is_pair=True, price=100), is_sided=is_sided)]
        plan = plan_horse(hooves, boots, goal=PLENTY).best
        assert plan.price == 100 * pairs

    def test_both_wear_one_boot_model_even_where_another_would_suit_one_of_them_better(self) -> None:
        hooves = [hoof(Limb.LF, a=(0.9,), b=(0.6,)), hoof(Limb.RF, a=(0.3,), b=(0.7,))]
        single = Offer(is_pair=False)
        plan = plan_horse(hooves, [on_sale("a", single), on_sale("b", single)], goal=PLENTY).best
        assert {one.boot for one in plan.worn} == {"b"}

    def test_a_pair_that_cannot_be_served_whole_is_not_served(self) -> None:
        hooves = [hoof(Limb.LF, a=(0.9,)), hoof(Limb.RF, a=(0.1,)), hoof(Limb.LH, a=(0.8,))]
        plan = plan_horse(hooves, [on_sale("a", Offer(is_pair=False))], goal=PLENTY).best
        assert [one.limb for one in plan.worn] == [Limb.LH]

    @pytest.mark.parametrize("budget", [None, 100])
    def test_fores_and_hinds_do_not_take_the_same_boot_twice(self, budget: int | None) -> None:
        hooves = [hoof(Limb.LF, a=(0.9,), b=(0.6,)), hoof(Limb.LH, a=(0.9,), b=(0.8,))]
        boots = [on_sale("a", Offer(is_pair=False, price=10, stock=1)), on_sale("b", Offer(is_pair=False, price=20))]
        plan = plan_horse(hooves, boots, goal=replace(PLENTY, budget=budget)).best
        assert {one.limb: one.boot for one in plan.worn} == {Limb.LF: "a", Limb.LH: "b"}


class TestTheOrder:
    """What comes before what."""

    def plan(self, *, goal: Goal = PLENTY, **chances: float) -> str:
        """The boot model one hoof is given, at the chances told; a costs 10, b 20, c has no price."""
        boots = [
            on_sale("a", Offer(is_pair=False, price=10), sizes=1),
            on_sale("b", Offer(is_pair=False, price=20), sizes=1),
            on_sale("c", Offer(is_pair=False), sizes=1),
        ]
        one = hoof(Limb.LF, **{boot: (chance,) for boot, chance in chances.items()})
        return plan_horse([one], boots, goal=goal).best.worn[0].boot

    def test_a_surer_fit_comes_before_the_price(self) -> None:
        assert self.plan(a=0.5, b=0.9) == "b"

    def test_fits_of_one_band_tie_and_the_price_decides(self) -> None:
        assert self.plan(a=0.85, b=0.9) == "a"

    def test_a_known_price_comes_before_an_unknown_one(self) -> None:
        assert self.plan(b=0.85, c=0.9) == "b"

    def test_the_cheapest_is_taken_of_those_that_fit_enough(self) -> None:
        goal = Goal(least_fit_chance=0.5, band_width=0.1, aim=Aim.CHEAPEST)
        assert self.plan(goal=goal, a=0.5, b=0.9) == "a"
        assert self.plan(goal=goal, a=0.49, b=0.9) == "b"

    def test_within_a_budget_nothing_without_a_price_is_bought(self) -> None:
        goal = replace(PLENTY, budget=20)
        assert self.plan(goal=goal, b=0.3, c=0.9) == "b"

    def test_a_wish_comes_after_the_band_and_before_the_price(self) -> None:
        boots = [
            replace(on_sale("a", Offer(is_pair=False, price=10), sizes=1), wish_rank=1),
            on_sale("b", Offer(is_pair=False, price=20), sizes=1),
        ]
        for chance, chosen in ((0.9, "b"), (0.7, "a")):
            hooves = [hoof(Limb.LF, a=(0.9,), b=(chance,))]
            assert plan_horse(hooves, boots, goal=PLENTY).best.worn[0].boot == chosen


class TestWhatIsTold:
    def test_the_ideal_is_the_best_boot_model_of_each_pair_whatever_is_in_stock(self) -> None:
        """Fores: 0.9 + 0.6 in a, 0.8 + 0.8 in b; the one hind 0.5 in a, its best size."""
        hooves = [
            hoof(Limb.LF, a=(0.9, 0.3), b=(0.8,)),
            hoof(Limb.RF, a=(0.4, 0.6), b=(0.8,)),
            hoof(Limb.LH, a=(0.3, 0.5), c=(0.9,)),
        ]
        boots = [on_sale("a", Offer(is_pair=False, stock=0)), on_sale("b", Offer(is_pair=True, price=10))]
        assert ideal_fitting(hooves, boots, goal=PLENTY) == parts(2.1)
        assert ideal_fitting(hooves[2:], boots[1:], goal=PLENTY) == 0

    def test_a_plan_tells_its_band_and_how_many_hooves_are_expected_to_fit(self) -> None:
        """The surest boot model, 0.9, is beyond the budget; 0.7 lies two bands of 0.1 below."""
        hooves = [hoof(Limb.LF, a=(0.7,), b=(0.9,))]
        boots = [on_sale("a", Offer(is_pair=False, price=10)), on_sale("b", Offer(is_pair=False, price=30))]
        plan = plan_horse(hooves, boots, goal=replace(PLENTY, budget=20)).best
        assert (plan.band, plan.expected_fitting) == (2, 0.7)

    def test_a_plan_counts_the_boots_without_a_price(self) -> None:
        plan = plan_horse([hoof(Limb.LF, a=(0.9,))], [on_sale("a", Offer(is_pair=True))], goal=PLENTY).best
        assert (plan.unpriced, plan.price, plan.spares) == (2, 0, (Spare(boot="a", size=0, boots=1),))


def test_nothing_on_sale_serves_no_hoof() -> None:
    plans = plan_horse([hoof(Limb.LF)], [], goal=PLENTY)
    assert (plans.best.worn, plans.best.bought, plans.runner_up) == ((), (), None)


def test_boot_models_that_many_others_beat_do_not_change_the_choice() -> None:
    boots = [on_sale(f"boot-{place}", Offer(is_pair=False, price=100 + place, stock=1), sizes=1) for place in range(8)]
    hooves = [hoof(limb, **{one.boot: (0.9,) for one in boots}) for limb in (Limb.LF, Limb.LH)]
    plans = plan_horse(hooves, boots, goal=PLENTY)
    cheapest = min(one + other for one, other in combinations(range(100, 108), 2))
    assert plans.best.price == cheapest
    assert plans.runner_up is not None
    assert plans.runner_up.price == cheapest
    assert [plan.price for plan in plans.frontier] == [cheapest]


def test_a_runner_up_is_found_behind_what_the_hinds_wear_and_what_the_best_plan_has() -> None:
    boots = [
        on_sale(boot, Offer(is_pair=False, price=price, stock=1), sizes=1)
        for boot, price in zip("abc", (1, 2, 3), strict=True)
    ]
    hooves = [hoof(Limb.LF, a=(0.9,), b=(0.9,), c=(0.9,)), hoof(Limb.LH, b=(0.9,))]
    plans = plan_horse(hooves, boots, goal=PLENTY)
    assert [one.boot for one in plans.best.worn] == ["a", "b"]
    assert plans.runner_up is not None
    assert [one.boot for one in plans.runner_up.worn] == ["c", "b"]
