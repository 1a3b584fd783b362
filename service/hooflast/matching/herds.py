"""Herds: the hooves of a question about a herd as `fit` knows them, the sizes in question, and what to say of both.

A set of sizes is tried on, one after the other: foals and horses with an acutely painful foot are left out of it, and
the answer says so with a stop.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

import numpy as np

from hooflast.catalog.availability import is_in_sale
from hooflast.catalog.values import BootModel, LimbSet, Size
from hooflast.errors import Fault, InputRefused
from hooflast.fit.demand import Bools
from hooflast.fit.estimate import estimate_hoof
from hooflast.fit.herd import Herd, HerdHoof, drawn_herd, kind_herd
from hooflast.fit.hoof import AnimalType, Limb, Method
from hooflast.fit.remark import Caution, Remark, Severity
from hooflast.fit.sizes import SizeTable, size_table
from hooflast.matching.cautions import COMMON_PRACTICE, CONVENTION
from hooflast.matching.choosing import USES_AT_REST, made_for, standing_only
from hooflast.matching.herd_question import HerdHorse, HerdQuestion
from hooflast.matching.needs import is_painful
from hooflast.matching.shelf import Shelf, boot_chart


@dataclass(frozen=True, slots=True, kw_only=True)
class Stock:
    """Sizes in question: of which boot models, in the shelf's order, all their sizes, and both as a table."""

    boots: tuple[BootModel, ...]
    sizes: tuple[Size, ...]
    table: SizeTable

    def boot_of(self, size: int) -> BootModel:
        """The boot model that a size of the table belongs to."""
        return self.boots[int(self.table.boot_of[size])]

    def suits(self, animal_type: AnimalType, *, limb: Limb) -> Bools:
        """Which boot models are made for such hooves, shape (M,)."""
        return np.array(
            [animal_type in boot.animal_types and made_for(boot, limb=limb) for boot in self.boots], dtype=np.bool_
        )

    def part_for(self, animal_type: AnimalType, *, limb: Limb) -> "Stock":
        """The part of the stock that is made for such hooves."""
        suits = self.suits(animal_type, limb=limb)
        return stock_of(tuple(boot for boot, kept in zip(self.boots, suits, strict=True) if kept))


def stock_of(boots: tuple[BootModel, ...]) -> Stock:
    """All sizes of some boot models."""
    return Stock(
        boots=boots,
        sizes=tuple(size for boot in boots for size in boot.sizes),
        table=size_table([boot_chart(boot) for boot in boots]),
    )


def stock_in_question(question: HerdQuestion, shelf: Shelf, *, today: date) -> Stock:
    """What the filter leaves of a shelf. Raises InputRefused with every maker and boot model that is not there."""
    stock = question.stock
    faults = [
        *(
            Fault(path=("makers",), code="maker-unknown", received=maker)
            for maker in sorted(stock.makers - shelf.release.makers.keys())
        ),
        *(
            Fault(path=("boots",), code="boot-unknown", received=boot)
            for boot in sorted(stock.boots - shelf.release.boots.keys())
        ),
    ]
    if faults:
        raise InputRefused(faults=tuple(faults))
    sold = shelf.on(today)
    in_sale = [boot for boot in sold.boots if boot.id not in sold.none_in_sale and is_in_sale(boot, day=today)]
    return stock_of(tuple(boot for boot in in_sale if _in_question(boot, question)))


def measured_or_drawn(question: HerdQuestion) -> Herd:
    """The herd hoof by hoof: as measured, or drawn from its kinds."""
    return _counting(drawn_herd(question.kinds) if question.kinds else _measured(question), limbs=question.limbs)


def measured_or_spread(question: HerdQuestion) -> Herd:
    """The herd as it is spread: as measured, or each kind as one distribution."""
    return _counting(kind_herd(question.kinds) if question.kinds else _measured(question), limbs=question.limbs)


def herd_cautions(question: HerdQuestion) -> tuple[Caution, ...]:
    """What every answer about a herd is to be read with; what stops comes first."""
    foals = sum(horse.is_foal for horse in question.horses)
    painful = sum(not horse.is_foal and is_painful(horse.needs) for horse in question.horses)
    found = []
    if foals:
        facts: dict[str, str | int | float] = {"count": foals}
        found.append(Caution(code="foals-left-out", severity=Severity.STOP, source=COMMON_PRACTICE, facts=facts))
    if painful:
        facts = {"count": painful}
        found.append(Caution(code="painful-left-out", severity=Severity.STOP, source=COMMON_PRACTICE, facts=facts))
    found.append(Caution(code="sound-feet-only", severity=Severity.LOOK_AGAIN, source=COMMON_PRACTICE))
    types = {horse.animal_type for horse in question.horses} | {kind.animal_type for kind in question.kinds}
    if types & {AnimalType.DONKEY, AnimalType.MULE}:
        found.append(Caution(code="donkey-or-mule", severity=Severity.NOTE, source=COMMON_PRACTICE))
    found.append(Caution(code="chances-not-calibrated", severity=Severity.NOTE, source=CONVENTION))
    return tuple(found)


def herd_assumptions(question: HerdQuestion) -> Iterator[Remark]:
    """What was taken for granted about a herd."""
    hooves = [hoof for horse in question.horses for hoof in horse.hooves]
    if any(hoof.weeks_since_trim is None for hoof in hooves):
        yield Remark(code="freshly-trimmed")
    if any(hoof.method is Method.UNKNOWN for hoof in hooves):
        yield Remark(code="method-unknown")
    if question.kinds:
        yield Remark(code="herd-from-kinds")
    if not question.stock.uses:
        yield Remark(code="any-use")
    yield Remark(code="missing-axis-counts-half")


def _in_question(boot: BootModel, question: HerdQuestion) -> bool:
    stock = question.stock
    return (
        (not stock.makers or boot.maker in stock.makers)
        and (not stock.boots or boot.id in stock.boots)
        and (not stock.closures or boot.closure in stock.closures)
        and stock.uses <= boot.intended_uses
        and (bool(stock.uses & USES_AT_REST) or boot.id in stock.boots or not standing_only(boot))
    )


def _measured(question: HerdQuestion) -> Herd:
    kept = [horse for horse in question.horses if not horse.is_foal and not is_painful(horse.needs)]
    return Herd(
        hooves=tuple(hoof for number, horse in enumerate(kept) for hoof in _hooves(horse, number=number)),
        horse_weights=np.ones(len(kept)),
    )


def _hooves(horse: HerdHorse, *, number: int) -> Iterator[HerdHoof]:
    for reading in horse.hooves:
        estimate = estimate_hoof(reading, animal_type=horse.animal_type)
        yield HerdHoof(horse=number, animal_type=horse.animal_type, limb=reading.limb, estimate=estimate)


def _counting(herd: Herd, *, limbs: LimbSet) -> Herd:
    """The herd with only the hooves that count, and only the horses that have any of them."""
    if limbs is LimbSet.ALL:
        return herd
    kept = [hoof for hoof in herd.hooves if hoof.limb.is_fore == (limbs is LimbSet.FORE)]
    horses = sorted({hoof.horse for hoof in kept})
    renumbered = {horse: number for number, horse in enumerate(horses)}
    return Herd(
        hooves=tuple(
            HerdHoof(horse=renumbered[hoof.horse], animal_type=hoof.animal_type, limb=hoof.limb, estimate=hoof.estimate)
            for hoof in kept
        ),
        horse_weights=herd.horse_weights[horses],
    )
