"""Troubleshooting: what may be behind a trouble with a boot, in the order to look, and what to change.

Common practice, no source. The sentences stand in `texts`: `trouble.<code>` names the trouble, and for each cause
`cause.<code>`, `cause.<code>.look` and `cause.<code>.change` say what it is, what to look at and what to change.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from hooflast.fit.remark import Severity


class Trouble(StrEnum):
    """What is seen."""

    TURNS = "turns"
    RUBS_AT_THE_HEEL_BULB = "rubs_at_the_heel_bulb"
    RUBS_AT_THE_CORONARY_BAND = "rubs_at_the_coronary_band"
    RUBS_AT_THE_PASTERN = "rubs_at_the_pastern"
    COMES_OFF = "comes_off"
    COMES_OFF_IN_MUD = "comes_off_in_mud"
    WILL_NOT_GO_ON = "will_not_go_on"
    HEEL_NOT_SEATED = "heel_not_seated"
    STEPS_ODDLY = "steps_oddly"
    WEARS_UNEVENLY = "wears_unevenly"
    WORSE_IN_THE_BOOT = "worse_in_the_boot"


class Cause(StrEnum):
    """What may be behind it."""

    TOO_LARGE = "too_large"
    TOO_WIDE_FOR_THE_HOOF = "too_wide_for_the_hoof"
    TOO_SMALL = "too_small"
    TOO_SHORT = "too_short"
    TOE_TOO_LONG = "toe_too_long"
    HEEL_TOO_HIGH = "heel_too_high"
    FLARED = "flared"
    LONG_SINCE_TRIM = "long_since_trim"
    NOT_SEATED = "not_seated"
    CLOSURE_LOOSE = "closure_loose"
    CLOSURE_TIGHT = "closure_tight"
    GAITER_TIGHT = "gaiter_tight"
    GAITER_WORN = "gaiter_worn"
    DIRT_INSIDE = "dirt_inside"
    NEW_TO_BOOTS = "new_to_boots"
    SUCTION = "suction"
    TREAD_WORN = "tread_worn"
    CABLE_WORN = "cable_worn"
    GAIT = "gait"
    PAIN = "pain"


@dataclass(frozen=True, slots=True, kw_only=True)
class TroubleGuide:
    """A trouble, how much it matters, and its causes, likeliest first."""

    trouble: Trouble
    severity: Severity
    causes: tuple[Cause, ...]


_C = Cause
_CAUSES: Final[Mapping[Trouble, tuple[Severity, tuple[Cause, ...]]]] = {
    Trouble.TURNS: (
        Severity.LOOK_AGAIN,
        (_C.TOO_LARGE, _C.TOO_WIDE_FOR_THE_HOOF, _C.CLOSURE_LOOSE, _C.NOT_SEATED, _C.FLARED, _C.GAIT),
    ),
    Trouble.RUBS_AT_THE_HEEL_BULB: (
        Severity.LOOK_AGAIN,
        (_C.TOO_SHORT, _C.NOT_SEATED, _C.TOO_LARGE, _C.DIRT_INSIDE, _C.HEEL_TOO_HIGH, _C.NEW_TO_BOOTS),
    ),
    Trouble.RUBS_AT_THE_CORONARY_BAND: (
        Severity.LOOK_AGAIN,
        (_C.TOO_SMALL, _C.CLOSURE_TIGHT, _C.DIRT_INSIDE, _C.TOO_LARGE),
    ),
    Trouble.RUBS_AT_THE_PASTERN: (Severity.LOOK_AGAIN, (_C.GAITER_TIGHT, _C.GAITER_WORN, _C.DIRT_INSIDE, _C.TOO_LARGE)),
    Trouble.COMES_OFF: (
        Severity.LOOK_AGAIN,
        (_C.TOO_LARGE, _C.CLOSURE_LOOSE, _C.NOT_SEATED, _C.CABLE_WORN, _C.GAITER_WORN, _C.GAIT),
    ),
    Trouble.COMES_OFF_IN_MUD: (
        Severity.LOOK_AGAIN,
        (_C.SUCTION, _C.TOO_LARGE, _C.CLOSURE_LOOSE, _C.GAITER_WORN, _C.TREAD_WORN),
    ),
    Trouble.WILL_NOT_GO_ON: (
        Severity.LOOK_AGAIN,
        (_C.TOO_SMALL, _C.TOE_TOO_LONG, _C.FLARED, _C.LONG_SINCE_TRIM, _C.DIRT_INSIDE),
    ),
    Trouble.HEEL_NOT_SEATED: (
        Severity.LOOK_AGAIN,
        (_C.NOT_SEATED, _C.TOO_SHORT, _C.TOE_TOO_LONG, _C.HEEL_TOO_HIGH, _C.LONG_SINCE_TRIM),
    ),
    Trouble.STEPS_ODDLY: (Severity.NOTE, (_C.NEW_TO_BOOTS, _C.TOO_LARGE, _C.CLOSURE_TIGHT, _C.PAIN)),
    Trouble.WEARS_UNEVENLY: (Severity.NOTE, (_C.LONG_SINCE_TRIM, _C.TOO_LARGE, _C.GAIT)),
    Trouble.WORSE_IN_THE_BOOT: (Severity.STOP, (_C.PAIN, _C.TOO_SMALL, _C.DIRT_INSIDE)),
}

GUIDES: Final = tuple(
    TroubleGuide(trouble=trouble, severity=_CAUSES[trouble][0], causes=_CAUSES[trouble][1]) for trouble in Trouble
)


def guide(trouble: Trouble) -> TroubleGuide:
    """The guide to one trouble."""
    return GUIDES[list(Trouble).index(trouble)]
