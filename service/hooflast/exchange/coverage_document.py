"""Coverage document: shares, regions and gaps, as sent, and how an answer becomes one.

Numbers are rounded by the rule of `answer_parts`, shares as chances are.
"""

from typing import Annotated

from msgspec import Meta

from hooflast.catalog.values import LimbSet
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
    rounded_chance,
    versions_document,
)
from hooflast.exchange.herd_document import Share
from hooflast.exchange.match_document import MatchedBootDocument
from hooflast.exchange.match_writing import boot_document
from hooflast.fit.boot import ShapeClass
from hooflast.fit.coverage import Region
from hooflast.fit.hoof import AnimalType
from hooflast.matching.coverage_answer import CoverageAnswer, CoverageGap, CoveredPlane, NearestSize
from hooflast.matching.gap_telling import gap_text, plane_facts
from hooflast.texts import Texts


class RegionDocument(Document, frozen=True):
    """A part of the hooves: by shape class and by thirds of size."""

    shape: ShapeClass
    shape_text: Sentence
    third: Annotated[int, Meta(ge=1, le=3, description="1: the smallest third of the hooves, 3: the largest.")]
    share: Share
    served: Annotated[float, Meta(ge=0, le=1, description="The covered part of all hooves that lies in here.")]


class NearestSizeDocument(Document, frozen=True):
    """The size that comes nearest to a gap."""

    boot: MatchedBootDocument
    size: Annotated[str, Meta(description="The maker's size code.")]
    beyond_width_mm: Annotated[
        float, Meta(description="How much wider the gap's middle is than the size accepts; negative: narrower.")
    ]
    beyond_length_mm: Annotated[
        float, Meta(description="How much longer the gap's middle is than the size accepts; negative: shorter.")
    ]


class GapDocument(Document, frozen=True):
    """Hooves that are near each other and that no size covers."""

    number: Annotated[int, Meta(ge=1, description="Its number in the picture.")]
    width_mm: Millimetres
    length_mm: Millimetres
    share: Share
    shape: ShapeClass
    text: Sentence
    nearest: NearestSizeDocument | None


class PlaneDocument(Document, frozen=True):
    """One kind of animal, fore or hind, against the boot models made for it."""

    animal_type: AnimalType
    limbs: LimbSet
    text: Sentence
    share: Annotated[float, Meta(ge=0, le=1, description="Its part of all hooves; the shares in it are of its own.")]
    served: Annotated[float, Meta(ge=0, le=1, description="Share that some size accepts as surely as `threshold`.")]
    by_chance: Annotated[float, Meta(ge=0, le=1, description="Chance that some size accepts a hoof.")]
    boots: Annotated[int, Meta(ge=0, description="Boot models in question that are made for these hooves.")]
    sizes: Annotated[int, Meta(ge=0, description="Their sizes.")]
    regions: list[RegionDocument]
    gaps: Annotated[list[GapDocument], Meta(description="The largest share first.")]


class CoverageDocument(Document, frozen=True):
    """What sizes cover of a herd, and what they do not. Nothing of it is kept."""

    threshold: Annotated[float, Meta(ge=0, le=1)]
    served: Annotated[float, Meta(ge=0, le=1, description="Share of all hooves that is covered.")]
    by_chance: Annotated[float, Meta(ge=0, le=1, description="Chance that some size accepts a hoof of the herd.")]
    planes: Annotated[list[PlaneDocument], Meta(description="The largest part of the herd first.")]
    cautions: list[CautionDocument]
    assumptions: list[RemarkDocument]
    versions: VersionsDocument


def coverage_document(answer: CoverageAnswer, *, texts: Texts) -> CoverageDocument:
    """The answer as a document; lengths in sentences are in the unit the asker measures in."""
    texts = texts.in_unit(answer.question.herd.unit)
    return CoverageDocument(
        threshold=rounded_chance(answer.question.threshold),
        served=rounded_chance(answer.served),
        by_chance=rounded_chance(answer.by_chance),
        planes=[_plane(plane, texts=texts) for plane in answer.planes],
        cautions=cautions(answer.cautions, texts=texts),
        assumptions=remarks(answer.assumptions, family="assumption", texts=texts),
        versions=versions_document(answer.versions),
    )


def _plane(plane: CoveredPlane, *, texts: Texts) -> PlaneDocument:
    return PlaneDocument(
        animal_type=plane.animal_type,
        limbs=plane.limbs,
        text=texts.say("coverage.plane", plane_facts(plane, texts=texts)),
        share=rounded_chance(plane.share),
        served=rounded_chance(plane.served),
        by_chance=rounded_chance(plane.by_chance),
        boots=plane.boots,
        sizes=len(plane.sizes),
        regions=[_region(region, texts=texts) for region in plane.regions],
        gaps=[_gap(gap, texts=texts) for gap in plane.gaps],
    )


def _region(region: Region, *, texts: Texts) -> RegionDocument:
    return RegionDocument(
        shape=region.shape,
        shape_text=texts.say(f"shape.{region.shape}"),
        third=region.third + 1,
        share=rounded_chance(region.share),
        served=rounded_chance(region.served),
    )


def _gap(gap: CoverageGap, *, texts: Texts) -> GapDocument:
    return GapDocument(
        number=gap.number,
        width_mm=rounded(gap.width_mm, decimals=1),
        length_mm=rounded(gap.length_mm, decimals=1),
        share=rounded_chance(gap.share),
        shape=gap.shape,
        text=gap_text(gap, texts=texts),
        nearest=None if gap.nearest is None else _nearest(gap.nearest),
    )


def _nearest(nearest: NearestSize) -> NearestSizeDocument:
    return NearestSizeDocument(
        boot=boot_document(nearest.boot, maker=nearest.maker),
        size=nearest.size.code,
        beyond_width_mm=rounded(nearest.beyond_width_mm, decimals=1),
        beyond_length_mm=rounded(nearest.beyond_length_mm, decimals=1),
    )
