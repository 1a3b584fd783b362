"""Values: what a picture is drawn from. Every word in a picture is one of these strings; draw has none of its own.

A text may be empty where its docstring says so; then its place closes up.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Final

from hooflast.catalog.values import Range, Size, SizeCode
from hooflast.draw.errors import PictureRefused
from hooflast.fit.hoof import Limb
from hooflast.fit.remark import Severity

MOST_HOOVES: Final = len(Limb)
_PREFIX: Final = re.compile(r"[a-z][a-z0-9-]{0,39}")


def demand(met: object, *, field: str, received: object, accepted: str) -> None:
    """Raises PictureRefused unless a demand on a value is met."""
    if not met:
        raise PictureRefused(field=field, received=received, accepted=accepted)


def _demand_length(length_mm: float, *, field: str) -> None:
    demand(isfinite(length_mm) and length_mm > 0, field=field, received=length_mm, accepted="a length above 0 mm")


def _demand_sizes(sizes: Sequence[Size]) -> None:
    for size in sizes:
        for axis, span in (("width", size.width), ("length", size.length)):
            if span is not None:
                _demand_length(span.low_mm, field=f"sizes[{size.code}].{axis}.low_mm")
                rises = isfinite(span.high_mm) and span.high_mm > span.low_mm
                demand(rises, field=f"sizes[{size.code}].{axis}", received=span, accepted="a range from low to high")


@dataclass(frozen=True, slots=True, kw_only=True)
class Identity:
    """What a picture is called.

    `prefix` begins every id in it and scopes its style, so that several pictures can stand in one HTML page.
    `title` and `desc` are for those who hear the picture; `language` is a BCP 47 tag (empty: the page's own).
    """

    prefix: str
    title: str
    desc: str
    language: str = ""

    def __post_init__(self) -> None:
        accepted = "a lower-case letter, then up to 39 letters, digits or hyphens"
        demand(_PREFIX.fullmatch(self.prefix), field="prefix", received=self.prefix, accepted=accepted)


@dataclass(frozen=True, slots=True, kw_only=True)
class Tick:
    """A length in mm and how it is written for this reader, in whatever unit they asked for."""

    at_mm: float
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnHoof:
    """One hoof as it is believed to be: mean and standard uncertainty per axis, mm, and their correlation."""

    limb: Limb
    label: str
    width_mm: float
    length_mm: float
    width_sd_mm: float
    length_sd_mm: float
    correlation: float = 0.0

    def __post_init__(self) -> None:
        for field in ("width_mm", "length_mm", "width_sd_mm", "length_sd_mm"):
            _demand_length(getattr(self, field), field=field)
        within = -1 < self.correlation < 1
        demand(within, field="correlation", received=self.correlation, accepted="more than -1 and less than 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class SizesKey:
    """What the marks of a sizes picture mean; an empty text leaves its entry out.

    `likely` names the inner ellipse (one standard deviation), `nearly_sure` the outer one (two).
    """

    chosen: str
    other: str
    likely: str
    nearly_sure: str
    one_axis: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class SizesPicture:
    """One boot model's sizes, small to large, with one to four hooves among them.

    `ticks` are the lengths that may be written on the axes, ascending over all that a hoof can be: those in view are
    drawn, and as many of them labelled as have room.
    """

    identity: Identity
    sizes: tuple[Size, ...]
    chosen: frozenset[SizeCode]
    hooves: tuple[DrawnHoof, ...]
    ticks: tuple[Tick, ...]
    width_label: str
    length_label: str
    key: SizesKey
    caption: str = ""

    def __post_init__(self) -> None:
        _demand_sizes(self.sizes)
        demand(self.sizes, field="sizes", received=self.sizes, accepted="one size or more")
        _demand_limbs([hoof.limb for hoof in self.hooves])


@dataclass(frozen=True, slots=True, kw_only=True)
class ClearanceWords:
    """One axis of a sole picture in words: its name and verdict, and a label for each mark and each clearance.

    `smallest` and `largest` label the ends of the size's range, `hoof` the hoof; `above_smallest` and `to_largest`
    label the two clearances that `clearance` gives.
    """

    name: str
    verdict: str
    smallest: str
    hoof: str
    largest: str
    above_smallest: str
    to_largest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class MissingAxis:
    """One axis of a sole picture that the size's chart leaves out: its name, and a sentence that says so."""

    name: str
    sentence: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SoleKey:
    """What the lines of a sole picture mean; an empty text leaves its entry out."""

    hoof: str
    doubt: str
    largest: str
    smallest: str


@dataclass(frozen=True, slots=True, kw_only=True)
class SolePicture:
    """One hoof against one size. `scale` is the length of the scale bar."""

    identity: Identity
    hoof: DrawnHoof
    size: Size
    width: ClearanceWords | MissingAxis
    length: ClearanceWords | MissingAxis
    scale: Tick
    key: SoleKey
    caption: str = ""

    def __post_init__(self) -> None:
        _demand_sizes([self.size])
        _demand_length(self.scale.at_mm, field="scale")
        for field, span, words in (
            ("width", self.size.width, self.width),
            ("length", self.size.length, self.length),
        ):
            kind = MissingAxis if span is None else ClearanceWords
            demand(isinstance(words, kind), field=field, received=words, accepted=kind.__name__)


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnChance:
    """A fit chance in [0, 1] and how it is written."""

    value: float
    label: str

    def __post_init__(self) -> None:
        demand(0 <= self.value <= 1, field="chance", received=self.value, accepted="0 to 1")


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnCaution:
    """The gravest caution about a hoof: its severity chooses the mark, its label stands beside it."""

    severity: Severity
    label: str


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofEntry:
    """One hoof of a four-hooves picture and what was found for it. `boot` may be empty, `size` and the rest absent."""

    hoof: DrawnHoof
    size: Size | None
    boot: str
    chance: DrawnChance | None
    verdicts: tuple[str, ...] = ()
    caution: DrawnCaution | None = None

    def __post_init__(self) -> None:
        if self.size is not None:
            _demand_sizes([self.size])


@dataclass(frozen=True, slots=True, kw_only=True)
class FourHoovesPicture:
    """One to four hooves of one horse. `front` labels the side its head is on (may be empty)."""

    identity: Identity
    hooves: tuple[HoofEntry, ...]
    front: str = ""
    caption: str = ""

    def __post_init__(self) -> None:
        _demand_limbs([entry.hoof.limb for entry in self.hooves])


@dataclass(frozen=True, slots=True, kw_only=True)
class Clearance:
    """How much larger a hoof is than the smallest its size is made for, and smaller than the largest, mm."""

    above_smallest_mm: float
    to_largest_mm: float


def clearance(hoof_mm: float, span: Range) -> Clearance:
    """The two clearances of one axis: what a sole picture shows, for whoever writes their labels."""
    return Clearance(above_smallest_mm=hoof_mm - span.low_mm, to_largest_mm=span.high_mm - hoof_mm)


def _demand_limbs(limbs: Sequence[Limb]) -> None:
    unlike = len(set(limbs)) == len(limbs) and 1 <= len(limbs) <= MOST_HOOVES
    demand(unlike, field="hooves", received=limbs, accepted="one to four hooves, each of another limb")
