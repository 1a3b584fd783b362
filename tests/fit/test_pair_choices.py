"""Choices of a pair of hooves, worked out by hand: what may be worn, what it comes to, and what may be left out."""

from collections.abc import Mapping, Sequence

import pytest

from hooflast.fit.buying import Offer
from hooflast.fit.hoof import Limb
from hooflast.fit.pair_choices import (
    BootOnSale,
    Choice,
    Counter,
    Worn,
    choices_of,
    counter,
    needed,
    together,
    wearing,
)
from hooflast.fit.plan_order import PARTS, Goal, Value
from hooflast.fit.wearable import HoofBoots, Wearable

GOAL = Goal(least_fit_chance=0.25, band_width=0.1)
SINGLE, PAIR = Offer(is_pair=False, price=60), Offer(is_pair=True, price=100)


def at(boot: str, *offers: Offer, sizes: int = 2, is_sided: bool = False, goal: Goal = GOAL) -> Counter:
    """Where a boot model is bought of which each size is offered in the same ways."""
    on_sale = BootOnSale(boot=boot, offers=dict.fromkeys(range(sizes), offers), is_sided=is_sided, wish_rank=2)
    return counter(on_sale, goal=goal)


def worn(limb: Limb, size: int, *, fit_chance: float = 0.5, boot: str = "a") -> Worn:
    wearable = Wearable(size=size, fit_chance=fit_chance, worth=0.25)
    return Worn(limb=limb, boot=boot, wearable=wearable, closeness=0.125)


def hoof(limb: Limb, **chances: Sequence[float]) -> HoofBoots:
    """A hoof with the fit chances of each boot model's sizes."""
    sizes = {
        boot: tuple(Wearable(size=size, fit_chance=chance, worth=chance) for size, chance in enumerate(each))
        for boot, each in chances.items()
    }
    return HoofBoots(limb=limb, sizes=sizes, closeness={boot: 0.5 + len(boot) / 10 for boot in chances})


def bought(choice: Choice | None) -> Mapping[int, tuple[int, ...]]:
    assert choice is not None
    return {size: purchase.counts for size, purchase in choice.purchases.items()}


def sizes_in(choices: Sequence[Choice]) -> list[tuple[str, tuple[int, ...]]]:
    return [(choice.boot, tuple(one.wearable.size for one in choice.worn)) for choice in choices]


class TestAChoice:
    def test_it_adds_up_what_its_hooves_are_worth_and_what_they_cost(self) -> None:
        """Two fores and a hind in size 1, the other hind in size 0: a pair and a single, and a single."""
        on = (
            worn(Limb.LF, 1, fit_chance=0.9),
            worn(Limb.RF, 1, fit_chance=0.8),
            worn(Limb.LH, 1, fit_chance=0.7),
            worn(Limb.RH, 0, fit_chance=0.6),
        )
        choice = at("a", SINGLE, PAIR).choice(on)
        assert choice is not None
        assert (choice.boot, choice.worn) == ("a", on)
        assert bought(choice) == {0: (1, 0), 1: (1, 1)}
        assert choice.value == Value(
            fores=2,
            hinds=2,
            fitting=3 * PARTS,
            wish=8,
            unpriced=0,
            price=220,
            spares=0,
            closeness=PARTS // 2,
            worth=PARTS,
        )

    def test_it_tells_boots_without_a_price_and_boots_that_no_hoof_wears(self) -> None:
        choice = at("a", Offer(is_pair=True)).choice((worn(Limb.LF, 0), worn(Limb.RF, 1)))
        assert choice is not None
        assert (choice.value.unpriced, choice.value.price, choice.value.spares) == (4, 0, 2)

    @pytest.mark.parametrize(("is_sided", "pairs"), [(False, 1), (True, 2)])
    @pytest.mark.parametrize("limbs", [(Limb.LF, Limb.LH), (Limb.RF, Limb.RH)])
    def test_lasts_of_one_side_are_not_worn_on_the_other(
        self, *, is_sided: bool, pairs: int, limbs: tuple[Limb, Limb]
    ) -> None:
        sold = at("a", PAIR, is_sided=is_sided)
        assert bought(sold.choice(tuple(worn(limb, 0) for limb in limbs))) == {0: (pairs,)}
        assert bought(sold.choice((worn(Limb.LF, 0), worn(Limb.RH, 0)))) == {0: (1,)}

    def test_there_is_none_where_one_size_of_it_has_run_out(self) -> None:
        on_sale = BootOnSale(boot="a", offers={0: (SINGLE,), 1: (Offer(is_pair=False, stock=0),)})
        sold = counter(on_sale, goal=GOAL)
        assert sold.choice((worn(Limb.LF, 0), worn(Limb.RF, 0))) is not None
        assert sold.choice((worn(Limb.LF, 0), worn(Limb.RF, 1))) is None

    @pytest.mark.parametrize(("budget", "is_sold"), [(None, True), (1000, False)])
    def test_within_a_budget_nothing_is_sold_without_a_price(self, *, budget: int | None, is_sold: bool) -> None:
        goal = Goal(least_fit_chance=0.25, band_width=0.1, budget=budget)
        on = (worn(Limb.LF, 0),)
        assert (at("a", Offer(is_pair=False), goal=goal).choice(on) is not None) == is_sold
        assert bought(at("a", SINGLE, PAIR, goal=goal).choice(on)) == {0: (1, 0)}

    def test_it_names_its_boot_model_for_the_hooves_it_serves(self) -> None:
        sold = at("a", SINGLE)
        fore, hind, both = (
            sold.choice(tuple(worn(limb, 0) for limb in limbs))
            for limbs in ((Limb.RF,), (Limb.LH,), (Limb.RF, Limb.LH))
        )
        assert fore is not None
        assert hind is not None
        assert both is not None
        assert (fore.boots, hind.boots, both.boots) == (("a", ""), ("", "a"), ("a", "a"))


