"""Whole horse: what to buy for one horse, from a question and a shelf."""

from collections.abc import Iterator
from datetime import date

from hooflast.fit.comparing import PAIRS
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.whole_horse import Plan
from hooflast.matching.cautions import COMMON_PRACTICE, assumptions, hoof_cautions, horse_cautions
from hooflast.matching.choosing import STANDING_USES, choose_boots
from hooflast.matching.comparisons import comparison_cautions
from hooflast.matching.needs import advice, is_painful
from hooflast.matching.padding import wished_pad_assumptions, wished_pad_cautions
from hooflast.matching.plan_answer import PlanAnswer, RunnerUp
from hooflast.matching.plan_gaps import missed, unserved
from hooflast.matching.plan_question import PlanQuestion
from hooflast.matching.plan_telling import Teller
from hooflast.matching.plan_trades import frontier, trade
from hooflast.matching.planning import Planned, plan_hooves
from hooflast.matching.question import MatchQuestion
from hooflast.matching.sale import from_assortment, sale_for
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of


def plan_whole_horse(question: PlanQuestion, shelf: Shelf, *, today: date, language: str) -> PlanAnswer:
    """What to buy for one horse. A foal gets its cautions and no boots; on a painful foot no fit is traded for price.

    Raises InputRefused for offers that name no boot model, size or GTIN of the catalog release.
    """
    question = from_assortment(question, shelf)
    horse = question.horse
    shelf = shelf if question.offers else shelf.on(today)
    sale = sale_for(question, shelf)
    choice = choose_boots(horse, shelf, today=today)
    teller = Teller(question=question, shelf=shelf, sale=sale)
    planned = None if horse.is_foal else plan_hooves(question, shelf, sale=sale, choice=choice)
    best = planned.plans.best if planned and planned.plans.best.worn else None
    other = planned.plans.runner_up if planned and best else None
    return PlanAnswer(
        question=question,
        plan=teller.plan(best) if best else None,
        runner_up=None if other is None or best is None else _runner_up(other, best=best, teller=teller),
        frontier=frontier(planned.plans.frontier, teller=teller) if planned and not is_painful(horse.needs) else (),
        unserved=tuple(unserved(planned, teller=teller)) if planned else (),
        missed=tuple(missed(planned, teller=teller)) if planned else (),
        readings=tuple((reading, hoof_cautions(reading, animal_type=horse.animal_type)) for reading in horse.hooves),
        cautions=(
            *horse_cautions(horse),
            *wished_pad_cautions(horse),
            *comparison_cautions(horse),
            *_plan_cautions(horse, planned=planned),
        ),
        needs=tuple(advice(named) for named in horse.needs),
        assumptions=(*assumptions(horse), *wished_pad_assumptions(horse), *_plan_assumptions(question)),
        left_out=choice.left_out,
        versions=versions_of(shelf, language=language),
    )


def _runner_up(other: Plan, *, best: Plan, teller: Teller) -> RunnerUp:
    return RunnerUp(plan=teller.plan(other), trade=trade(other, best=best, currency=teller.question.currency))


def _plan_cautions(horse: MatchQuestion, *, planned: Planned | None) -> Iterator[Caution]:
    """What to be careful about with boots for some hooves and not for others, where the horse is to move in them."""
    if planned is None or horse.uses & STANDING_USES:
        return
    served = {one.limb for one in planned.plans.best.worn}
    if any(len(served & set(pair)) == 1 for pair in PAIRS):
        yield Caution(code="one-of-a-pair", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE)


def _plan_assumptions(question: PlanQuestion) -> Iterator[Remark]:
    """What was taken for granted about the boots on sale and about what is asked of the plan."""
    offers = question.offers
    if offers is None:
        yield Remark(code="whole-catalog-on-sale")
    elif any(offer.stock is None for offer in offers):
        yield Remark(code="stock-enough")
    if question.least_fit_chance is None:
        yield Remark(code="least-fit-chance", facts={"least_chance": question.least})
