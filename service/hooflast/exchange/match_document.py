"""Match document: the answer to a match as it is sent and kept, byte for byte.

Numbers are rounded by the rule of `answer_parts`. The five chances of a verdict are rounded each on its own, so their
sum may miss 1 by a few thousandths.
"""

from typing import Annotated

from msgspec import UNSET, Meta, UnsetType

from hooflast.catalog.values import AccessoryKind, Sides, SoldAs
from hooflast.exchange.answer_parts import (
    CautionDocument,
    Chance,
    Document,
    Millimetres,
    RemarkDocument,
    Sentence,
    VersionsDocument,
)
from hooflast.exchange.assortment_document import MOST_SKUS, ShopItemDocument
from hooflast.exchange.cycle_parts import BestInCycleDocument
from hooflast.fit.boot import Closure, Course, IntendedUse, Need, ShapeClass
from hooflast.fit.girth import Build
from hooflast.fit.hoof import AnimalType, HoofState, Limb, Method, Observer
from hooflast.fit.pad import PadKind, Softness
from hooflast.fit.verdict import Verdict
from hooflast.matching.answer import LeftOutBecause
from hooflast.matching.needs import Feature
from hooflast.matching.question import TryFrom
from hooflast.matching.troubleshooting import Trouble
from hooflast.units import Unit


class ChartRangeDocument(Document, frozen=True):
    """The hoof dimensions a size is made for on one axis, in mm, as the maker's chart prints them."""

    low_mm: float
    high_mm: float


class VerdictChancesDocument(Document, frozen=True):
    """How likely each verdict is, from tight to loose."""

    too_tight: Chance
    snug: Chance
    even: Chance
    roomy: Chance
    too_loose: Chance


class VerdictDocument(Document, frozen=True):
    """Where the hoof lies in the size's range on one axis."""

    verdict: Annotated[
        Verdict, Meta(description="The middle verdict: tighter is no likelier than one half, nor is looser.")
    ]
    text: Sentence
    chances: VerdictChancesDocument


class SizeFitDocument(Document, frozen=True):
    """One size on one hoof. An axis that the size's chart leaves out is null."""

    size: Annotated[str, Meta(description="The maker's size code.")]
    gtin: Annotated[str | None, Meta(description="The size's GTIN (GS1), if its maker states one.")]
    fit_chance: Annotated[
        float, Meta(ge=0, le=1, description="Chance that this hoof accepts the size, given the reading's uncertainty.")
    ]
    width_range: ChartRangeDocument | None
    length_range: ChartRangeDocument | None
    width: VerdictDocument | None
    length: VerdictDocument | None
    sold: Annotated[
        Annotated[list[ShopItemDocument], Meta(max_length=MOST_SKUS)] | UnsetType,
        Meta(
            description="What the asked assortment has of it, in the order in which to take it; left out where none "
            "was asked."
        ),
    ] = UNSET


class MatchedBootDocument(Document, frozen=True):
    """The boot model that is meant."""

    id: str
    name: str
    maker: Annotated[str, Meta(description="The maker's id.")]
    maker_name: str
    closure: Closure
    shape: ShapeClass
    sides: Sides
    sold_as: SoldAs


class AccessoryFitDocument(Document, frozen=True):
    """An accessory that goes with the boot model in its best size."""

    id: str
    name: str
    kind: AccessoryKind
    kind_text: Sentence
    size: Annotated[str, Meta(description="The accessory's own size code.")]


class TroubleNameDocument(Document, frozen=True):
    """A trouble, as in `GET /v1/troubleshooting/{trouble}`."""

    trouble: Trouble
    text: Sentence


class BootFitDocument(Document, frozen=True):
    """One boot model on one hoof: its place among the others and the sizes worth knowing."""

    place: Annotated[int, Meta(ge=1, description="Its place in the ranking, from 1.")]
    band: Annotated[int, Meta(ge=0, description="Boot models of one band cannot be told apart by fit.")]
    boot: MatchedBootDocument
    closeness: Annotated[
        float, Meta(ge=0, le=1, description="How closely its best size follows the hoof; the bands rest on it.")
    ]
    chance_some_size_fits: Annotated[float, Meta(ge=0, le=1, description="Chance that any size of it fits.")]
    best: Annotated[SizeFitDocument, Meta(description="The size to take.")]
    smaller: Annotated[SizeFitDocument | None, Meta(description="The next smaller size.")]
    larger: Annotated[SizeFitDocument | None, Meta(description="The next larger size.")]
    size_by_width: Annotated[str | None, Meta(description="The size that the width alone would choose.")]
    size_by_length: Annotated[str | None, Meta(description="The size that the length alone would choose.")]
    steps_apart: Annotated[
        int | None, Meta(description="Sizes between these two; positive: the width asks for the larger one.")
    ]
    try_order: Annotated[
        list[str], Meta(description="Sizes to try, in this order. Empty: none, ask the veterinarian first.")
    ]
    watch_for: Annotated[list[TroubleNameDocument], Meta(description="Troubles that this fit may bring.")]
    accessories: Annotated[list[AccessoryFitDocument], Meta(description="What goes with it in its best size.")]
    why: Annotated[list[RemarkDocument], Meta(description="Why it stands where it does.")]
    cautions: list[CautionDocument]


class AlternativeDocument(Document, frozen=True):
    """A boot model outside the ranking that serves this hoof's shape."""

    fit: BootFitDocument
    gains: Annotated[list[RemarkDocument], Meta(description="What is gained by it.")]
    losses: Annotated[list[RemarkDocument], Meta(description="What is lost by it.")]


