"""Choosing: which boot models come into question for a horse. Use, confinement and needs are filters, not scores."""

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.catalog.availability import is_discontinued, is_to_come
from hooflast.catalog.values import BootModel, LimbSet
from hooflast.fit.boot import IntendedUse
from hooflast.fit.hoof import Limb
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.needs import is_painful, may_be_ridden
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf

STANDING_USES: Final = frozenset({IntendedUse.SOAKING, IntendedUse.CONFINED})
"""Uses of a standing horse: a boot made for these alone is offered only when asked for."""

USES_AT_REST: Final = STANDING_USES | {IntendedUse.TRANSPORT}
"""Uses in which the horse is not ridden or driven."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Choice:
    """Per limb the boot models in question, as indices into the shelf; and how many were left out, by first reason."""

    boots: Mapping[Limb, NDArray[np.intp]]
    left_out: Mapping[LeftOutBecause, int]


def choose_boots(question: MatchQuestion, shelf: Shelf, *, today: date) -> Choice:
    """Filter a shelf for one horse. A boot model is left out if it serves none of the hooves asked about.

    On an acutely painful foot only boots for a standing horse come into question; none does for a use in which the
    horse moves, where a need forbids that.
    """
    limbs = [hoof.limb for hoof in question.hooves]
    left_out: Counter[LeftOutBecause] = Counter()
    if shelf.sold is not None and shelf.sold.boots_left_out:
        left_out[LeftOutBecause.ASSORTMENT] = shelf.sold.boots_left_out
    chosen: dict[Limb, list[int]] = {limb: [] for limb in limbs}
    for index, boot in enumerate(shelf.boots):
        served = [limb for limb in limbs if made_for(boot, limb=limb)]
        of_sale = _reasons_of_sale(boot, sizes_in_sale=boot.id not in shelf.none_in_sale, today=today)
        against = _reasons_against(boot, question, of_sale=of_sale)
        reason = next(against, None if served else LeftOutBecause.LIMB)
        if reason is not None:
            left_out[reason] += 1
            continue
        for limb in served:
            chosen[limb].append(index)
    return Choice(boots={limb: np.array(found, dtype=np.intp) for limb, found in chosen.items()}, left_out=left_out)


def made_for(boot: BootModel, *, limb: Limb) -> bool:
    """Whether the boot model's last is made for this limb."""
    return boot.limbs is LimbSet.ALL or (boot.limbs is LimbSet.FORE) == limb.is_fore


def wish_rank(boot: BootModel, question: MatchQuestion) -> int:
    """Wished closures come first inside a band, in the order they were named."""
    wishes = question.closures
    return wishes.index(boot.closure) if boot.closure in wishes else len(wishes)


def standing_only(boot: BootModel) -> bool:
    """Whether the boot model is made for soaking or confinement and, beside these, for transport at most."""
    return bool(boot.intended_uses & STANDING_USES) and boot.intended_uses <= USES_AT_REST


def _reasons_of_sale(boot: BootModel, *, sizes_in_sale: bool, today: date) -> Iterator[LeftOutBecause]:
    """Whether the boot model is in sale, in some size at least."""
    if is_discontinued(boot, day=today):
        yield LeftOutBecause.DISCONTINUED
    if is_to_come(boot, day=today):
        yield LeftOutBecause.NOT_YET_SOLD
    if not sizes_in_sale:
        to_come = any(is_to_come(size, day=today) for size in boot.sizes)
        yield LeftOutBecause.NOT_YET_SOLD if to_come else LeftOutBecause.DISCONTINUED


def _reasons_against(
    boot: BootModel, question: MatchQuestion, *, of_sale: Iterator[LeftOutBecause]
) -> Iterator[LeftOutBecause]:
    """The reasons against a boot model for this horse, the first that counts first."""
    painful, uses = is_painful(question.needs), question.uses
    asked_for_standing = bool(uses & USES_AT_REST) or bool(question.needs)
    if (painful and not boot.intended_uses & STANDING_USES) or (
        uses - STANDING_USES and not may_be_ridden(question.needs)
    ):
        yield LeftOutBecause.PAIN
    yield from of_sale
    if question.animal_type not in boot.animal_types:
        yield LeftOutBecause.ANIMAL_TYPE
    if not uses <= boot.intended_uses or (standing_only(boot) and not asked_for_standing):
        yield LeftOutBecause.USE
    if not {named.need for named in question.needs} <= boot.suits_needs:
        yield LeftOutBecause.NEED
    if question.pad_mm > boot.max_pad_mm:
        yield LeftOutBecause.PAD
