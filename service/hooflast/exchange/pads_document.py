"""Pads document: what a pad does to a horse's boots, as it is sent, and how an answer becomes one.

Numbers are rounded by the rule of `answer_parts`, angles to 0.1°.
"""

from typing import Annotated

from msgspec import Meta

from hooflast.exchange.answer_parts import (
    CautionDocument,
    Document,
    Millimetres,
    RemarkDocument,
    Sentence,
    VersionsDocument,
    cautions,
    remarks,
    rounded,
    versions_document,
)
from hooflast.exchange.match_document import (
    EstimateDocument,
    LeftOutDocument,
    MatchedBootDocument,
    NeedAdviceDocument,
    SizeFitDocument,
)
from hooflast.exchange.match_writing import (
    boot_document,
    estimate_document,
    left_out_documents,
    need_document,
    size_fit_document,
)
from hooflast.fit.hoof import Limb
from hooflast.fit.pad import PadKind, RoomLost, Softness
from hooflast.matching.pads_answer import BootWithPad, CatalogPad, HoofWithPad, PadEffect, PadsAnswer
from hooflast.texts import Texts


class AskedPadDocument(Document, frozen=True):
    """The pad that was asked about."""

    thickness_mm: Millimetres
    kind: PadKind
    kind_text: Sentence
    softness: Softness
    softness_text: Sentence


class RoomDocument(Document, frozen=True):
    """The room that the pad takes in a boot, and how far it lifts the hoof. Negative where room is gained."""

    width: EstimateDocument
    length: EstimateDocument
    toe_lift_mm: Annotated[float, Meta(description="How far the coronary band comes up at the toe, in mm.")]
    heel_lift_mm: Annotated[float, Meta(description="How far the heel bulbs come up against the collar, in mm.")]
    tilt_deg: Annotated[float, Meta(description="How far the hoof turns onto its toe, in degrees.")]


class ThicknessLimitsDocument(Document, frozen=True):
    """How thick a pad of this kind may be, in half millimetres, never above what the maker allows."""

    same_size_mm: Annotated[
        float, Meta(description="With every pad up to here the size that is best without one stays the best.")
    ]
    serves_mm: Annotated[
        float, Meta(description="With every pad up to here more than half of the best size's chance is left.")
    ]


class CatalogPadDocument(Document, frozen=True):
    """A pad of the catalog that goes with the boot model, and the boot's best size with that pad in it."""

    id: str
    name: str
    size: Annotated[str, Meta(description="The pad's own size code.")]
    thickness_mm: Millimetres
    effect: PadEffect
    effect_text: Sentence
    boot_size: SizeFitDocument
    note: Annotated[str, Meta(description="What its maker says about it; may be empty.")]


class BootWithPadDocument(Document, frozen=True):
    """One boot model on one hoof, without the pad and with it."""

    boot: MatchedBootDocument
    most_pad_mm: Annotated[float, Meta(ge=0, description="The thickest pad that its maker allows, in mm; 0: none.")]
    effect: PadEffect
    effect_text: Sentence
    without: Annotated[SizeFitDocument | None, Meta(description="The best size without a pad; null on a painful foot.")]
    with_pad: Annotated[
        SizeFitDocument | None, Meta(description="The best size with the pad; null if its maker allows no such pad.")
    ]
    limits: Annotated[ThicknessLimitsDocument | None, Meta(description="Null on a painful foot.")]
    catalog_pads: Annotated[list[CatalogPadDocument], Meta(description="Thinnest first; none on a painful foot.")]
    cautions: list[CautionDocument]


class HoofWithPadDocument(Document, frozen=True):
    """One hoof, the room that the pad takes, and the boot models."""

    limb: Limb
    limb_text: Sentence
    width: EstimateDocument
    length: EstimateDocument
    room: RoomDocument
    boots: Annotated[list[BootWithPadDocument], Meta(description="Those that follow the padded hoof best come first.")]
    cautions: list[CautionDocument]


