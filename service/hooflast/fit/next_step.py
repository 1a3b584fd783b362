"""Next step: what to do after the try-ons so far: try, look again, move, keep, leave the boot model, measure again."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from hooflast.fit.findings import Finding
from hooflast.fit.lookahead import MOST_TRIES, Order, Outlook, practised, shortest
from hooflast.fit.trial import Trial, chance_misled

CONTRADICTED: Final = 0.4
"""Chance that the findings say nothing about this hoof from which it is measured again [C]."""

RIGHT_ENOUGH: Final = 0.5
"""A size that stays put is taken for right from this chance on, all findings weighed [C]."""


WORTH_ANOTHER_LOOK: Final = 0.3
"""A size that did not stay put is looked at again if, all findings weighed, it is right at least so often [C]."""


class Step(StrEnum):
    """What to do next."""

    TRY = "try"
    TRY_AGAIN = "try_again"
    SEAT_AGAIN = "seat_again"
    MOVE = "move"
    KEEP = "keep"
    CHANGE_BOOT = "change_boot"
    MEASURE_AGAIN = "measure_again"


@dataclass(frozen=True, slots=True, kw_only=True)
class NextStep:
    """The step, with the size it is about, if any; and what comes of the chosen order and of the shortest from here.

    Where a size is to be looked at again, the outlooks say what comes if it fails; where it is to be moved in or kept,
    that no try-on is left, and how likely it fits.
    """

    step: Step
    size: int | None
    chosen: Outlook
    shortest: Outlook
    misled: float


def next_step(trial: Trial, *, order: Order, best: int) -> NextStep:
    """What to do next on a trial; `best` is the size by the measurement, from which a practised order begins.

    Findings that contradict each other or the measurement come first: then the hoof is measured again. A heel seen
    unseated last is seated again. A size that stays put, and is right more likely than not with everything weighed, is
    moved in, and kept if it was. Otherwise the chosen order's next size is tried as long as the shortest order finds
    one worth trying at all, and where the chosen order has no further size, the shortest one's is. Where none is worth
    it, a size seen once that is still likely to be right is looked at again; else the boot model is left.
    """
    misled = chance_misled(trial.evidence, tried=trial.all_tried)
    right = trial.right_by_size
    fitting = _fitting(trial, right=right)
    to_seat = trial.tried[-1].size if trial.tried and trial.tried[-1].seen.finding is Finding.HEEL_NOT_SEATED else None
    if fitting is not None and to_seat is None and misled < CONTRADICTED:
        has_moved = any(seen.has_moved for seen in trial.seen_of(fitting))
        done = Outlook(size=None, try_ons=0.0, ends_fitting=right[fitting])
        step = Step.KEEP if has_moved else Step.MOVE
        return NextStep(step=step, size=fitting, chosen=done, shortest=done, misled=misled)
    tries_left = max(0, MOST_TRIES - len(trial.tried_sizes))
    least = shortest(trial, tries_left=tries_left)
    chosen = least if order is Order.SHORTEST else practised(trial, order, best=best, tries_left=tries_left)
    if misled >= CONTRADICTED:
        step, size = Step.MEASURE_AGAIN, None
    elif to_seat is not None:
        step, size = Step.SEAT_AGAIN, to_seat
    else:
        step, size = _try(trial, chosen=chosen, least=least)
    return NextStep(step=step, size=size, chosen=chosen, shortest=least, misled=misled)


def _fitting(trial: Trial, *, right: Mapping[int, float]) -> int | None:
    """The likeliest of the sizes that stay put and are right more likely than not."""
    staying = {one.size for one in trial.tried if one.seen.finding is Finding.STAYS_PUT}
    likely = [size for size in sorted(staying) if right[size] >= RIGHT_ENOUGH]
    return max(likely, key=lambda size: right[size], default=None)


def _try(trial: Trial, *, chosen: Outlook, least: Outlook) -> tuple[Step, int | None]:
    """Which size to try; one that was seen once only, where no other is worth it; or to leave the boot model."""
    if least.size is not None:
        return Step.TRY, least.size if chosen.size is None else chosen.size
    right = trial.right_by_size
    seen_once = [size for size in trial.tried_sizes if len(trial.seen_of(size)) == 1]
    likeliest = max(seen_once, key=lambda size: right[size], default=None)
    if likeliest is not None and right[likeliest] >= WORTH_ANOTHER_LOOK:
        return Step.TRY_AGAIN, likeliest
    return Step.CHANGE_BOOT, None
