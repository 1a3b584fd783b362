"""Herd question: whose hooves are to be served and from which sizes, as every question about a herd begins."""

from dataclasses import dataclass

from hooflast.catalog.values import BootId, LimbSet, MakerId
from hooflast.fit.boot import Closure, IntendedUse
from hooflast.fit.herd import Kind
from hooflast.fit.hoof import AnimalType, HoofReading
from hooflast.matching.question import NamedNeed
from hooflast.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdHorse:
    """One measured horse of a herd."""

    animal_type: AnimalType
    hooves: tuple[HoofReading, ...]
    is_foal: bool = False
    needs: tuple[NamedNeed, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class StockFilter:
    """Which sizes come into question; an empty set leaves all in. A boot model must serve every use named."""

    makers: frozenset[MakerId] = frozenset()
    boots: frozenset[BootId] = frozenset()
    uses: frozenset[IntendedUse] = frozenset()
    closures: frozenset[Closure] = frozenset()


@dataclass(frozen=True, slots=True, kw_only=True)
class HerdQuestion:
    """Horses that were measured, or kinds that stand for them: one of the two is empty.

    `limbs` says which hooves count. `unit` is the one the asker measures in; `catalog_release` pins one.
    """

    horses: tuple[HerdHorse, ...] = ()
    kinds: tuple[Kind, ...] = ()
    limbs: LimbSet = LimbSet.ALL
    stock: StockFilter = StockFilter()
    unit: Unit = Unit.MM
    catalog_release: str | None = None
