"""Cycle values: what a picture of the trim cycle is drawn from. Every word in it is one of these strings."""

from dataclasses import dataclass

from hooflast.catalog.values import Range
from hooflast.draw.values import Identity, Tick, demand
from hooflast.fit.hoof import Axis


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclePoint:
    """One dimension of the hoof in one week: mean and standard uncertainty, mm."""

    week: float
    mean_mm: float
    sd_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class WeekTick:
    """A week and how it is written."""

    at_week: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclePanel:
    """One dimension over the weeks. `runs` are its stretches between two trims, one after the other.

    `span` is the size's range (None: its chart leaves this axis out), `accepted` the range with what the closure gives.
    `said` is the sentence below (may be empty).
    """

    axis: Axis
    name: str
    runs: tuple[tuple[CyclePoint, ...], ...]
    span: Range | None
    accepted: Range | None
    said: str = ""

    def __post_init__(self) -> None:
        demand(self.runs and all(self.runs), field="runs", received=self.runs, accepted="one point or more in each run")
        both = (self.span is None) == (self.accepted is None)
        demand(both, field="accepted", received=self.accepted, accepted="a range where there is a span, else none")

    @property
    def points(self) -> tuple[CyclePoint, ...]:
        """All points, one run after the other."""
        return tuple(point for run in self.runs for point in run)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCycle:
    """One hoof over its cycle: its name, what was found for it (may be empty), and its panels (none: only words)."""

    label: str
    found: str
    panels: tuple[CyclePanel, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class CycleKey:
    """What the marks of the picture mean; an empty text leaves its entry out."""

    mean: str
    likely: str
    nearly_sure: str
    span: str
    give: str
    trim: str


@dataclass(frozen=True, slots=True, kw_only=True)
class CyclePicture:
    """One to four hooves over their cycle. `ticks` are lengths and `weeks` weeks that may be written on the axes."""

    identity: Identity
    hooves: tuple[DrawnCycle, ...]
    ticks: tuple[Tick, ...]
    weeks: tuple[WeekTick, ...]
    weeks_label: str
    key: CycleKey
    caption: str = ""

    def __post_init__(self) -> None:
        demand(self.hooves, field="hooves", received=self.hooves, accepted="one hoof or more")
