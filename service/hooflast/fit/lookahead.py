"""Lookahead: which size to try next, by exact look-ahead over what may be found, beside the two practised orders.

A trial ends with a size that stays put, or the boot model is left. Each try-on costs one, and ending without a fitting
size costs LEFT_COSTS:

    loss = E[try-ons] + LEFT_COSTS · (1 − P(ends with a fitting size)).

With V the least loss, over the sizes s not yet tried and for all findings f but that it stays put,

    V(m) = min( LEFT_COSTS·|m|,  min_s [ |m| + LEFT_COSTS·P_m(s stays put, not right) + Σ_f V(m · P(f | s, ·)) ] ),

on the chances m of the hoof's points. It is worked out for every course the trial may take, for the MOST_SIZES sizes
likeliest to fit and up to MOST_TRIES try-ons. A finding rules out what it tells against, though it may mislead: every
size at least as large as one that turns, every size at most as large as one that is too small. What has been found
counts, not in which order, so that each set of findings is worked out once.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.findings import LAST_LOOK, Finding, Standing
from hooflast.fit.normal import Floats
from hooflast.fit.trial import Trial

MOST_SIZES: Final = 5
MOST_TRIES: Final = 4
"""Sizes of one boot model that are tried on one hoof, at most [C]."""

LEFT_COSTS: Final = 20.0
"""Try-ons that it is worth to end with a fitting size: a lone size is tried from a chance of one in twenty on [C]."""

LEAST_CHANCE: Final = 0.005
"""A size less likely to be right is not looked ahead to."""

NEVER: Final = 1e-6
"""Courses of less chance than this are not followed further."""

_STAYS: Final = LAST_LOOK.index(Finding.STAYS_PUT)
_RIGHT: Final = list(Standing).index(Standing.RIGHT)


class Order(StrEnum):
    """The order in which sizes are tried: the shortest, or as fitters do, from one above and down, or at the best."""

    SHORTEST = "shortest"
    ONE_ABOVE = "one_above"
    BEST = "best"


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """What comes of going on: the size to try next (None: leave the boot model), the try-ons expected from now on, and
    the chance that it ends with a fitting size."""

    size: int | None
    try_ons: float
    ends_fitting: float


Found = tuple[tuple[int, int], ...]
"""Sizes tried, by their place in the boot model, each with the place of its finding in LAST_LOOK; in order."""

Practice = Callable[[Found], int | None]
"""An order: the place of the size to try next, given what was found; None to leave the boot model."""


def shortest(trial: Trial, *, tries_left: int = MOST_TRIES, left_costs: float = LEFT_COSTS) -> Outlook:
    """The order of least loss."""
    return _Ahead.of(trial, places=_worth_a_look(trial), left_costs=left_costs).least_loss(tries_left=tries_left)


def practised(trial: Trial, order: Order, *, best: int, tries_left: int = MOST_TRIES) -> Outlook:
    """What comes of a practised order [CP]: begin at `best`, or one above it; one size down from a size that turns,
    one up from a size that will not go on or not seat; leave the boot model where that size was tried, or is none."""
    first = trial.sizes.index(best) + (order is Order.ONE_ABOVE)
    practice = step_by_step(min(first, len(trial.sizes) - 1), count=len(trial.sizes))
    ahead = _Ahead.of(trial, places=range(len(trial.sizes)))
    return ahead.following(practice, begun=_found_so_far(trial), tries_left=tries_left)


def step_by_step(first: int, *, count: int) -> Practice:
    """The practised order among `count` sizes that begins at the place `first`."""

    def next_place(found: Found) -> int | None:
        if not found:
            return first
        place, finding = found[-1]
        step = {Finding.STAYS_PUT: None, Finding.TURNS: -1}.get(LAST_LOOK[finding], 1)
        if step is None or not 0 <= place + step < count or place + step in dict(found):
            return None
        return place + step

    return next_place


def _worth_a_look(trial: Trial) -> Sequence[int]:
    """The places of the sizes likeliest to be right that no finding rules out, the likeliest first."""
    right, ruled_out = trial.right_after, _ruled_out(_found_so_far(trial), larger=trial.larger)
    worth = [place for place in range(len(trial.sizes)) if right[place] >= LEAST_CHANCE and not ruled_out[place]]
    return sorted(worth, key=lambda place: -right[place])[:MOST_SIZES]


def _ruled_out(found: Found, *, larger: NDArray[np.bool_]) -> NDArray[np.bool_]:
    """Which of n sizes need not be tried after what was found: those tried, and those a finding tells against."""
    ruled_out = np.zeros(len(larger), dtype=bool)
    for place, finding in found:
        ruled_out[place] = True
        if LAST_LOOK[finding] is Finding.TURNS:
            ruled_out |= larger[place]
        elif LAST_LOOK[finding] is not Finding.STAYS_PUT:
            ruled_out |= larger[:, place]
    return ruled_out


def _found_so_far(trial: Trial) -> Found:
    """The last look at each size tried; one whose heel is still to be seated again counts as short."""
    last: dict[int, Finding] = {}
    for size, seen in trial.tried:
        last.pop(size, None)
        last[size] = Finding.HEEL_STILL_NOT_SEATED if seen.finding is Finding.HEEL_NOT_SEATED else seen.finding
    return tuple((trial.sizes.index(size), LAST_LOOK.index(finding)) for size, finding in last.items())


@dataclass(frozen=True, slots=True, kw_only=True)
class _Totals:
    """An outlook times the chance of coming to it, so that outlooks add up."""

    place: int | None = None
    try_ons: float = 0.0
    fitting: float = 0.0


_LEFT: Final = _Totals()


@dataclass(slots=True, kw_only=True)
class _Ahead:
    """Some sizes of a trial: what may be found of each at every point, and what comes of it.

    places: the C sizes, by their place in the boot model; larger (C, C): as in Trial
    mass (N,): the chance of each point as it is now
    looks (C, 4, N): P(finding | point)
    both (C * 5, N): the same, and after the four findings of each size that it stays put and is right
    """

    trial: Trial
    places: Sequence[int]
    mass: Floats
    looks: Floats
    both: Floats
    larger: NDArray[np.bool_]
    left_costs: float
    known: dict[Found, _Totals] = field(default_factory=dict)

    @classmethod
    def of(cls, trial: Trial, *, places: Sequence[int], left_costs: float = LEFT_COSTS) -> "_Ahead":
        standing = trial.standing[list(places)]
        looks = np.einsum("sf,csp->cfp", trial.sight.last_look, standing)
        fitting = trial.sight.last_look[_RIGHT, _STAYS] * standing[:, _RIGHT]
        mass = trial.after
        both = np.concatenate([looks, fitting[:, None]], axis=1).reshape(-1, len(mass))
        return cls(
            trial=trial,
            places=places,
            mass=mass / mass.sum(),
            looks=looks,
            both=both,
            larger=trial.larger[np.ix_(places, places)],
            left_costs=left_costs,
        )

    def least_loss(self, *, tries_left: int) -> Outlook:
        return self._outlook(self._least(self.mass, found=(), tries_left=tries_left))

    def following(self, practice: Practice, *, begun: Found, tries_left: int) -> Outlook:
        return self._outlook(self._follow(self.mass, practice=practice, found=begun, tries_left=tries_left))

    def _outlook(self, totals: _Totals) -> Outlook:
        size = None if totals.place is None else self.trial.sizes[self.places[totals.place]]
        return Outlook(size=size, try_ons=totals.try_ons, ends_fitting=totals.fitting)

    def _least(self, mass: Floats, *, found: Found, tries_left: int) -> _Totals:
        if found in self.known:
            return self.known[found]
        chance = float(mass.sum())
        least, loss = _LEFT, self.left_costs * chance
        if tries_left and chance >= NEVER:
            chances, ruled_out = self._chances(mass), _ruled_out(found, larger=self.larger)
            for place in np.flatnonzero(~ruled_out).tolist():
                at_least = chance + self.left_costs * (chance - self._most_fitting(chances, place))
                if at_least >= loss:
                    continue
                totals = self._try(mass, place, chances=chances[place], found=found, tries_left=tries_left)
                its_loss = totals.try_ons + self.left_costs * (chance - totals.fitting)
                if its_loss < loss:
                    least, loss = totals, its_loss
        self.known[found] = least
        return least

    def _follow(self, mass: Floats, *, practice: Practice, found: Found, tries_left: int) -> _Totals:
        place = practice(found)
        if place is None or not tries_left or float(mass.sum()) < NEVER:
            return _LEFT
        chances = self._chances(mass)[place]

        def after(mass: Floats, finding: int) -> _Totals:
            return self._follow(mass, practice=practice, found=(*found, (place, finding)), tries_left=tries_left - 1)

        return self._sum(mass, place, chances=chances, after=after)

    def _try(self, mass: Floats, place: int, *, chances: Floats, found: Found, tries_left: int) -> _Totals:
        def after(mass: Floats, finding: int) -> _Totals:
            known = tuple(sorted((*found, (place, finding))))
            return self._least(mass, found=known, tries_left=tries_left - 1)

        return self._sum(mass, place, chances=chances, after=after)

    def _sum(self, mass: Floats, place: int, *, chances: Floats, after: Callable[[Floats, int], _Totals]) -> _Totals:
        """One try-on of a size, and whatever comes after each finding but that it stays put."""
        totals = [
            after(mass * self.looks[place, finding], finding)
            for finding in range(len(LAST_LOOK))
            if finding != _STAYS and chances[finding] >= NEVER
        ]
        return _Totals(
            place=place,
            try_ons=float(mass.sum()) + sum(one.try_ons for one in totals),
            fitting=float(chances[-1]) + sum(one.fitting for one in totals),
        )

    def _chances(self, mass: Floats) -> Floats:
        """Of each size, the chance of each finding, and of staying put and being right: (C, 5)."""
        return (self.both @ mass).reshape(len(self.places), len(LAST_LOOK) + 1)

    def _most_fitting(self, chances: Floats, place: int) -> float:
        """What beginning with one size can end with a fitting size at most: it fits, or one of the others does."""
        others = float(chances[:, -1].sum() - chances[place, -1])
        return float(chances[place, -1]) + min(others, float(chances[place].sum() - chances[place, [_STAYS, -1]].sum()))
