"""Trial sets: the fewest or cheapest sizes that serve a share of a herd, from a shelf."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np

from hooflast.errors import Fault, InputRefused
from hooflast.fit.covering import EQUAL, Effort
from hooflast.fit.demand import Bools, Demand, demand
from hooflast.fit.herd import Herd
from hooflast.fit.normal import Floats
from hooflast.fit.remark import Caution, Fact, Remark, Severity
from hooflast.fit.serving import serving_chances
from hooflast.fit.trial_set import Given, TrialSet, share_curve, trial_set
from hooflast.matching.cautions import CONVENTION
from hooflast.matching.herds import (
    Stock,
    herd_assumptions,
    herd_cautions,
    measured_or_drawn,
    stock_in_question,
)
from hooflast.matching.shelf import Shelf
from hooflast.matching.trial_set_answer import (
    CarriedSize,
    CurvePoint,
    NamedSize,
    ServedBy,
    TrialSetAnswer,
    TrialSetQuestion,
)
from hooflast.matching.versions import versions_of

EASY_WANTS: Final = 2_000
"""Wants up to which every point of the curve goes to the solver [C]."""

HARD_WANTS: Final = 3_000
"""Wants from which the set is chosen greedily, without the solver [C]."""

POINTS_SOLVED: Final = 4
"""Points of the curve that go to the solver in between [C]."""

EFFORT: Final = Effort(nodes=200, seconds=1.0)
"""What the solver may spend on each set; the time is a last resort that ordinary questions do not meet [C]."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Work:
    """A question laid out: its herd, the sizes in question, and how likely each of these fits each hoof."""

    question: TrialSetQuestion
    shelf: Shelf
    herd: Herd
    stock: Stock
    chances: Floats
    given: Given


def choose_trial_set(question: TrialSetQuestion, shelf: Shelf, *, today: date, language: str) -> TrialSetAnswer:
    """Choose the set. Raises InputRefused with every maker, boot model and size that is not in question."""
    work = _laid_out(question, shelf, today=today)
    asked = _demand(work)
    wants = len(asked.wants)
    effort = None if wants > HARD_WANTS else EFFORT
    solved = question.most if wants <= EASY_WANTS else POINTS_SOLVED
    found = trial_set(asked, share=question.share, given=work.given, effort=effort)
    curve = share_curve(asked, most=question.most, given=work.given, effort=effort, most_solved=solved)
    serving = work.given.at_hand.copy()
    serving[list(found.sizes)] = True
    return TrialSetAnswer(
        question=question,
        horses=len(work.herd.horse_weights),
        hooves=len(work.herd.hooves),
        sizes_in_question=len(work.stock.sizes),
        carried=tuple(_carried(found.sizes, serving, work=work)),
        share=found.share,
        mean_chance=_mean_chance(serving, work=work),
        cost=found.cost,
        least_cost=found.least_cost,
        is_exact=found.is_exact,
        attainable=found.attainable,
        curve=tuple(
            CurvePoint(
                count=count,
                share=point.share,
                bound=point.bound,
                is_exact=point.is_exact,
                sizes=tuple(_named(size, stock=work.stock) for size in point.sizes),
            )
            for count, point in enumerate(curve, start=int(work.given.counted.sum()))
        ),
        cautions=(*herd_cautions(question.herd), *_set_cautions(found)),
        assumptions=(*herd_assumptions(question.herd), _served_when(question)),
        versions=versions_of(shelf, language=language),
    )


def _laid_out(question: TrialSetQuestion, shelf: Shelf, *, today: date) -> _Work:
    stock = stock_in_question(question.herd, shelf, today=today)
    places = {_named(size, stock=stock): size for size in range(len(stock.sizes))}
    _refuse_unknown(question, places)
    herd = measured_or_drawn(question.herd)
    costs = np.array([question.costs.get(named, question.other_cost) for named in places], dtype=float)
    at_hand, must = (
        _mask([places[named] for named in names], of=len(places)) for names in (question.at_hand, question.must)
    )
    return _Work(
        question=question,
        shelf=shelf,
        herd=herd,
        stock=stock,
        chances=serving_chances([hoof.estimate for hoof in herd.hooves], stock.table) * _suited(herd, stock)
        if herd.hooves
        else np.zeros((0, len(places))),
        given=Given(at_hand=at_hand, must=must, costs=costs),
    )


