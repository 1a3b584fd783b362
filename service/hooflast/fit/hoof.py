"""Hoof: the words for a hoof, its animal, and how it was measured, with the values a reading is made of."""

from dataclasses import dataclass
from enum import StrEnum


class Limb(StrEnum):
    """One of the four limbs, by the usual veterinary abbreviations."""

    LF = "LF"
    RF = "RF"
    LH = "LH"
    RH = "RH"

    @property
    def is_fore(self) -> bool:
        return self in (Limb.LF, Limb.RF)


class AnimalType(StrEnum):
    """Kinds of animal whose hooves differ enough to need a population of their own."""

    HORSE = "horse"
    PONY = "pony"
    DRAFT = "draft"
    MINI = "mini"
    DONKEY = "donkey"
    MULE = "mule"


class Axis(StrEnum):
    """What is measured: width at the widest point, or length from toe to the line of the heel buttresses."""

    WIDTH = "width"
    LENGTH = "length"


class Method(StrEnum):
    """How a hoof was measured."""

    CALLIPER = "calliper"
    RULER = "ruler"
    TAPE = "tape"
    OUTLINE = "outline"
    UNKNOWN = "unknown"


class Observer(StrEnum):
    """Who measured."""

    PROFESSIONAL = "professional"
    OWNER = "owner"


class HoofState(StrEnum):
    """What makes a reading doubtful: faults of the trim, or of the way the hoof was held."""

    LONG_TOE = "long_toe"
    HIGH_HEEL = "high_heel"
    UNDER_RUN_HEEL = "under_run_heel"
    FLARE = "flare"
    DIRTY_SOLE = "dirty_sole"
    WEIGHTED = "weighted"


@dataclass(frozen=True, slots=True, kw_only=True)
class AxisReading:
    """What was read on one axis: one value or several repeats, in mm, and the step they were read to."""

    values_mm: tuple[float, ...]
    resolution_mm: float = 1.0

    @property
    def mean_mm(self) -> float:
        return sum(self.values_mm) / len(self.values_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofReading:
    """One hoof as it was measured.

    `age_weeks` is the time since the reading, `weeks_since_trim` the time from the last trim to the reading
    (None: not told). `drift_factor` says how much faster than usual the hoof changes since. `allowance_mm` is what is
    worn on the hoof inside the boot, such as a bandage, on each side.
    """

    limb: Limb
    width: AxisReading
    length: AxisReading
    method: Method = Method.UNKNOWN
    observer: Observer = Observer.OWNER
    states: frozenset[HoofState] = frozenset()
    age_weeks: float = 0.0
    weeks_since_trim: float | None = None
    drift_factor: float = 1.0
    allowance_mm: float = 0.0
