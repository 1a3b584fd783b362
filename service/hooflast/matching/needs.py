"""Needs: what a boot should have, may have only as a veterinarian directs, and must not have, for a named condition.

Everything here is common practice, no source, told under the direction of the veterinarian. Hooflast names no
condition and chooses no treatment: it keeps boots away that practice keeps away.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

from hooflast.fit.boot import Course, Need
from hooflast.matching.question import NamedNeed


class Feature(StrEnum):
    """What a boot has, or what is done with it."""

    WIDE_OPENING = "wide_opening"
    SOFT_PAD = "soft_pad"
    FULL_PAD = "full_pad"
    SOLE_SUPPORT = "sole_support"
    WEDGE = "wedge"
    EASY_BREAKOVER = "easy_breakover"
    SOAKING = "soaking"
    CLOSED_SOLE = "closed_sole"
    CONFINEMENT = "confinement"
    RIDING = "riding"
    SOLE_PRESSURE = "sole_pressure"
    ROTATING = "rotating"
    ROOM_AT_THE_WALL = "room_at_the_wall"


@dataclass(frozen=True, slots=True, kw_only=True)
class NeedAdvice:
    """For one named need: features that suit, features only as directed by the veterinarian, and features never."""

    need: Need
    course: Course
    suits: tuple[Feature, ...]
    as_directed: tuple[Feature, ...]
    never: tuple[Feature, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Lists:
    suits: tuple[Feature, ...] = ()
    as_directed: tuple[Feature, ...] = ()
    never: tuple[Feature, ...] = ()


_F = Feature
_ACUTE: Final[dict[Need, _Lists]] = {
    Need.FOUNDER: _Lists(
        suits=(_F.WIDE_OPENING, _F.SOFT_PAD, _F.CONFINEMENT),
        as_directed=(_F.FULL_PAD, _F.SOLE_SUPPORT, _F.WEDGE),
        never=(_F.RIDING, _F.ROTATING),
    ),
    Need.HEEL_PAIN: _Lists(
        suits=(_F.WIDE_OPENING, _F.SOFT_PAD, _F.EASY_BREAKOVER, _F.CONFINEMENT),
        as_directed=(_F.WEDGE, _F.SOLE_SUPPORT),
        never=(_F.RIDING,),
    ),
    Need.ABSCESS: _Lists(
        suits=(_F.SOAKING, _F.SOFT_PAD, _F.CLOSED_SOLE, _F.CONFINEMENT),
        as_directed=(_F.FULL_PAD,),
        never=(_F.RIDING, _F.SOLE_PRESSURE, _F.ROTATING),
    ),
    Need.THIN_SOLE: _Lists(suits=(_F.SOFT_PAD, _F.CLOSED_SOLE), as_directed=(_F.FULL_PAD,), never=(_F.SOLE_PRESSURE,)),
    Need.TRIMMED_SHORT: _Lists(suits=(_F.SOFT_PAD, _F.CLOSED_SOLE), as_directed=(_F.FULL_PAD,)),
    Need.WALL_LOSS: _Lists(suits=(_F.ROOM_AT_THE_WALL, _F.CLOSED_SOLE), as_directed=(_F.SOLE_SUPPORT,)),
    Need.AFTER_SURGERY: _Lists(
        suits=(_F.WIDE_OPENING, _F.CLOSED_SOLE, _F.CONFINEMENT),
        as_directed=(_F.SOFT_PAD, _F.WEDGE, _F.SOLE_SUPPORT),
        never=(_F.RIDING, _F.ROTATING),
    ),
    Need.SEVERE_LAMENESS: _Lists(
        suits=(_F.WIDE_OPENING, _F.CONFINEMENT),
        as_directed=(_F.SOFT_PAD, _F.WEDGE, _F.SOLE_SUPPORT),
        never=(_F.RIDING, _F.ROTATING),
    ),
    Need.OUT_OF_SHOES: _Lists(suits=(_F.SOFT_PAD, _F.CLOSED_SOLE)),
}
_CHRONIC: Final[dict[Need, _Lists]] = _ACUTE | {
    Need.FOUNDER: _Lists(
        suits=(_F.SOFT_PAD, _F.EASY_BREAKOVER, _F.CLOSED_SOLE),
        as_directed=(_F.FULL_PAD, _F.SOLE_SUPPORT, _F.WEDGE, _F.RIDING),
    ),
    Need.HEEL_PAIN: _Lists(suits=(_F.SOFT_PAD, _F.EASY_BREAKOVER), as_directed=(_F.WEDGE, _F.SOLE_SUPPORT, _F.RIDING)),
    Need.ABSCESS: _Lists(
        suits=(_F.CLOSED_SOLE, _F.SOFT_PAD), as_directed=(_F.SOAKING, _F.RIDING), never=(_F.SOLE_PRESSURE,)
    ),
    Need.AFTER_SURGERY: _Lists(
        suits=(_F.WIDE_OPENING, _F.CLOSED_SOLE), as_directed=(_F.SOFT_PAD, _F.WEDGE, _F.SOLE_SUPPORT, _F.RIDING)
    ),
}


def advice(named: NamedNeed) -> NeedAdvice:
    """What practice says to one named need; a course that was not told has been taken as acute."""
    lists = (_ACUTE if named.course is Course.ACUTE else _CHRONIC)[named.need]
    return NeedAdvice(
        need=named.need,
        course=named.course,
        suits=lists.suits,
        as_directed=lists.as_directed,
        never=lists.never,
    )


def is_painful(needs: Iterable[NamedNeed]) -> bool:
    """Whether any foot must be taken as acutely painful: no rotating, no forcing, no series of sizes."""
    return any(Feature.ROTATING in advice(named).never for named in needs)


def may_be_ridden(needs: Iterable[NamedNeed]) -> bool:
    """Whether practice leaves open that the horse is ridden or driven, if only as the veterinarian directs."""
    return not any(Feature.RIDING in advice(named).never for named in needs)
