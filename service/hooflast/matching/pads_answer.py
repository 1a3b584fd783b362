"""Pads answer: what is asked about a pad, and what is said about it, as values."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hooflast.catalog.values import Accessory, BootId, BootModel, Maker, SizeCode
from hooflast.fit.hoof import HoofReading
from hooflast.fit.pad import RoomLost
from hooflast.fit.padded import ThicknessLimits
from hooflast.fit.remark import Caution, Remark
from hooflast.matching.answer import Estimated, LeftOutBecause, SizeFit, Versions
from hooflast.matching.needs import NeedAdvice
from hooflast.matching.question import MatchQuestion


class PadEffect(StrEnum):
    """What a pad does to a boot model on a hoof."""

    SAME_SIZE = "same_size"
    OTHER_SIZE = "other_size"
    OUT_OF_THE_BOOT_MODEL = "out_of_the_boot_model"
    TOO_THICK = "too_thick"


@dataclass(frozen=True, slots=True, kw_only=True)
class PadsQuestion:
    """A horse's question with a pad in it, about one boot model or about those that suit the padded hooves best."""

    horse: MatchQuestion
    boot: BootId | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogPad:
    """A pad of the catalog that goes with a boot model in the size that is best with this very pad."""

    accessory: Accessory
    thickness_mm: float
    size: SizeCode
    boot_size: SizeFit
    effect: PadEffect


@dataclass(frozen=True, slots=True, kw_only=True)
class BootWithPad:
    """One boot model on one hoof, without the pad and with it.

    None where it is not to be told: on an acutely painful foot there is no second size, no limit and no other pad; with
    a pad above the maker's limit there is no size.
    """

    boot: BootModel
    maker: Maker
    effect: PadEffect
    without: SizeFit | None
    with_pad: SizeFit | None
    limits: ThicknessLimits | None
    catalog_pads: tuple[CatalogPad, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofWithPad:
    """One hoof: its dimensions, the room the pad takes, and the boot models."""

    reading: HoofReading
    width: Estimated
    length: Estimated
    room: RoomLost
    boots: tuple[BootWithPad, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PadsAnswer:
    """What a pad does to one horse's boots. `needs` say what practice says about pads to each named need."""

    question: PadsQuestion
    hooves: tuple[HoofWithPad, ...]
    needs: tuple[NeedAdvice, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    left_out: Mapping[LeftOutBecause, int]
    versions: Versions
