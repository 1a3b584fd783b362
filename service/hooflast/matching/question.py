"""Question: one horse as it was measured, and what the boots are for."""

from dataclasses import dataclass

from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.hoof import AnimalType, HoofReading


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedNeed:
    """A need somebody qualified has named, with its course; one not told counts as acute."""

    need: Need
    course: Course = Course.ACUTE


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchQuestion:
    """One horse, one to four hooves, each limb once.

    `boots_per_hoof` bounds the ranked list. `pad_mm` is the thickness of a wished pad (0: none).
    `is_foal` stops the match: a foal's hoof grows otherwise.
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
