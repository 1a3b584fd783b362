"""Question: one horse as it was measured, and what the boots are for."""

from dataclasses import dataclass

from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedNeed:
    """A need somebody qualified has named, with its course; one not told counts as acute."""

    need: Need
    course: Course = Course.ACUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchQuestion:
    """One horse, one to four hooves, each limb once.

    `boots_per_hoof` bounds the ranked list. `pad_mm` is the thickness of a wished pad (0: none).
    `is_foal` stops the match: a foal's hoof grows otherwise. `unit` is the one the asker measures in; sentences use
    it. `catalog_release` pins the catalog release to answer from (None: the active one).
    """

    horse_name: str
    animal_type: AnimalType
    hooves: tuple[HoofReading, ...]
    is_foal: bool = False
    uses: frozenset[IntendedUse] = frozenset()
    needs: tuple[NamedNeed, ...] = ()
    closures: tuple[Closure, ...] = ()
    pad_mm: float = 0.0
    boots_per_hoof: int = 5
    unit: Unit = Unit.MM
    catalog_release: str | None = None
