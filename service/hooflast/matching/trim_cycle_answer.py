"""Trim cycle answer: what is asked about a boot over the weeks between two trims, and what is said, as values."""

from collections.abc import Mapping
from dataclasses import dataclass

from hooflast.catalog.values import BootId, BootModel, Maker, SizeCode
from hooflast.fit.cycle import Cycle, Turn
from hooflast.fit.growth import Circumstance
from hooflast.fit.history import Learned, PastReading
from hooflast.fit.hoof import Axis, HoofReading, Limb
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Estimated, Versions
from hooflast.matching.question import MatchQuestion
from hooflast.matching.size_in_cycle import SizeInCycle


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleQuestion:
    """A horse as it was measured, the weeks between its trims, and one boot model to wear meanwhile.

    `boot` is the boot model to look at (None: for each hoof the one that follows it best once it is freshly trimmed),
    `size` one of its sizes (None: the best for the freshly trimmed hoof; never told without `boot`). `histories` are
    each hoof's readings before this one, `circumstances` what else changes the hooves.
    """

    horse: MatchQuestion
    cycle_weeks: float
    boot: BootId | None = None
    size: SizeCode | None = None
    circumstances: frozenset[Circumstance] = frozenset()
    histories: Mapping[Limb, tuple[PastReading, ...]]


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekInCycle:
    """The hoof so many weeks after the next trim, and the chances of the size looked at.

    `fit_chance` is for that week alone, `still_fits_chance` for all weeks from the trim to it.
    """

    week: float
    width: Estimated
    length: Estimated
    fit_chance: float
    still_fits_chance: float


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofInCycle:
    """One hoof over its cycle, in one boot model (None: in none). `sizes` is empty where no size is to be told; the
    first of them is the one looked at.

    `turns` says for each axis when that size turns; None where it hardly ever does. `cycle` is what all of it was
    computed from; of a foal's changes nothing is believed (`learned` is None).
    """

    reading: HoofReading
    learned: Learned | None
    cycle: Cycle
    boot: BootModel | None
    maker: Maker | None
    sizes: tuple[SizeInCycle, ...]
    weeks: tuple[WeekInCycle, ...]
    turns: Mapping[Axis, Turn | None]
    advice: tuple[Remark, ...]
    cautions: tuple[Caution, ...]

    @property
    def own_readings(self) -> int:
        """How many of the hoof's own readings its changes were learned from."""
        return self.learned.readings if self.learned else 0


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleAnswer:
    """One horse's hooves over their cycle."""

    question: CycleQuestion
    hooves: tuple[HoofInCycle, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    versions: Versions
