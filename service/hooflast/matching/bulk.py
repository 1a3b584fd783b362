"""Bulk: the likeliest boots for very many hooves, each by its reading alone, from a catalog release.

It is for lists of sound, grown, freshly trimmed hooves: needs, pads and the trim cycle are asked about one horse at a
time. Boot models are listed by the fit chance of their best size, which is quicker than the ranking of a match and says
less: it does not tell a boot that follows the hoof from one that is merely wide.
"""

from collections import OrderedDict
from collections.abc import Hashable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import lru_cache
from itertools import islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from hooflast.catalog.values import BootModel, Size
from hooflast.fit.boot import IntendedUse
from hooflast.fit.bulk import BulkMatch, BulkMatcher
from hooflast.fit.estimate import Estimate, estimates_if_read
from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.fit.match import WORTH_SHOWING
from hooflast.fit.normal import Floats
from hooflast.matching.choosing import choose_boots
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf

AT_ONCE: Final = 50_000
"""Hooves worked on together."""

MOST_KINDS: Final = 8
"""Kinds of reading whose cells are remembered; one kind takes some tens of megabytes at most."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkHoof:
    """One hoof of a list: the row it stands in, what its list calls it, and its reading, one value on each axis."""

    row: int
    name: str
    animal_type: AnimalType
    reading: HoofReading


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkFit:
    """One boot model in its best size, and the chance that the hoof accepts that size."""

    boot: BootModel
    size: Size
    fit_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class BulkAnswer:
    """The likeliest boots for one hoof, the likeliest first; none where hardly any fits."""

    hoof: BulkHoof
    fits: tuple[BulkFit, ...]


def answer_in_bulk(
    hooves: Iterable[BulkHoof],
    shelf: Shelf,
    *,
    uses: frozenset[IntendedUse],
    at_most: int,
    today: date,
    at_once: int = AT_ONCE,
) -> Iterator[BulkAnswer]:
    """Answer hooves in their order, `at_once` of them at a time: at most `at_most` boots each, in sale today."""
    kinds = _Kinds(shelf.on(today), uses=uses, today=today)
    left = iter(hooves)
    while batch := list(islice(left, at_once)):
        answers: list[tuple[BulkFit, ...]] = [()] * len(batch)
        for rows in _by_kind(batch):
            for row, fits in zip(rows, kinds.fits([batch[row] for row in rows], at_most=at_most), strict=True):
                answers[row] = fits
        yield from (BulkAnswer(hoof=hoof, fits=fits) for hoof, fits in zip(batch, answers, strict=True))


def _by_kind(batch: Sequence[BulkHoof]) -> Iterable[list[int]]:
    rows: dict[Hashable, list[int]] = {}
    for row, hoof in enumerate(batch):
        rows.setdefault((hoof.animal_type, _at_origin(hoof.reading)), []).append(row)
    return rows.values()


@lru_cache(maxsize=65_536)
def _at_origin(reading: HoofReading) -> HoofReading:
    """The reading without what was read: hooves alike in the rest are of one kind."""
    width, length = (replace(axis, values_mm=(0.0,)) for axis in (reading.width, reading.length))
    return replace(reading, width=width, length=length)


class _Kinds:
    """The kinds of hoof met last, each with its matcher and the boot models in question for it."""

    def __init__(self, shelf: Shelf, *, uses: frozenset[IntendedUse], today: date) -> None:
        self._shelf = shelf
        self._uses = uses
        self._today = today
        self._known: OrderedDict[Hashable, tuple[BulkMatcher, NDArray[np.intp]]] = OrderedDict()

    def fits(self, alike: Sequence[BulkHoof], *, at_most: int) -> Iterator[tuple[BulkFit, ...]]:
        """The likeliest boots for hooves of one kind."""
        matcher, boots = self._kind(alike[0])
        found = matcher.match(np.array([[hoof.reading.width.mean_mm, hoof.reading.length.mean_mm] for hoof in alike]))
        return self._told(found, boots=boots, at_most=at_most)

    def _told(self, found: BulkMatch, *, boots: NDArray[np.intp], at_most: int) -> Iterator[tuple[BulkFit, ...]]:
        chances = found.fit_chance[:, boots]
        order = np.argsort(-chances, axis=1, kind="stable")[:, :at_most]
        likeliest = np.take_along_axis(chances, order, axis=1)
        sizes = np.take_along_axis(found.best[:, boots], order, axis=1)
        for row in zip(boots[order].tolist(), sizes.tolist(), likeliest.tolist(), strict=True):
            yield tuple(
                BulkFit(boot=self._shelf.boots[boot], size=self._shelf.sizes[size], fit_chance=chance)
                for boot, size, chance in zip(*row, strict=True)
                if chance >= WORTH_SHOWING
            )

    def _kind(self, hoof: BulkHoof) -> tuple[BulkMatcher, NDArray[np.intp]]:
        key = (hoof.animal_type, _at_origin(hoof.reading))
        if key not in self._known:
            if len(self._known) >= MOST_KINDS:
                self._known.popitem(last=False)
            self._known[key] = self._made(hoof)
        self._known.move_to_end(key)
        return self._known[key]

    def _made(self, hoof: BulkHoof) -> tuple[BulkMatcher, NDArray[np.intp]]:
        origin, animal_type = _at_origin(hoof.reading), hoof.animal_type

        def believed(read_mm: Floats) -> Estimate:
            return estimates_if_read(origin, animal_type=animal_type, changes_mm=read_mm)

        question = MatchQuestion(horse_name="", animal_type=animal_type, hooves=(hoof.reading,), uses=self._uses)
        choice = choose_boots(question, self._shelf, today=self._today)
        return BulkMatcher(self._shelf.table, believed=believed), choice.boots[hoof.reading.limb]
