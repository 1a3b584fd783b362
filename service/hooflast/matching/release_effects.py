"""Release effects: on which hooves a catalog release gives another answer than an older one, with both answers.

Told of are the first boot model, and the best size of the boot model that was first before. Both answers are of one
day, so that only the catalog differs. Horses are taken one by one, and nothing is kept of those that were answered.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import date
from enum import StrEnum

import numpy as np
from numpy.typing import NDArray

from hooflast.catalog.values import BootModel, CatalogRelease, Maker, SizeCode
from hooflast.fit.estimate import Estimate, estimate_hoof
from hooflast.fit.hoof import Limb
from hooflast.fit.match import match_hoof
from hooflast.fit.remark import Caution
from hooflast.matching.answer import Versions
from hooflast.matching.cautions import horse_cautions
from hooflast.matching.choosing import wish_rank
from hooflast.matching.match_horse import choose_for
from hooflast.matching.padding import hoof_in_boot
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.versions import versions_of


class Effect(StrEnum):
    """What another catalog release changes for a hoof."""

    OTHER_BOOT = "other_boot"
    OTHER_SIZE = "other_size"
    NO_BOOT_NOW = "no_boot_now"
    A_BOOT_NOW = "a_boot_now"


@dataclass(frozen=True, slots=True, kw_only=True)
class BestSize:
    """A boot model in its best size for a hoof, with the chance that it fits."""

    boot: BootModel
    maker: Maker
    size: SizeCode
    fit_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofEffect:
    """One hoof with another answer: the first boot model `before` and `after`, None where none is offered.

    `same_boot_after` is the boot model that was first before, in its best size on the newer catalog release; None
    where that offers it no more.
    """

    limb: Limb
    effects: tuple[Effect, ...]
    before: BestSize | None
    after: BestSize | None
    same_boot_after: BestSize | None


@dataclass(frozen=True, slots=True, kw_only=True)
class HorseEffects:
    """One horse, the how-manieth it was (from 0), and its hooves with another answer, if there are any."""

    place: int
    question: MatchQuestion
    hooves: tuple[HoofEffect, ...]

    @property
    def cautions(self) -> tuple[Caution, ...]:
        """What to be careful about with this horse, whatever the catalog offers."""
        return horse_cautions(self.question)


@dataclass(frozen=True, slots=True, kw_only=True)
class EffectsAnswer:
    """The effects for some horses, the catalog release they were compared with, and what the later answers rest on."""

    since: CatalogRelease
    horses: tuple[HorseEffects, ...]
    versions: Versions


def answer_effects(
    horses: Iterable[MatchQuestion], *, old: Shelf, new: Shelf, today: date, language: str
) -> EffectsAnswer:
    """The effects for a few horses together."""
    return EffectsAnswer(
        since=old.release,
        horses=tuple(release_effects(horses, old=old, new=new, today=today)),
        versions=versions_of(new, language=language),
    )


def release_effects(horses: Iterable[MatchQuestion], *, old: Shelf, new: Shelf, today: date) -> Iterator[HorseEffects]:
    """Each horse in its turn, with those of its hooves that get another answer on `new` than on `old`."""
    old, new = old.on(today), new.on(today)
    for place, question in enumerate(horses):
        yield HorseEffects(
            place=place, question=question, hooves=tuple(_changed_hooves(question, old=old, new=new, today=today))
        )


def _changed_hooves(question: MatchQuestion, *, old: Shelf, new: Shelf, today: date) -> Iterator[HoofEffect]:
    in_old, in_new = (choose_for(question, shelf, today=today).boots for shelf in (old, new))
    for reading in question.hooves:
        estimate = hoof_in_boot(estimate_hoof(reading, animal_type=question.animal_type), question)
        before = _first(estimate, old, boots=in_old[reading.limb], question=question)
        after = _first(estimate, new, boots=in_new[reading.limb], question=question)
        same = after
        if before is not None and (after is None or after.boot.id != before.boot.id):
            its_place = [index for index in in_new[reading.limb] if new.boots[index].id == before.boot.id]
            same = _first(estimate, new, boots=np.array(its_place, dtype=np.intp), question=question)
        same_boot_after = None if before is None else same
        effects = tuple(_effects(before, after, same_boot_after=same_boot_after))
        if effects:
            yield HoofEffect(
                limb=reading.limb, effects=effects, before=before, after=after, same_boot_after=same_boot_after
            )


def _effects(before: BestSize | None, after: BestSize | None, *, same_boot_after: BestSize | None) -> Iterator[Effect]:
    if before is None:
        if after is not None:
            yield Effect.A_BOOT_NOW
        return
    if after is None:
        yield Effect.NO_BOOT_NOW
    elif after.boot.id != before.boot.id:
        yield Effect.OTHER_BOOT
    if same_boot_after is not None and same_boot_after.size != before.size:
        yield Effect.OTHER_SIZE


def _first(estimate: Estimate, shelf: Shelf, *, boots: NDArray[np.intp], question: MatchQuestion) -> BestSize | None:
    """The first of the given boot models, in its best size; None where hardly any size of any of them fits."""
    ranks = [wish_rank(boot, question) for boot in shelf.boots]
    match = match_hoof(estimate, shelf.layout, boots=boots, wish_rank=ranks, at_most=1)
    if not match.boots:
        return None
    first = match.boots[0]
    boot = shelf.boots[first.boot]
    return BestSize(
        boot=boot,
        maker=shelf.release.makers[boot.maker],
        size=shelf.sizes[first.best].code,
        fit_chance=float(match.fit_chances[first.best]),
    )
