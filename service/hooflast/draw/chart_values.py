"""Chart values: what the picture of a size chart is drawn from. Every word is handed in."""

from dataclasses import dataclass

from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.draw.values import Identity, Tick, demand


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPatch:
    """A part of the plane to look at: shared by two sizes, or between them. An axis that is None is all of it."""

    width: Range | None
    length: Range | None


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartKey:
    """What the marks of a chart picture mean; an empty text leaves its entry out."""

    size: str
    doubtful: str
    shared: str
    gap: str


@dataclass(frozen=True, slots=True, kw_only=True)
class ChartPicture:
    """A boot model's sizes, those in doubt, and what sizes share or leave between them."""

    identity: Identity
    sizes: tuple[Size, ...]
    doubtful: frozenset[SizeCode]
    shared: tuple[DrawnPatch, ...]
    gaps: tuple[DrawnPatch, ...]
    ticks: tuple[Tick, ...]
    width_label: str
    length_label: str
    key: ChartKey
    caption: str

    def __post_init__(self) -> None:
        ranges = [span for size in self.sizes for span in (size.width, size.length) if span is not None]
        demand(ranges, field="sizes", received=len(self.sizes), accepted="a size with a range")
        for span in ranges:
            demand(0 < span.low_mm < span.high_mm, field="sizes", received=span, accepted="a range from low to high")