class ShapeChancesDocument(Document, frozen=True):
    """Chance of each shape class; together they are one."""

    narrow: Chance
    round: Chance
    wide: Chance


class ShapeDocument(Document, frozen=True):
    """The hoof's shape, by its width against its length."""

    ratio: Annotated[float, Meta(description="Width / length.")]
    likeliest: ShapeClass
    text: Sentence
    chances: ShapeChancesDocument


class AxisReadingDocument(Document, frozen=True):
    """What was read on one axis, in mm."""

    values_mm: Annotated[list[Millimetres], Meta(description="The reading, or its repeats, as they came.")]
    resolution_mm: Annotated[float, Meta(description="The step it was read to, in mm.")]


class EstimateDocument(Document, frozen=True):
    """What is believed of one dimension of the hoof once all that is known is weighed."""

    mean_mm: Millimetres
    standard_uncertainty_mm: Millimetres


class PaddedDocument(Document, frozen=True):
    """The hoof as boots see it with the pad that was asked for: larger by the room that the pad takes."""

    width: EstimateDocument
    length: EstimateDocument


class HoofAnswerDocument(Document, frozen=True):
    """One hoof: its reading, what is believed of its size, and the boot models for it."""

    limb: Limb
    limb_text: Sentence
    method: Method
    observer: Observer
    states: list[HoofState]
    age_weeks: Annotated[float, Meta(ge=0, description="Weeks since the reading.")]
    weeks_since_trim: Annotated[float | None, Meta(description="Weeks from the last trim to the reading.")]
    allowance_mm: Annotated[float, Meta(ge=0, description="What is worn inside the boot, on each side.")]
    width_reading: AxisReadingDocument
    length_reading: AxisReadingDocument
    width: EstimateDocument
    length: EstimateDocument
    correlation: Annotated[float, Meta(ge=-1, le=1, description="Correlation of the errors of width and length.")]
    shape: ShapeDocument
    in_boot: Annotated[PaddedDocument | None, Meta(description="With the pad in the boot; null: no pad was asked for.")]
    boots: Annotated[list[BootFitDocument], Meta(description="Boot models, best first.")]
    alternatives: Annotated[
        list[AlternativeDocument], Meta(description="For a narrow or wide foot, or where no size is likely to fit.")
    ]
    turns: Annotated[
        list[RemarkDocument],
        Meta(description="How little another reading would have to differ for another size to be best."),
    ]
    in_cycle: Annotated[
        BestInCycleDocument | None,
        Meta(description="The first boot's best size over the trim cycle; null: no cycle was told, or no boot."),
    ]
    cautions: list[CautionDocument]


class FeatureDocument(Document, frozen=True):
    """Something a boot has, or that is done with it."""

    feature: Feature
    text: Sentence


class NamedNeedDocument(Document, frozen=True):
    """A need that somebody qualified has named."""

    need: Need
    course: Course


class NeedAdviceDocument(Document, frozen=True):
    """What practice says to a named need, under the direction of the veterinarian."""

    need: Need
    course: Course
    text: Sentence
    suits: Annotated[list[FeatureDocument], Meta(description="Features that suit.")]
    as_directed: Annotated[list[FeatureDocument], Meta(description="Features only as the veterinarian directs.")]
    never: Annotated[list[FeatureDocument], Meta(description="Never.")]


class WidthFromGirthDocument(Document, frozen=True):
    """A rough fore hoof width expected from the chest girth; no measurement."""

    mean_mm: Millimetres
    sd_mm: Millimetres


class AskedDocument(Document, frozen=True):
    """What was asked, as it was understood."""

    horse_name: str
    animal_type: AnimalType
    is_foal: bool
    unit: Unit
    uses: list[IntendedUse]
    needs: list[NamedNeedDocument]
    closures: list[Closure]
    pad_mm: Annotated[float, Meta(ge=0, description="Thickness of the wished pad; 0: none.")]
    pad_kind: PadKind
    pad_softness: Softness
    boots_per_hoof: int
    try_from: TryFrom
    cycle_weeks: Annotated[float | None, Meta(description="Weeks between two trims, if they were told.")]
    girth_mm: Annotated[float | None, Meta(description="Chest girth, if it was measured.")]
    build: Build | None


class LeftOutDocument(Document, frozen=True):
    """How many boot models were not ranked for one reason."""

    because: LeftOutBecause
    text: Sentence
    count: Annotated[int, Meta(ge=0)]


class MatchAnswerDocument(Document, frozen=True):
    """One horse's match: for each hoof the boot models that suit it, best first, with what to be careful about."""

    id: Annotated[str | None, Meta(description="The match's id; null if the answer was not kept.")]
    receipt: Annotated[
        str | None,
        Meta(
            description="The match receipt (a JWS in compact form): hand it back with the outcome. "
            "Null if the answer was not kept."
        ),
    ]
    asked: AskedDocument
    hooves: list[HoofAnswerDocument]
    cautions: list[CautionDocument]
    needs: list[NeedAdviceDocument]
    wearing: Annotated[list[RemarkDocument], Meta(description="How to put them on, wear them in, and when to stop.")]
    level: Annotated[
        list[RemarkDocument],
        Meta(description="One boot model for both hooves of a pair, where they lead with different ones."),
    ]
    width_from_girth: WidthFromGirthDocument | None
    assumptions: Annotated[list[RemarkDocument], Meta(description="What was taken for granted for want of being told.")]
    left_out: list[LeftOutDocument]
    versions: VersionsDocument
