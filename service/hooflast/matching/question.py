"""Question: one horse as it was measured, and what the boots are for."""

from dataclasses import dataclass
from enum import StrEnum

from hooflast.fit.boot import Closure, Course, IntendedUse, Need
from hooflast.fit.girth import Build
from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.fit.pad import PadKind, Softness
from hooflast.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class NamedNeed:
    """A need somebody qualified has named, with its course; one not told counts as acute."""

    need: Need
    course: Course = Course.ACUTE


class TryFrom(StrEnum):
    """Where to begin trying sizes: one above the best and down, or at the best. Fitters do either."""

    ONE_ABOVE = "one_above"
    BEST = "best"


class SizesOf(StrEnum):
    """Which sizes of an assortment come into question."""

    LISTED = "listed"
    IN_STOCK = "in_stock"


@dataclass(frozen=True, slots=True, kw_only=True)
class AskedAssortment:
    """The assortment to answer from, by its id; once it is answered, at which revision.

    With `prefer_stock`, of boot models that fit alike those come first whose best size is in stock.
    """

    id: str
    sizes: SizesOf = SizesOf.LISTED
    prefer_stock: bool = False
    revision: int | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchQuestion:
    """One horse, one to four hooves, each limb once.

    `boots_per_hoof` bounds the ranked list. `pad_mm` is the thickness of a wished pad (0: none; a wedge's is that at
    the heels), `pad_kind` and `pad_softness` say what pad it is.
    `is_foal` stops the match: a foal's hoof grows otherwise. `unit` is the one the asker measures in; sentences use
    it. `catalog_release` pins the catalog release to answer from (None: the active one). `girth_mm` is the chest
    girth, if it was measured, and `build` what the girth is judged by. `cycle_weeks` are the weeks between two trims,
    if they were told. `assortment` is what to answer from, where that is not the whole catalog release.
    """

    horse_name: str
    animal_type: AnimalType
    hooves: tuple[HoofReading, ...]
    is_foal: bool = False
    uses: frozenset[IntendedUse] = frozenset()
    needs: tuple[NamedNeed, ...] = ()
    closures: tuple[Closure, ...] = ()
    pad_mm: float = 0.0
    pad_kind: PadKind = PadKind.FULL
    pad_softness: Softness = Softness.UNKNOWN
    boots_per_hoof: int = 5
    try_from: TryFrom = TryFrom.ONE_ABOVE
    girth_mm: float | None = None
    build: Build | None = None
    unit: Unit = Unit.MM
    cycle_weeks: float | None = None
    catalog_release: str | None = None
    assortment: AskedAssortment | None = None
