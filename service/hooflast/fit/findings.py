"""Findings: what is seen when a size is tried on, and how likely each finding is for a hoof.

A size stands to a hoof in one of four ways. With t_W, t_L the chances of being past the tight edges of `sizes`, and
a_W, a_L those of lying between the outer two, on a hoof (W, L):

    too narrow    t_W                                 it is tight in width, whatever its length
    too short     (1 − t_W) t_L                       wide enough, yet tight in length
    right         a_W a_L                             accepted on both axes
    too large     (1 − t_W)(1 − t_L) − a_W a_L        tight on neither axis, and loose on one or both

"Too small" is thereby an OR over the axes, and the four add up to one. How the size stands is not seen itself: a person
sees one finding of each kind, with the chances of a `Sight`. What is seen of one size on one hoof shares how it stands,
so a try-on's likelihood is Σ_s P(s | W, L) · Π_kinds P(finding | s).

What the findings mean is common practice [CP]; their chances are our convention [C].
"""

from dataclasses import dataclass
from enum import StrEnum
from typing import Final

import numpy as np

from hooflast.fit.grid import steps_on
from hooflast.fit.normal import Floats
from hooflast.fit.sizes import SizeTable


class Standing(StrEnum):
    """How a size stands to a hoof; in the order of every array with one entry for each."""

    RIGHT = "right"
    TOO_LARGE = "too_large"
    TOO_NARROW = "too_narrow"
    TOO_SHORT = "too_short"


class Finding(StrEnum):
    """What is seen of a boot on a standing horse; a heel that is not seated is seated, and looked at again."""

    STAYS_PUT = "stays_put"
    TURNS = "turns"
    WILL_NOT_GO_ON = "will_not_go_on"
    HEEL_NOT_SEATED = "heel_not_seated"
    HEEL_STILL_NOT_SEATED = "heel_still_not_seated"


class Indicator(StrEnum):
    """What a boot model's own fit indicator reads, where its maker gives one."""

    TOO_LARGE = "too_large"
    RIGHT = "right"
    TOO_SMALL = "too_small"


class Rotation(StrEnum):
    """How far the boot turned on the foot in movement."""

    NONE = "none"
    SLIGHT = "slight"
    FREE = "free"


class HeelGap(StrEnum):
    """Whether a gap opened at the heel in movement."""

    NONE = "none"
    OPENS = "opens"


class BulbMarks(StrEnum):
    """Whether the heel bulbs are marked after movement."""

    NONE = "none"
    MARKED = "marked"


@dataclass(frozen=True, slots=True, kw_only=True)
class Seen:
    """What was seen of one size on one hoof: standing, and after movement as far as it went."""

    finding: Finding
    indicator: Indicator | None = None
    rotation: Rotation | None = None
    heel_gap: HeelGap | None = None
    bulb_marks: BulbMarks | None = None

    @property
    def has_moved(self) -> bool:
        """Whether anything was looked at after movement."""
        return any(found is not None for found in (self.rotation, self.heel_gap, self.bulb_marks))


LAST_LOOK: Final = (Finding.STAYS_PUT, Finding.TURNS, Finding.WILL_NOT_GO_ON, Finding.HEEL_STILL_NOT_SEATED)
"""What a try-on can end with; in the order of every array with one entry for each."""

