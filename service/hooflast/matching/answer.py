"""Answer: what Hooflast says about one horse, as values; `exchange` writes them down and `texts` says them."""

from collections.abc import Mapping
from dataclasses import dataclass
from enum import StrEnum

from hooflast.catalog.values import BootModel, Maker, ReleaseId, Size, SizeCode
from hooflast.fit.hoof import Axis, HoofReading
from hooflast.fit.remark import Caution, Remark
from hooflast.fit.verdict import Verdict
from hooflast.matching.question import MatchQuestion


@dataclass(frozen=True, slots=True, kw_only=True)
class Estimated:
    """One dimension of the hoof, in mm: its mean and standard uncertainty once all that is known is weighed."""

    mean_mm: float
    standard_uncertainty_mm: float


@dataclass(frozen=True, slots=True, kw_only=True)
class SizeFit:
    """One size on one hoof. An axis the size's chart leaves out has no verdict."""

    size: Size
    fit_chance: float
    verdicts: Mapping[Axis, Verdict]
    verdict_chances: Mapping[Axis, Mapping[Verdict, float]]


@dataclass(frozen=True, slots=True, kw_only=True)
class BootFit:
    """One boot model on one hoof: its place in the ranking and the sizes worth knowing.

    Boot models of one `band` cannot be told apart by fit; `closeness` in [0, 1] is the expected clearance score
    that the bands rest on. `size_by_width` and `size_by_length` are what either dimension alone would choose;
    `steps_apart` counts the sizes between them (positive: width asks for the larger).
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
    why: tuple[Remark, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class HoofAnswer:
    """One hoof: what is believed about its size, the ranked boot models, and what to be careful about."""

    reading: HoofReading
    width: Estimated
    length: Estimated
    correlation: float
    boots: tuple[BootFit, ...]
    cautions: tuple[Caution, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Versions:
    """Everything an answer depends on besides the question."""

    catalog_release: ReleaseId
    catalog_edition: str
    engine: str
    calibration: str
    assortment: str | None
    language: str


class LeftOutBecause(StrEnum):
    """Why a boot model was not ranked."""

    USE = "use"
    NEED = "need"
    LIMB = "limb"
    ANIMAL_TYPE = "animal_type"
    PAD = "pad"
    DISCONTINUED = "discontinued"


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchAnswer:
    """One horse's match, before it is signed."""

    question: MatchQuestion
    hooves: tuple[HoofAnswer, ...]
    cautions: tuple[Caution, ...]
    assumptions: tuple[Remark, ...]
    left_out: Mapping[LeftOutBecause, int]
    versions: Versions
