"""Herd values: what the pictures of coverage and of a trial set's curve are drawn from. Every word is handed in."""

from dataclasses import dataclass
from itertools import pairwise

from hooflast.draw.values import Identity, Tick, demand
from hooflast.fit.coverage import Coverage
from hooflast.fit.normal import Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnGap:
    """A gap's number, as it is written at its middle."""

    label: str
    width_mm: float
    length_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class CoverageKey:
    """What the marks of a coverage picture mean; an empty text leaves its entry out."""

    covered: str
    gap: str
    half: str
    nearly_all: str
    hoof: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class CoveragePicture:
    """What sizes cover of the plane, and where a herd's hooves are.

    `hooves` (H, 2) are dots at measured hooves' means; `ticks` as for the sizes picture.
    """

    identity: Identity
    covered: Coverage
    gaps: tuple[DrawnGap, ...]
    hooves: Floats
    ticks: tuple[Tick, ...]
    width_label: str
    length_label: str
    key: CoverageKey
    caption: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnShare:
    """The share that a number of sizes serves, and the most that as many could; `is_exact` where the two meet."""

    count: int
    share: float
    bound: float
    is_exact: bool

    def __post_init__(self) -> None:
        within = 0 <= self.share <= self.bound + 1e-9 and self.bound <= 1 + 1e-9
        demand(within, field="share", received=self.share, accepted="0 to its bound, the bound at most 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class ShareTick:
    """A share and how it is written."""

    at: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CountTick:
    """A number of sizes and how it is written."""

    at: int
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CurveKey:
    """What the marks of a curve mean; an empty text leaves its entry out."""

    exact: str
    found: str
    bound: str
    wished: str
    attainable: str
    chosen: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CurvePicture:
    """Share served against number of sizes. `chosen` is the number of sizes of the set, None off the curve."""

    identity: Identity
    points: tuple[DrawnShare, ...]
    wished: float
    attainable: float
    chosen: int | None
    shares: tuple[ShareTick, ...]
    counts: tuple[CountTick, ...]
    share_label: str
    count_label: str
    key: CurveKey
    caption: str = ""

    def __post_init__(self) -> None:
        rises = bool(self.points) and all(a.count < b.count for a, b in pairwise(self.points))
        demand(rises, field="points", received=self.points, accepted="one point or more, by rising number of sizes")
