"""Plan search: the best of all plans, and those that none beats in fit and price.

Plans are looked through a block at a time: one choice for the fores beside every choice for the hinds, or nothing
beside every choice for all. So a large catalog takes time, but no memory.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from hooflast.fit.pair_choices import NOTHING, Choice
from hooflast.fit.plan_order import Goal, Integers, Value, bands, column, first, frontier, keys

Rows = NDArray[np.intp]


@dataclass(frozen=True, slots=True, kw_only=True)
class Found:
    """One plan: the choices it is made of, what it is judged by, what it is ordered by (K,), and its band."""

    choices: tuple[Choice, Choice]
    value: Value
    key: tuple[int, ...]
    band: int

    @property
    def boots(self) -> tuple[str, str]:
        """The boot models of the fores and of the hinds; empty where there is none."""
        fores, hinds = ([choice.boots[pair] for choice in self.choices] for pair in (0, 1))
        return max(fores), max(hinds)


@dataclass(frozen=True, slots=True, kw_only=True)
class Beside:
    """N choices as arrays, to be looked at beside another one: values (N, 9), boot models of fores and hinds (N,)."""

    choices: Sequence[Choice]
    values: Integers
    fores: NDArray[np.str_]
    hinds: NDArray[np.str_]


def beside(choices: Sequence[Choice]) -> Beside:
    """Choices as arrays."""
    return Beside(
        choices=choices,
        values=np.array([choice.value for choice in choices], dtype=np.int64).reshape(-1, len(Value._fields)),
        fores=np.array([choice.boots[0] for choice in choices], dtype=np.str_),
        hinds=np.array([choice.boots[1] for choice in choices], dtype=np.str_),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Search:
    """Every plan there is: each of `fores`, or nothing, beside each of `hinds`; and `alike`, one boot model for all.

    `hinds` holds nothing as a choice, too. Fores and hinds of a plan of two choices wear boot models of their own.
    """

    fores: Sequence[Choice]
    hinds: Beside
    alike: Beside
    goal: Goal
    ideal: int

    def best(self) -> Found:
        """The best plan of all."""
        return min(self._best_of_blocks(None), key=lambda found: found.key)

    def runner_up(self, best: Found) -> Found | None:
        """The best plan that serves the hooves `best` serves with another boot model for fores or hinds."""
        return min(self._best_of_blocks(best), key=lambda found: found.key, default=None)

    def frontier(self, best: Found) -> list[Found]:
        """Of the plans that serve the hooves `best` serves at known prices, those that none beats in fit and price."""
        kept = []
        for shared, others, rows, values in self._blocks():
            priced = np.flatnonzero(_serves_alike(values, best) & (column(values, "unpriced") == 0))
            keyed = keys(values[priced], goal=self.goal, ideal=self.ideal)
            steps = frontier(values[priced], keyed)
            kept += [self._found(shared, others.choices[int(rows[priced[step]])]) for step in steps]
        values = np.array([found.value for found in kept], dtype=np.int64).reshape(-1, len(Value._fields))
        return [kept[step] for step in frontier(values, keys(values, goal=self.goal, ideal=self.ideal))]

    def _best_of_blocks(self, best: Found | None) -> Iterator[Found]:
        """The best plan of each block; beside `best`, of those that are to be told as its runner-up."""
        for shared, others, rows, values in self._blocks():
            looked_at = np.arange(len(rows))
            if best is not None:
                fores, hinds = best.boots
                other_fores = (shared.boots[0] or others.fores[rows]) != fores
                differs = other_fores | (others.hinds[rows] != hinds)
                looked_at = np.flatnonzero(_serves_alike(values, best) & differs)
            if len(looked_at):
                keyed = keys(values[looked_at], goal=self.goal, ideal=self.ideal)
                yield self._found(shared, others.choices[int(rows[looked_at[first(keyed)]])])

    def _blocks(self) -> Iterator[tuple[Choice, Beside, Rows, Integers]]:
        """A choice, those looked at beside it, which of them may be, and what each such plan is judged by."""
        for shared, others in [(NOTHING, self.alike), *((fore, self.hinds) for fore in (NOTHING, *self.fores))]:
            values = others.values + np.array(shared.value, dtype=np.int64)
            may_be = np.full(len(values), fill_value=True) if shared is NOTHING else others.hinds != shared.boot
            if self.goal.budget is not None:
                may_be &= column(values, "price") <= self.goal.budget
            rows = np.flatnonzero(may_be)
            yield shared, others, rows, values[rows]

    def _found(self, shared: Choice, other: Choice) -> Found:
        values = np.array([shared.value, other.value], dtype=np.int64).sum(axis=0, keepdims=True)
        (key,), (band,) = (of(values, goal=self.goal, ideal=self.ideal).tolist() for of in (keys, bands))
        return Found(choices=(shared, other), value=Value(*values[0].tolist()), key=tuple(key), band=band)


def _serves_alike(values: Integers, best: Found) -> NDArray[np.bool_]:
    """Which plans serve the same hooves."""
    alike: NDArray[np.bool_] = (column(values, "fores") == best.value.fores) & (
        column(values, "hinds") == best.value.hinds
    )
    return alike
