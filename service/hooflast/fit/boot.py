"""Boot: the words for what a boot is made for, and how far each closure lets a hoof leave the chart's range."""

from enum import StrEnum


class Closure(StrEnum):
    """How a boot is closed: generic kinds."""

    PULL_ON = "pull_on"
    BUCKLE = "buckle"
    RATCHET = "ratchet"
    STRAP = "strap"
    LACE = "lace"
    CABLE = "cable"
    OTHER = "other"


class ShapeClass(StrEnum):
    """The hoof shape a boot model is built on, by width against length."""

    NARROW = "narrow"
    ROUND = "round"
    WIDE = "wide"


class IntendedUse(StrEnum):
    """What a boot is meant to be worn for."""

    HACKING = "hacking"
    DISTANCE = "distance"
    ARENA = "arena"
    ROAD = "road"
    DRIVING = "driving"
    MUD = "mud"
    SNOW_AND_ICE = "snow_and_ice"
    TURNOUT = "turnout"
    TRANSPORT = "transport"
    SOAKING = "soaking"
    CONFINED = "confined"


class Need(StrEnum):
    """A condition a veterinarian or hoof-care professional has named; Hooflast never names one itself."""

    FOUNDER = "founder"
    HEEL_PAIN = "heel_pain"
    ABSCESS = "abscess"
    THIN_SOLE = "thin_sole"
    TRIMMED_SHORT = "trimmed_short"
    WALL_LOSS = "wall_loss"
    AFTER_SURGERY = "after_surgery"
    SEVERE_LAMENESS = "severe_lameness"
    OUT_OF_SHOES = "out_of_shoes"


class Course(StrEnum):
    """The course of a need; one that is not told counts as acute."""

    ACUTE = "acute"
    CHRONIC = "chronic"