class TestWhatMayBeWorn:
    def test_a_hoof_may_wear_the_sizes_on_sale_that_fit_enough(self) -> None:
        on_sale = BootOnSale(boot="a", offers={0: (SINGLE,), 1: (SINGLE,), 3: ()})
        found = wearing(hoof(Limb.RH, a=(0.24, 0.25, 0.9, 0.8)), on_sale, goal=GOAL)
        assert [(one.wearable.size, one.wearable.fit_chance) for one in found] == [(1, 0.25), (3, 0.8)]
        assert {(one.limb, one.boot, one.closeness) for one in found} == {(Limb.RH, "a", 0.6)}

    def test_a_hoof_wears_no_boot_model_that_it_was_not_asked_about(self) -> None:
        assert wearing(hoof(Limb.RH, b=(0.9,)), BootOnSale(boot="a", offers={0: (SINGLE,)}), goal=GOAL) == []

    def test_a_pair_may_wear_every_two_sizes_of_one_boot_model(self) -> None:
        pair = [hoof(Limb.LF, a=(0.9, 0.3), b=(0.5, 0.0)), hoof(Limb.RF, a=(0.3, 0.9), b=(0.5, 0.0))]
        found = choices_of(pair, {"b": at("b", SINGLE), "a": at("a", SINGLE)}, goal=GOAL)
        assert sizes_in(found) == [("a", (0, 0)), ("a", (0, 1)), ("a", (1, 0)), ("a", (1, 1)), ("b", (0, 0))]

    def test_what_cannot_be_bought_is_no_choice(self) -> None:
        pair = [hoof(Limb.LF, a=(0.9, 0.3)), hoof(Limb.RF, a=(0.3, 0.9))]
        found = choices_of(pair, {"a": at("a", Offer(is_pair=False, stock=1))}, goal=GOAL)
        assert sizes_in(found) == [("a", (0, 1)), ("a", (1, 0))]

    def test_no_hooves_have_no_choices(self) -> None:
        assert choices_of([], {"a": at("a", SINGLE)}, goal=GOAL) == []

    def test_fores_and_hinds_together_are_bought_from_one_stock(self) -> None:
        counters = {"a": at("a", Offer(is_pair=False, stock=1)), "b": at("b", SINGLE)}
        fores = choices_of([hoof(Limb.LF, a=(0.9, 0.9), b=(0.9,))], counters, goal=GOAL)
        hinds = choices_of([hoof(Limb.LH, a=(0.9, 0.9), b=(0.9,))], counters, goal=GOAL)
        found = together(fores, hinds, counters=counters)
        assert sizes_in(found) == [("a", (0, 1)), ("a", (1, 0)), ("b", (0, 0))]
        assert [one.limb for one in found[0].worn] == [Limb.LF, Limb.LH]
        assert together(fores, [], counters=counters) == []


class TestNeeded:
    def choice(self, boot: str, *, fitting: int = 5, price: int = 5) -> Choice:
        return Choice(
            boot=boot,
            value=Value(
                fores=2, hinds=0, fitting=fitting, wish=0, unpriced=0, price=price, spares=0, closeness=5, worth=5
            ),
        )

    def test_a_choice_beaten_in_its_own_boot_model_is_left_out(self) -> None:
        cheap, dear, sure = self.choice("a"), self.choice("a", price=6), self.choice("a", fitting=6, price=6)
        assert needed([dear, cheap, sure]) == [cheap, sure]

    def test_of_equals_the_first_is_kept(self) -> None:
        first, second = self.choice("a"), self.choice("a")
        (kept,) = needed([first, second])
        assert kept is first

    @pytest.mark.parametrize(("others", "is_kept"), [("bc", True), ("bcd", False), ("bcc", True)])
    def test_a_choice_beaten_in_three_other_boot_models_is_left_out(self, *, others: str, is_kept: bool) -> None:
        """One of them may be what the other hooves wear, another what the best plan has; one is left."""
        better = [self.choice(boot, price=place) for place, boot in enumerate(others)]
        beaten = self.choice("a")
        assert (beaten in needed([beaten, *better])) is is_kept

    def test_of_four_that_match_each_other_the_first_three_are_kept(self) -> None:
        alike = [self.choice(boot) for boot in "dcba"]
        assert [choice.boot for choice in needed(alike)] == ["d", "c", "b"]

    def test_a_choice_better_in_one_thing_is_kept_whatever_it_lacks(self) -> None:
        others = [self.choice(boot, fitting=6) for boot in "bcde"]
        cheap = self.choice("a", fitting=1, price=4)
        assert cheap in needed([*others, cheap])
        assert needed([]) == []
