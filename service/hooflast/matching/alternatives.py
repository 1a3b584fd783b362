"""Alternatives: boot models outside the ranked list that serve a wide or narrow foot, with what is gained and lost.

Only a named use may be given up for the sake of fit, never a limit of safety: kind of animal, limb, needs, pad and
confinement hold here as they do in the ranked list.
"""

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Final

import numpy as np

from hooflast.catalog.values import SoldAs
from hooflast.fit.boot import Closure, ShapeClass
from hooflast.fit.estimate import Estimate
from hooflast.fit.hoof import Limb
from hooflast.fit.match import offer_boots
from hooflast.fit.ranking import Closeness
from hooflast.fit.remark import Remark
from hooflast.fit.shape import Shape
from hooflast.matching.answer import Alternative, BootFit
from hooflast.matching.boot_fits import boot_fit
from hooflast.matching.choosing import STANDING_USES, choose_boots
from hooflast.matching.needs import is_painful
from hooflast.matching.question import MatchQuestion
from hooflast.matching.reasons import DOUBTFUL
from hooflast.matching.shelf import Shelf

MOST: Final = 2
"""Alternatives shown per hoof, at most."""

WORTH_CONSIDERING: Final = 0.25
"""Fit chance of its best size from which an alternative is worth telling [C]."""

TIGHTENING: Final = frozenset({Closure.STRAP, Closure.LACE, Closure.CABLE, Closure.BUCKLE, Closure.RATCHET})
"""Closures whose opening tightens on a short, wide foot [CP]."""


def alternatives(
    question: MatchQuestion,
    shelf: Shelf,
    *,
    limb: Limb,
    estimate: Estimate,
    compared: Closeness,
    shape: Shape,
    offered: tuple[BootFit, ...],
    today: date,
) -> tuple[Alternative, ...]:
    """Boot models for a hoof that is likely narrow or wide, or that no offered size is likely to fit.

    `compared` is how all boot models of the shelf compare on the hoof.
    """
    serving = _serving(shape)
    first = offered[0] if offered else None
    if question.is_foal or is_painful(question.needs) or question.uses & STANDING_USES:
        return ()
    if serving is None and first is not None and first.best.fit_chance >= DOUBTFUL:
        return ()
    shown = {fit.boot.id for fit in offered}
    any_use = replace(question, uses=frozenset())
    in_question = choose_boots(any_use, shelf, today=today).boots[limb]
    pool = [
        index
        for index in in_question
        if shelf.boots[index].id not in shown and (serving is None or shelf.boots[index].shape in serving)
    ]
    boots = np.array(pool, dtype=np.intp)
    match = offer_boots(
        estimate,
        shelf.table,
        boots=boots,
        closeness=compared.among(boots),
        wish_rank=[0] * len(shelf.boots),
        at_most=2 * MOST,
    )
    found = [
        boot_fit(one, match, place=place, question=question, shelf=shelf)
        for place, one in enumerate(match.boots, start=1)
    ]
    worthy = [fit for fit in found if fit.best.fit_chance >= WORTH_CONSIDERING]
    told = [
        Alternative(
            fit=fit,
            gains=tuple(_gains(fit, first=first, shape=shape)),
            losses=tuple(_losses(fit, first=first, question=question)),
        )
        for fit in worthy
    ]
    return tuple([one for one in told if one.gains][:MOST])


def _serving(shape: Shape) -> frozenset[ShapeClass] | None:
    """The shapes of boot that serve a likely narrow or wide hoof; None for a round one, or where it is open."""
    likeliest = shape.likeliest
    if shape.chances[likeliest] < 0.5 or likeliest is ShapeClass.ROUND:
        return None
    return frozenset({likeliest})


def _gains(fit: BootFit, *, first: BootFit | None, shape: Shape) -> Iterator[Remark]:
    if first is None or fit.best.fit_chance > first.best.fit_chance:
        yield Remark(code="fits-more-surely", facts={"fit_chance": fit.best.fit_chance})
    if fit.boot.shape is shape.likeliest and (first is None or first.boot.shape is not shape.likeliest):
        yield Remark(code="shape-of-this-hoof", facts={"shape": fit.boot.shape.value})
    if fit.boot.shape is ShapeClass.WIDE and fit.boot.closure in TIGHTENING:
        yield Remark(code="opening-tightens", facts={"closure": fit.boot.closure.value})
    if fit.steps_apart == 0 and first is not None and first.steps_apart not in (0, None):
        yield Remark(code="one-size-for-both")


def _losses(fit: BootFit, *, first: BootFit | None, question: MatchQuestion) -> Iterator[Remark]:
    missing = question.uses - fit.boot.intended_uses
    if missing:
        yield Remark(code="not-made-for", facts={"use_list": ",".join(sorted(missing))})
    if question.closures and fit.boot.closure not in question.closures:
        yield Remark(code="closes-otherwise", facts={"closure": fit.boot.closure.value})
    if first is not None and fit.best.fit_chance < first.best.fit_chance:
        yield Remark(code="fits-less-surely", facts={"fit_chance": fit.best.fit_chance})
    if fit.boot.sold_as is SoldAs.PAIR and (first is None or first.boot.sold_as is SoldAs.SINGLE):
        yield Remark(code="only-in-pairs")
