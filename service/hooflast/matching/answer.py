"""Answer: what Hooflast says about one horse, as values; `exchange` writes them down and `texts` says them."""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime
from enum import StrEnum

from hooflast.catalog.assortment import SoldSize
from hooflast.catalog.values import Accessory, BootModel, Maker, ReleaseId, Size, SizeCode
from hooflast.fit.girth import GirthWidth
from hooflast.fit.hoof import Axis, HoofReading
from hooflast.fit.remark import Caution, Remark
from hooflast.fit.shape import Shape
from hooflast.fit.verdict import Verdict
from hooflast.matching.needs import NeedAdvice
from hooflast.matching.question import MatchQuestion
from hooflast.matching.size_in_cycle import BestInCycle
from hooflast.matching.troubleshooting import Trouble


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimated:
    """One dimension of the hoof, in mm: its mean and standard uncertainty once all that is known is weighed."""

    mean_mm: float
    standard_uncertainty_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Padded:
    """A hoof's dimensions with a pad under it, as a boot sees them."""

    width: Estimated
    length: Estimated


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFit:
    """One size on one hoof. An axis the size's chart leaves out has no verdict.

    `sold` is what the asked assortment has of it (None: none was asked).
    """

    size: Size
    fit_chance: float
    verdicts: Mapping[Axis, Verdict]
    verdict_chances: Mapping[Axis, Mapping[Verdict, float]]
    sold: SoldSize | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class AccessoryFit:
    """An accessory that goes with a boot model in its best size, and the accessory's own size for it."""

    accessory: Accessory
    size: SizeCode


@dataclass(frozen=True, slots=True, kw_only=True)
class BootFit:
    """One boot model on one hoof: its place in the ranking and the sizes worth knowing.

    Boot models of one `band` cannot be told apart by fit; `closeness` in [0, 1] is the expected clearance score
    that the bands rest on. `size_by_width` and `size_by_length` are what either dimension alone would choose;
    `steps_apart` counts the sizes between them (positive: width asks for the larger).
    `try_order` is which sizes to try, in which order; empty where none may be tried. `watch_for` are the troubles that
    this fit is likeliest to bring.
    """

    boot: BootModel
    maker: Maker
    place: int
    band: int
    closeness: float
    chance_some_size_fits: float
    best: SizeFit
    smaller: SizeFit | None
    larger: SizeFit | None
    size_by_width: SizeCode | None
    size_by_length: SizeCode | None
    steps_apart: int | None
    try_order: tuple[SizeCode, ...]
    watch_for: tuple[Trouble, ...]
    accessories: tuple[AccessoryFit, ...]
    why: tuple[Remark, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Alternative:
    """A boot model outside the ranked list that serves this hoof's shape, with what is gained and lost by it."""

    fit: BootFit
    gains: tuple[Remark, ...]
    losses: tuple[Remark, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofAnswer:
    """One hoof: what is believed about its size and shape, the ranked boot models, and what to be careful about.

    `turns` say how little another reading would have to differ for another size of the first boot model to be best,
    `in_cycle` how that boot model's best size does over the trim cycle (None: no cycle was told, or there is no boot).
    `in_boot` is the hoof as boots see it with the asked pad: larger by the room that the pad takes (None: no pad).
    """

    reading: HoofReading
    width: Estimated
    length: Estimated
    correlation: float
    shape: Shape
    boots: tuple[BootFit, ...]
    alternatives: tuple[Alternative, ...]
    turns: tuple[Remark, ...]
    in_cycle: BestInCycle | None = None
    in_boot: Padded | None = None
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Versions:
    """Everything an answer depends on besides the question."""

    catalog_release: ReleaseId
    catalog_edition: str
    engine: str
    calibration: str
    assortment: str | None
    assortment_as_of: datetime | None
    language: str


class LeftOutBecause(StrEnum):
    """Why a boot model was not ranked."""

    USE = "use"
    PAIN = "pain"
    NEED = "need"
    LIMB = "limb"
    ANIMAL_TYPE = "animal_type"
    PAD = "pad"
    DISCONTINUED = "discontinued"
    NOT_YET_SOLD = "not_yet_sold"
    ASSORTMENT = "assortment"


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchAnswer:
    """One horse's match, before it is signed.

    `level` names one boot model for both hooves of a pair that lead with different ones.
    """

    question: MatchQuestion
    hooves: tuple[HoofAnswer, ...]
    cautions: tuple[Caution, ...]
    needs: tuple[NeedAdvice, ...]
    wearing: tuple[Remark, ...]
    level: tuple[Remark, ...] = ()
    width_from_girth: GirthWidth | None
    assumptions: tuple[Remark, ...]
    left_out: Mapping[LeftOutBecause, int]
    versions: Versions