class PadsAnswerDocument(Document, frozen=True):
    """What a pad does to one horse's boots. Nothing of it is kept."""

    horse_name: str
    pad: AskedPadDocument
    hooves: list[HoofWithPadDocument]
    needs: Annotated[
        list[NeedAdviceDocument], Meta(description="What practice says about pads for each need that was named.")
    ]
    cautions: list[CautionDocument]
    assumptions: list[RemarkDocument]
    left_out: list[LeftOutDocument]
    versions: VersionsDocument


def pads_document(answer: PadsAnswer, *, texts: Texts) -> PadsAnswerDocument:
    """The answer as a document; lengths in sentences are in the unit the asker measures in."""
    horse = answer.question.horse
    texts = texts.in_unit(horse.unit)
    return PadsAnswerDocument(
        horse_name=horse.horse_name,
        pad=AskedPadDocument(
            thickness_mm=rounded(horse.pad_mm, decimals=1),
            kind=horse.pad_kind,
            kind_text=texts.say(f"pad.{horse.pad_kind}"),
            softness=horse.pad_softness,
            softness_text=texts.say(f"softness.{horse.pad_softness}"),
        ),
        hooves=[_hoof(hoof, texts=texts) for hoof in answer.hooves],
        needs=[need_document(need, texts=texts) for need in answer.needs],
        cautions=cautions(answer.cautions, texts=texts),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        left_out=left_out_documents(answer.left_out, texts=texts),
        versions=versions_document(answer.versions),
    )


def _hoof(hoof: HoofWithPad, *, texts: Texts) -> HoofWithPadDocument:
    return HoofWithPadDocument(
        limb=hoof.reading.limb,
        limb_text=texts.say(f"limb.{hoof.reading.limb}"),
        width=estimate_document(hoof.width),
        length=estimate_document(hoof.length),
        room=_room(hoof.room),
        boots=[_boot(boot, texts=texts) for boot in hoof.boots],
        cautions=cautions(hoof.cautions, texts=texts),
    )


def _room(room: RoomLost) -> RoomDocument:
    width, length = (
        EstimateDocument(
            mean_mm=rounded(float(room.mean_mm[axis]), decimals=1),
            standard_uncertainty_mm=rounded(float(room.covariance[axis, axis]) ** 0.5, decimals=1),
        )
        for axis in (0, 1)
    )
    return RoomDocument(
        width=width,
        length=length,
        toe_lift_mm=rounded(room.toe_lift_mm, decimals=1),
        heel_lift_mm=rounded(room.heel_lift_mm, decimals=1),
        tilt_deg=rounded(room.tilt_deg, decimals=1),
    )


def _boot(found: BootWithPad, *, texts: Texts) -> BootWithPadDocument:
    limits = found.limits
    return BootWithPadDocument(
        boot=boot_document(found.boot, maker=found.maker),
        most_pad_mm=rounded(found.boot.max_pad_mm, decimals=1),
        effect=found.effect,
        effect_text=texts.say(f"pad_effect.{found.effect}"),
        without=None if found.without is None else size_fit_document(found.without, texts=texts),
        with_pad=None if found.with_pad is None else size_fit_document(found.with_pad, texts=texts),
        limits=None
        if limits is None
        else ThicknessLimitsDocument(same_size_mm=limits.same_size_mm, serves_mm=limits.serves_mm),
        catalog_pads=[_catalog_pad(one, texts=texts) for one in found.catalog_pads],
        cautions=cautions(found.cautions, texts=texts),
    )


def _catalog_pad(found: CatalogPad, *, texts: Texts) -> CatalogPadDocument:
    accessory = found.accessory
    return CatalogPadDocument(
        id=accessory.id,
        name=accessory.name,
        size=found.size,
        thickness_mm=rounded(found.thickness_mm, decimals=1),
        effect=found.effect,
        effect_text=texts.say(f"pad_effect.{found.effect}"),
        boot_size=size_fit_document(found.boot_size, texts=texts),
        note=accessory.note,
    )
