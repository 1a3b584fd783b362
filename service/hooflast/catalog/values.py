"""Values: boot models and accessories, their sizes, their makers, and the catalog release that holds them all.

Everything here is frozen and checked by `catalog.reading` before it is built; lengths are in millimetres.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import NewType

from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType

MakerId = NewType("MakerId", str)
BootId = NewType("BootId", str)
AccessoryId = NewType("AccessoryId", str)
SizeCode = NewType("SizeCode", str)
ReleaseId = NewType("ReleaseId", str)


class LimbSet(StrEnum):
    """Which feet a boot model's last is made for."""

    FORE = "fore"
    HIND = "hind"
    ALL = "all"


class SoldAs(StrEnum):
    """Whether one boot can be bought or only two."""

    SINGLE = "single"
    PAIR = "pair"


class Sides(StrEnum):
    """Whether one last serves left and right, or each side has its own and must be ordered by limb."""

    EITHER = "either"
    LEFT_AND_RIGHT = "left_and_right"


class AccessoryKind(StrEnum):
    """What an accessory is, in generic kinds."""

    PAD = "pad"
    GAITER = "gaiter"
    CABLE = "cable"
    INSERT = "insert"


@dataclass(frozen=True, slots=True, kw_only=True)
class Range:
    """The hoof dimensions a size is made for, as its chart prints them, in mm."""

    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeSuccessor:
    """The size that took the place of another one, of the same boot model or of another."""

    boot: BootId
    size: SizeCode


@dataclass(frozen=True, slots=True, kw_only=True)
class Size:
    """One size of a boot model. An axis its chart leaves out is None; BootModel.sizes go from small to large.

    It is in sale from `available_from` (None: always was) to the day before `discontinued_on`; `successor` leads an
    owner of an old size to its present one.
    """

    code: SizeCode
    width: Range | None
    length: Range | None
    gtin: str | None = None
    available_from: date | None = None
    discontinued_on: date | None = None
    successor: SizeSuccessor | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Provenance:
    """Where a record came from: which plugin, in which version, which source, when, and that source's SHA-256."""

    plugin: str
    source: str
    retrieved_on: date
    sha256: str
    version: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Maker:
    """Who makes a boot model."""

    id: MakerId
    name: str
    provenance: Provenance


@dataclass(frozen=True, slots=True, kw_only=True)
class BootModel:
    """A boot model with its sizes.

    `chart_step_mm` is the chart's rounding unit: a range is widened by half of it on both sides.
    `max_pad_mm` is the thickest pad its maker allows (0: none).
    `fit_indicator` is how it shows by itself whether it fits, in its maker's words, where there is such a thing.
    `suits_needs` are the needs its maker states it is built for.
    It is in sale from `available_from` (None: always was) to the day before `discontinued_on`; `successor` leads an
    owner of an old boot to its present one.
    """

    id: BootId
    maker: MakerId
    name: str
    closure: Closure
    shape: ShapeClass
    limbs: LimbSet
    animal_types: frozenset[AnimalType]
    intended_uses: frozenset[IntendedUse]
    sizes: tuple[Size, ...]
    chart_step_mm: float
    sold_as: SoldAs
    provenance: Provenance
    max_pad_mm: float = 0.0
    suits_needs: frozenset[Need] = frozenset()
    discontinued_on: date | None = None
    successor: BootId | None = None
    note: str = ""
    sides: Sides = Sides.EITHER
    fit_indicator: str = ""
    available_from: date | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessorySize:
    """One size of an accessory, with the sizes of each boot model it goes with."""

    code: SizeCode
    goes_with: Mapping[BootId, frozenset[SizeCode]]
    gtin: str | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Accessory:
    """A product worn with a boot. `thickness_mm` is a pad's or an insert's, uncompressed."""

    id: AccessoryId
    maker: MakerId
    name: str
    kind: AccessoryKind
    sizes: tuple[AccessorySize, ...]
    sold_as: SoldAs
    provenance: Provenance
    thickness_mm: float | None = None
    discontinued_on: date | None = None
    successor: AccessoryId | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogRelease:
    """An immutable edition of the catalog; `id` is `sha256-<hex>` over its canonical form (`catalog.release`)."""

    id: ReleaseId
    edition: str
    released_on: date
    note: str
    makers: Mapping[MakerId, Maker]
    boots: Mapping[BootId, BootModel] = field(default_factory=dict)
    accessories: Mapping[AccessoryId, Accessory] = field(default_factory=dict)