FIRST_LOOK: Final = (Finding.STAYS_PUT, Finding.TURNS, Finding.WILL_NOT_GO_ON, Finding.HEEL_NOT_SEATED)
"""What may be seen before a heel has been seated a second time."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Sight:
    """How likely each finding is, by how the size stands; one row for each Standing, each adding up to one.

    last_look (4, 4): in the order of LAST_LOOK
    first_seating: chance that a heel which can be seated is not, at the first attempt
    indicator (4, 3), rotation (4, 3), heel_gap (4, 2), bulb_marks (4, 2): in the order of their words
    """

    last_look: Floats
    first_seating: float
    indicator: Floats
    rotation: Floats
    heel_gap: Floats
    bulb_marks: Floats

    def chances(self, seen: Seen) -> Floats:
        """Π over what was seen of P(finding | standing), shape (4,)."""
        chances = self._look(seen.finding)
        for table, found in (
            (self.indicator, seen.indicator),
            (self.rotation, seen.rotation),
            (self.heel_gap, seen.heel_gap),
            (self.bulb_marks, seen.bulb_marks),
        ):
            if found is not None:
                chances = chances * table[:, list(type(found)).index(found)]
        return chances

    def _look(self, finding: Finding) -> Floats:
        """P(finding | standing), shape (4,).

        Once the heel has been seated with care, what is seen is the last look. The first look differs from it where
        the boot goes on and the heel could be seated: then its heel is found unseated with chance `first_seating`.
        """
        if finding is Finding.HEEL_NOT_SEATED:
            stays, turns, _, heel = self.last_look.T
            unseated: Floats = heel + self.first_seating * (stays + turns)
            return unseated
        chances: Floats = self.last_look[:, LAST_LOOK.index(finding)]
        return chances


USUAL: Final = Sight(
    last_look=np.array(
        [
            (0.92, 0.04, 0.01, 0.03),
            (0.10, 0.885, 0.005, 0.01),
            (0.03, 0.005, 0.905, 0.06),
            (0.05, 0.01, 0.40, 0.54),
        ]
    ),
    first_seating=0.15,
    indicator=np.array([(0.08, 0.84, 0.08), (0.85, 0.13, 0.02), (0.02, 0.13, 0.85), (0.02, 0.13, 0.85)]),
    rotation=np.array([(0.80, 0.18, 0.02), (0.10, 0.35, 0.55), (0.88, 0.10, 0.02), (0.70, 0.25, 0.05)]),
    heel_gap=np.array([(0.90, 0.10), (0.55, 0.45), (0.60, 0.40), (0.25, 0.75)]),
    bulb_marks=np.array([(0.92, 0.08), (0.65, 0.35), (0.70, 0.30), (0.40, 0.60)]),
)
"""A careful person who has read how to look [C]: about one finding in ten misleads, most often where a drawn-up closure
hides a loose boot; a boot too short shows at the heel a little more often than it will not go on at all."""

CLEAR: Final = Sight(
    last_look=np.eye(4),
    first_seating=0.0,
    indicator=np.array([(0, 1, 0), (1, 0, 0), (0, 0, 1), (0, 0, 1)]),
    rotation=np.array([(1, 0, 0), (0, 0, 1), (1, 0, 0), (1, 0, 0)]),
    heel_gap=np.array([(1, 0), (1, 0), (1, 0), (0, 1)]),
    bulb_marks=np.array([(1, 0), (1, 0), (1, 0), (0, 1)]),
)
"""Nothing misleads: the limit in which decisions can be worked out by hand."""


def standing_chances(points_mm: tuple[Floats, Floats], table: SizeTable, *, sizes: range) -> Floats:
    """P(standing | W, L) of each size at each pair of points, shape (n, 4, G, H), in the order of Standing.

    An axis that the chart leaves out counts as accepted. Points along width (G,) and length (H,), evenly spaced.
    """
    width, length = (_along(points, table, sizes=sizes, axis=axis) for axis, points in enumerate(points_mm))
    not_tight = (1.0 - width.tight)[:, :, None] * (1.0 - length.tight)[:, None, :]
    right = width.accepted[:, :, None] * length.accepted[:, None, :]
    narrow = np.broadcast_to(width.tight[:, :, None], right.shape)
    short = (1.0 - width.tight)[:, :, None] * length.tight[:, None, :]
    standing: Floats = np.stack([right, not_tight - right, narrow, short], axis=1)
    return standing


@dataclass(frozen=True, slots=True, kw_only=True)
class _Along:
    """Some sizes along one axis, each (n, G): the chance of being accepted, and of being too tight."""

    accepted: Floats
    tight: Floats


def _along(points_mm: Floats, table: SizeTable, *, sizes: range, axis: int) -> _Along:
    rows = slice(sizes.start, sizes.stop)
    passed = steps_on(
        points_mm,
        edges_mm=table.edges_mm[rows, axis][:, [0, 3]],
        edge_sd_mm=table.edge_sd_mm[rows, axis][:, [0, 3]],
    )
    tight = np.minimum(passed[..., 1], passed[..., 0])
    return _Along(accepted=passed[..., 0] - tight, tight=tight)
