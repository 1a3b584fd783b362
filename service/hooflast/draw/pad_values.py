"""Pad values: what the picture of a hoof lifted in a boot is drawn from; every word and number is ready to be shown."""

from dataclasses import dataclass

from hooflast.draw.values import Identity
from hooflast.fit.pad import PadKind


@dataclass(frozen=True, slots=True, kw_only=True)
class Slopes:
    """How far the boot's walls lean for each millimetre of height: medial, lateral and toe cotangent."""

    medial: float
    lateral: float
    toe: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DrawnPad:
    """A pad by where it lies, and its thickness under the horse at the toe, where the hoof is widest, at the heels; mm.

    A pad inside the wall has its thickness too, and lifts nothing.
    """

    kind: PadKind
    toe_mm: float
    widest_mm: float
    heel_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class PadPanel:
    """One view of the hoof in the boot: its name, and what is said of the room lost there."""

    name: str
    said: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PaddedHoof:
    """One hoof with the pad under it, mm."""

    label: str
    width_mm: float
    length_mm: float
    pad: DrawnPad
    behind: PadPanel
    side: PadPanel


@dataclass(frozen=True, slots=True, kw_only=True)
class PadKey:
    """The entries of the key; an empty one is left out."""

    boot: str
    bare: str
    padded: str
    pad: str
    lost: str


@dataclass(frozen=True, slots=True, kw_only=True)
class PadPicture:
    """Hooves in a boot that has just their room without a pad, with the pad under them."""

    identity: Identity
    hooves: tuple[PaddedHoof, ...]
    slopes: Slopes
    key: PadKey
    caption: str
