"""Plan gaps: which hooves a plan leaves without a boot, and what stood in the way of another plan."""

from collections.abc import Iterator

from hooflast.fit.pair_choices import Worn
from hooflast.fit.remark import Fact, Remark
from hooflast.fit.whole_horse import Plan
from hooflast.matching.needs import is_painful
from hooflast.matching.plan_answer import Unserved
from hooflast.matching.plan_telling import Teller
from hooflast.matching.plan_trades import AS_LIKELY
from hooflast.matching.planning import Planned


def unserved(planned: Planned, *, teller: Teller) -> Iterator[Unserved]:
    """The hooves that the best plan leaves without a boot, each with the likeliest size on sale for it alone.

    For a painful foot no size is named that is not likely to fit.
    """
    painful = is_painful(teller.question.horse.needs)
    served = {one.limb for one in planned.plans.best.worn}
    for hoof in planned.hooves:
        if hoof.limb not in served:
            likeliest = planned.likeliest(hoof.limb)
            yield Unserved(
                limb=hoof.limb,
                because=_because(likeliest, planned=planned),
                next_best=None
                if likeliest is None or (painful and _unlikely(likeliest, planned))
                else teller.hoof(likeliest),
            )


def missed(planned: Planned, *, teller: Teller) -> Iterator[Remark]:
    """The sizes out of stock that the plan would have had, and what it would be without the budget."""
    best = planned.plans.best
    if any(way.stock is not None for one in planned.sale.boots for ways in one.offers.values() for way in ways):
        yield from _out_of_stock(planned.in_full_stock(), planned=planned, teller=teller)
    if planned.goal.budget is not None and best.worn:
        yield from _without_the_budget(planned.at_any_price(), best=best, currency=teller.question.currency)


def _without_the_budget(free: Plan, *, best: Plan, currency: str | None) -> Iterator[Remark]:
    """A surer plan for as many hooves that the budget does not allow."""
    gain = (free.expected_fitting - best.expected_fitting) / len(best.worn)
    if len(free.worn) != len(best.worn) or gain < AS_LIKELY:
        return
    if free.unpriced:
        yield Remark(code="surer-at-an-unknown-price", facts={"difference_chance": gain})
    else:
        price = f"{currency} {free.price}"
        yield Remark(code="surer-without-the-budget", facts={"difference_chance": gain, "price_money": price})


def _because(likeliest: Worn | None, *, planned: Planned) -> Remark:
    if likeliest is None:
        return Remark(code="nothing-on-sale")
    if _unlikely(likeliest, planned):
        return Remark(code="no-size-likely", facts={"least_chance": planned.goal.least_fit_chance})
    if _serves(planned.in_full_stock(), likeliest):
        return Remark(code="out-of-stock")
    if _serves(planned.at_any_price(), likeliest):
        return Remark(code="beyond-the-budget")
    if _serves(planned.unlimited(), likeliest):
        return Remark(code="beyond-stock-and-budget")
    return Remark(code="no-boot-for-both")


def _unlikely(worn: Worn, planned: Planned) -> bool:
    return worn.wearable.fit_chance < planned.goal.least_fit_chance


def _serves(plan: Plan, worn: Worn) -> bool:
    return any(one.limb is worn.limb for one in plan.worn)


def _out_of_stock(wished: Plan, *, planned: Planned, teller: Teller) -> Iterator[Remark]:
    """The sizes of a plan that stock does not allow."""
    on_sale = {one.boot: one for one in planned.sale.boots}
    short: dict[tuple[str, int], int] = {}
    for bought in wished.bought:
        stock = on_sale[bought.boot].offers[bought.size][bought.offer].stock
        if stock is not None and stock < bought.quantity:
            short[bought.boot, bought.size] = stock
    for (boot, size), stock in short.items():
        of = teller.size(boot, size)
        limbs = [one.limb.value for one in wished.worn if (one.boot, one.wearable.size) == (boot, size)]
        facts: dict[str, Fact] = {
            "boot": of.boot.name, "size": of.size.code, "limb_list": ",".join(limbs), "count": stock,
        }  # fmt: skip
        yield Remark(code="short-of", facts=facts)
