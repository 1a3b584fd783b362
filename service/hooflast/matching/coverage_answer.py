"""Coverage answer: what is asked about the coverage of a catalog or assortment, and what is said, as values."""

from dataclasses import dataclass

from hooflast.catalog.values import BootModel, LimbSet, Maker, Size
from hooflast.fit.boot import ShapeClass
from hooflast.fit.coverage import Coverage, Region
from hooflast.fit.hoof import AnimalType
from hooflast.fit.normal import Floats
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Versions
from hooflast.matching.herd_question import HerdQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageQuestion:
    """What share of a herd the sizes in question take, a hoof being taken once some size accepts it this surely."""

    herd: HerdQuestion
    threshold: float = 0.5


@dataclass(frozen=True, slots=True, kw_only=True)
class NearestSize:
    """The size nearest to a gap, and how far its mean hoof lies beyond the size's range: negative where smaller."""

    boot: BootModel
    maker: Maker
    size: Size
    beyond_width_mm: float
    beyond_length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageGap:
    """A part of the plane where hooves are and no size takes them; the share is of the plane's own hooves."""

    number: int
    width_mm: float
    length_mm: float
    share: float
    shape: ShapeClass
    nearest: NearestSize | None


@dataclass(frozen=True, slots=True, kw_only=True)
class CoveredPlane:
    """One kind of animal, fore or hind: boots made for these alone count.

    `share` is the plane's part of all hooves; the other shares are of its own. `covered` and `sizes` are for drawing;
    `hooves` (H, 2) are the mean width and length of each measured hoof, none where the herd stands for kinds.
    """

    animal_type: AnimalType
    limbs: LimbSet
    share: float
    served: float
    by_chance: float
    regions: tuple[Region, ...]
    gaps: tuple[CoverageGap, ...]
    boots: int
    sizes: tuple[Size, ...]
    covered: Coverage
    hooves: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageAnswer:
    """The planes of a herd, the largest share first, and the shares over all of them."""

    question: CoverageQuestion
    horses: int
    hooves: int
    served: float
    by_chance: float
    planes: tuple[CoveredPlane, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    versions: Versions
