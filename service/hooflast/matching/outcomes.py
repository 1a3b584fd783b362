"""Outcomes: boots that were sold, each with the hoof it was for, the size that was taken and what became of it."""

from dataclasses import dataclass

from hooflast.fit.hoof import AnimalType, HoofReading, Limb
from hooflast.fit.outcome import Outcome, ReadingGroup


@dataclass(frozen=True, slots=True, kw_only=True)
class ReceiptedHoof:
    """A hoof as a match receipt states it: means, standard uncertainties and correlation of width and length, mm."""

    limb: Limb
    means_mm: tuple[float, float]
    deviations_mm: tuple[float, float]
    correlation: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SoldBoot:
    """One boot for one hoof, in the size that was taken, also against advice, and what became of it.

    Boots of one `order` stand and fall together (None: an order of its own).
    """

    animal_type: AnimalType
    hoof: HoofReading | ReceiptedHoof
    group: ReadingGroup
    boot: str
    size: str
    outcome: Outcome
    order: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class OutcomesQuestion:
    """Outcomes to learn from, and the catalog release whose sizes were sold (None: the active one)."""

    sold: tuple[SoldBoot, ...]
    catalog_release: str | None = None
