"""Documents: how the catalog, its plugins and the service's health are written as JSON."""

from datetime import date
from typing import Annotated, Final, Literal

import msgspec
from msgspec import Meta

from hooflast.catalog.values import LimbSet, Sides, SoldAs
from hooflast.exchange.trouble_document import TroubleDocument
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType

NEXT: Final = Meta(description="The address of the next page; null on the last one.")
RELEASE: Final = Meta(
    pattern="^sha256-[0-9a-f]{64}$", description="The catalog release this was read from, by its content."
)

FIRST_DAY: Final = Meta(description="The first day it is in sale; null: it always was.")
LAST_DAY: Final = Meta(description="The first day it is no longer in sale; null: it still is.")

MOST_OF_A_PLUGIN: Final = 1_000
"""How many editions, faults and settings are told of one plugin [C]; `hooflast validate` tells all."""


class Document(msgspec.Struct, frozen=True, kw_only=True):
    """What all documents share: every member is always there."""


class ProvenanceDocument(Document, frozen=True):
    """Where a record came from."""

    plugin: Annotated[str, Meta(description="The catalog plugin that offered it.")]
    source: Annotated[str, Meta(description="The plugin's source: a file name or an address.")]
    retrieved_on: date
    sha256: Annotated[str, Meta(description="The digest of that source.")]


class MakerDocument(Document, frozen=True):
    """Who makes a boot model."""

    id: str
    name: str
    boots: Annotated[int, Meta(ge=0, description="How many boot models of this maker there are.")]
    provenance: ProvenanceDocument


class RangeDocument(Document, frozen=True):
    """The hoof dimensions a size is made for on one axis, in mm, as the maker's chart prints them."""

    low_mm: float
    high_mm: float


class SizeSuccessorDocument(Document, frozen=True):
    """The size that took another one's place."""

    boot: str
    size: str


class SizeDocument(Document, frozen=True):
    """One size of a boot model. An axis that its chart leaves out is null."""

    code: str
    place: Annotated[int, Meta(ge=1, description="Its place from small to large, from 1.")]
    width: RangeDocument | None
    length: RangeDocument | None
    gtin: str | None
    available_from: Annotated[date | None, FIRST_DAY]
    discontinued_on: Annotated[date | None, LAST_DAY]
    successor: Annotated[SizeSuccessorDocument | None, Meta(description="The size that took its place.")]


class BootDocument(Document, frozen=True):
    """A boot model."""

    id: str
    maker: str
    name: str
    closure: Closure
    shape: ShapeClass
    limbs: LimbSet
    sides: Sides
    animal_types: list[AnimalType]
    intended_uses: list[IntendedUse]
    suits_needs: Annotated[list[Need], Meta(description="The needs its maker states it is built for.")]
    sizes: Annotated[int, Meta(ge=0, description="How many sizes it has.")]
    chart_step_mm: Annotated[float, Meta(description="The rounding unit of its size chart, in mm.")]
    max_pad_mm: Annotated[float, Meta(description="The thickest pad its maker allows; 0: none.")]
    fit_indicator: Annotated[str, Meta(description="How it shows by itself whether it fits; empty: it does not.")]
    sold_as: SoldAs
    available_from: Annotated[date | None, FIRST_DAY]
    discontinued_on: Annotated[date | None, LAST_DAY]
    successor: Annotated[str | None, Meta(description="The boot model that took its place.")]
    note: str
    provenance: ProvenanceDocument


class CatalogReleaseDocument(Document, frozen=True):
    """An immutable edition of the catalog."""

    id: Annotated[str, RELEASE]
    edition: str
    released_on: date
    note: str
    is_active: Annotated[bool, Meta(description="Whether it is served when a request pins none.")]
    author: Annotated[str, Meta(description="Who staged it: a person's or a program's name.")]
    makers: Annotated[int, Meta(ge=0)]
    boots: Annotated[int, Meta(ge=0)]
    sizes: Annotated[int, Meta(ge=0)]
    accessories: Annotated[int, Meta(ge=0)]


class MakerPage(Document, frozen=True):
    """Makers in the order of their ids."""

    items: list[MakerDocument]
    next: Annotated[str | None, NEXT]
    catalog_release: Annotated[str, RELEASE]


class BootPage(Document, frozen=True):
    """Boot models in the order of their ids."""

    items: list[BootDocument]
    next: Annotated[str | None, NEXT]
    catalog_release: Annotated[str, RELEASE]


class SizePage(Document, frozen=True):
    """The sizes of one boot model from small to large."""

    items: list[SizeDocument]
    next: Annotated[str | None, NEXT]
    catalog_release: Annotated[str, RELEASE]


class CatalogReleasePage(Document, frozen=True):
    """Catalog releases, newest first."""

    items: list[CatalogReleaseDocument]
    next: Annotated[str | None, NEXT]


class MakerAnswer(Document, frozen=True):
    """One maker."""

    maker: MakerDocument
    catalog_release: Annotated[str, RELEASE]


class BootAnswer(Document, frozen=True):
    """One boot model with its maker."""

    boot: BootDocument
    maker: MakerDocument
    catalog_release: Annotated[str, RELEASE]


class PluginFaultDocument(Document, frozen=True):
    """Why a part of what a plugin offered was left out."""

    place: Annotated[str, Meta(description="The source and the place in it, as a JSON Pointer.")]
    code: str
    detail: str


class PluginDocument(Document, frozen=True):
    """What became of one catalog plugin."""

    name: str
    version: str
    editions: Annotated[
        list[date], Meta(max_length=MOST_OF_A_PLUGIN, description="The days of its editions in use, the last of them.")
    ]
    refused: Annotated[
        list[date],
        Meta(max_length=MOST_OF_A_PLUGIN, description="The days of its editions that were refused whole, the last."),
    ]
    failure: Annotated[str | None, Meta(description="Why it could not be used at all.")]
    waits_for: Annotated[
        list[str],
        Meta(max_length=MOST_OF_A_PLUGIN, description="Settings it cannot do without and that were not given."),
    ]
    faults: Annotated[
        list[PluginFaultDocument], Meta(max_length=MOST_OF_A_PLUGIN, description="What was wrong, the first of it.")
    ]


class PluginList(Document, frozen=True):
    """Every catalog plugin that was found."""

    items: list[PluginDocument]


class TroubleList(Document, frozen=True):
    """The guides to all troubles with boots."""

    items: Annotated[list[TroubleDocument], Meta(description="In a fixed order.")]


class LiveDocument(Document, frozen=True):
    """The process runs."""

    status: Literal["live"]


class ReadyDocument(Document, frozen=True):
    """Requests can be answered."""

    status: Literal["ready"]
    catalog_release: Annotated[str, RELEASE]