def _refuse_unknown(question: TrialSetQuestion, places: dict[NamedSize, int]) -> None:
    """Refuse sizes that are not in question, with all of them at once."""
    named = {"must": question.must, "at_hand": question.at_hand, "costs": tuple(question.costs)}
    faults = [
        Fault(path=(field, place), code="size-not-in-question", received=" ".join(one))
        for field, sizes in named.items()
        for place, one in enumerate(sizes)
        if one not in places
    ]
    if faults:
        raise InputRefused(faults=tuple(faults))


def _suited(herd: Herd, stock: Stock) -> Bools:
    """Whether each size is made for such an animal and limb, shape (H, N)."""
    kinds = {
        (hoof.animal_type, hoof.limb): stock.suits(hoof.animal_type, limb=hoof.limb)[stock.table.boot_of]
        for hoof in herd.hooves
    }
    return np.stack([kinds[hoof.animal_type, hoof.limb] for hoof in herd.hooves])


def _demand(work: _Work) -> Demand:
    question = work.question
    return demand(
        work.chances,
        horse_of=np.array([hoof.horse for hoof in work.herd.hooves], dtype=np.intp),
        horse_weights=work.herd.horse_weights,
        threshold=question.threshold if question.served_by is ServedBy.THRESHOLD else None,
        counting=question.counting,
    )


def _carried(sizes: Sequence[int], serving: Bools, *, work: _Work) -> Iterator[CarriedSize]:
    """The sizes of the set, each with the share of hooves whose best size it is."""
    among = np.where(serving, work.chances, -1.0)
    best = among.argmax(axis=1) if len(sizes) else np.zeros(len(work.chances), dtype=np.intp)
    weights = work.herd.hoof_weights
    question = work.question
    least = question.threshold if question.served_by is ServedBy.THRESHOLD else np.finfo(float).tiny
    for size in sizes:
        named = _named(size, stock=work.stock)
        boot = work.stock.boot_of(size)
        served = (best == size) & (work.chances[:, size] >= least)
        yield CarriedSize(
            boot=boot,
            maker=work.shelf.release.makers[boot.maker],
            size=work.stock.sizes[size],
            cost=float(work.given.costs[size]),
            is_asked_for=named in question.must,
            best_for=float(weights[served].sum()),
        )


def _mean_chance(serving: Bools, *, work: _Work) -> float:
    if not serving.any() or not len(work.chances):
        return 0.0
    return float(work.herd.hoof_weights @ work.chances[:, serving].max(axis=1))


def _named(size: int, *, stock: Stock) -> NamedSize:
    return stock.boot_of(size).id, stock.sizes[size].code


def _mask(sizes: Sequence[int], *, of: int) -> Bools:
    mask = np.zeros(of, dtype=np.bool_)
    mask[list(sizes)] = True
    return mask


def _set_cautions(found: TrialSet) -> Iterator[Caution]:
    facts: dict[str, Fact]
    if found.attainable < found.wished - EQUAL:
        facts = {"wished_chance": found.wished, "attainable_chance": found.attainable}
        yield Caution(code="share-out-of-reach", severity=Severity.LOOK_AGAIN, source=CONVENTION, facts=facts)
    if not found.is_exact:
        facts = {"cost": found.cost, "least": found.least_cost}
        yield Caution(code="set-may-not-be-cheapest", severity=Severity.NOTE, source=CONVENTION, facts=facts)


def _served_when(question: TrialSetQuestion) -> Remark:
    if question.served_by is ServedBy.CHANCE:
        return Remark(code="served-by-chance")
    return Remark(code="served-from", facts={"threshold_chance": question.threshold})
