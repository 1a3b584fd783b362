"""Planning: the numbers behind a plan: what each hoof could wear, what is on sale, and the plans that come of it."""

from dataclasses import dataclass, replace

from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import HoofReading, Limb
from hooflast.fit.pair_choices import BootOnSale, Worn, wearing
from hooflast.fit.plan_order import Goal
from hooflast.fit.wearable import HoofBoots, doubt, doubt_of_all, hoof_boots
from hooflast.fit.whole_horse import Plan, Plans, plan_horse
from hooflast.matching.choosing import Choice
from hooflast.matching.padding import asked_room
from hooflast.matching.plan_question import PlanQuestion
from hooflast.matching.question import MatchQuestion
from hooflast.matching.sale import Sale
from hooflast.matching.shelf import Shelf


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """The plans for one horse, and what they were made from."""

    hooves: tuple[HoofBoots, ...]
    sale: Sale
    goal: Goal
    plans: Plans

    def in_full_stock(self) -> Plan:
        """The best plan with everything on sale in stock."""
        return plan_horse(self.hooves, _in_full_stock(self.sale.boots), goal=self.goal).best

    def at_any_price(self) -> Plan:
        """The best plan without a budget."""
        return plan_horse(self.hooves, self.sale.boots, goal=replace(self.goal, budget=None)).best

    def unlimited(self) -> Plan:
        """The best plan with everything on sale in stock and no budget."""
        return plan_horse(self.hooves, _in_full_stock(self.sale.boots), goal=replace(self.goal, budget=None)).best

    def likeliest(self, limb: Limb) -> Worn | None:
        """The size on sale that is likeliest to fit one hoof, in stock or not, however unlikely."""
        hoof = next(hoof for hoof in self.hooves if hoof.limb is limb)
        anything = replace(self.goal, least_fit_chance=0.0)
        worn = [one for on_sale in self.sale.boots for one in wearing(hoof, on_sale, goal=anything)]
        return max(worn, key=lambda one: one.wearable.fit_chance, default=None)


def plan_hooves(question: PlanQuestion, shelf: Shelf, *, sale: Sale, choice: Choice) -> Planned:
    """Plan the hooves of one horse, each from the boot models that come into question for it."""
    ids = tuple(boot.id for boot in shelf.boots)
    hooves, doubts = [], []
    for reading in question.horse.hooves:
        estimate = _in_boot(reading, horse=question.horse)
        boots = choice.boots[reading.limb]
        hooves.append(hoof_boots(estimate, shelf.layout, limb=reading.limb, boots=boots, ids=ids))
        doubts.append(doubt(estimate))
    goal = Goal(
        least_fit_chance=question.least, band_width=doubt_of_all(doubts), aim=question.aim, budget=question.budget
    )
    return Planned(hooves=tuple(hooves), sale=sale, goal=goal, plans=plan_horse(hooves, sale.boots, goal=goal))


def _in_boot(reading: HoofReading, *, horse: MatchQuestion) -> Estimate:
    """The hoof as a boot sees it: larger by the room that the asked pad takes."""
    estimate = estimate_hoof(reading, animal_type=horse.animal_type)
    room = asked_room(horse, hoof_length_mm=float(estimate.mean[1]))
    return estimate if room is None else estimate.changed(by_mm=room.mean_mm, covariance=room.covariance)


def _in_full_stock(boots: tuple[BootOnSale, ...]) -> tuple[BootOnSale, ...]:
    return tuple(
        replace(
            one, offers={size: tuple(replace(way, stock=None) for way in ways) for size, ways in one.offers.items()}
        )
        for one in boots
    )
