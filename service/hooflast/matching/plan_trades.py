"""Plan trades: what another plan gains and costs, and the prices from which a surer fit can be had."""

from collections.abc import Iterator, Sequence
from typing import Final

from hooflast.fit.remark import Remark
from hooflast.fit.whole_horse import Plan
from hooflast.matching.plan_answer import FrontierStep
from hooflast.matching.plan_telling import Teller

AS_LIKELY: Final = 0.005
"""Fit chances that differ by less, as a mean over the hooves, are called alike: half a per cent is not shown [C]."""

MOST_STEPS: Final = 8
LEAST_STEP: Final = 0.01
"""How many steps of the frontier are shown, and what a step must gain at least, in hooves that fit [C]."""


def trade(other: Plan, *, best: Plan, currency: str | None) -> tuple[Remark, ...]:
    """What a plan gains and costs against the best one, which serves as many hooves: in fit, then in price."""
    return *_in_fit(other, best=best), *_in_price(other, best=best, currency=currency)


def frontier(plans: Sequence[Plan], *, teller: Teller) -> tuple[FrontierStep, ...]:
    """The steps from the cheapest plan to the surest; those too small to matter are left out."""
    if not plans or not plans[0].worn:
        return ()
    cheapest, surest = plans[0], plans[-1]
    least = max(LEAST_STEP, (surest.expected_fitting - cheapest.expected_fitting) / MOST_STEPS)
    kept = [cheapest]
    for plan in plans[1:]:
        if plan is surest or plan.expected_fitting >= kept[-1].expected_fitting + least:
            kept.append(plan)
    return tuple(
        FrontierStep(
            price=plan.price,
            expected_fitting=plan.expected_fitting,
            boots=tuple({one.boot: teller.size(one.boot, 0).boot for one in plan.worn}.values()),
        )
        for plan in kept
    )


def _in_fit(other: Plan, *, best: Plan) -> Iterator[Remark]:
    gain = (other.expected_fitting - best.expected_fitting) / len(best.worn)
    if abs(gain) < AS_LIKELY:
        yield Remark(code="fits-as-well")
    elif gain > 0.0:
        yield Remark(code="fits-more", facts={"difference_chance": gain})
    else:
        yield Remark(code="fits-less", facts={"difference_chance": -gain})


def _in_price(other: Plan, *, best: Plan, currency: str | None) -> Iterator[Remark]:
    more = other.price - best.price
    if currency is None or other.unpriced or best.unpriced:
        yield Remark(code="price-not-known")
    elif more == 0:
        yield Remark(code="costs-as-much")
    elif more < 0:
        yield Remark(code="costs-less", facts={"difference_money": f"{currency} {-more}"})
    else:
        yield Remark(code="costs-more", facts={"difference_money": f"{currency} {more}"})
