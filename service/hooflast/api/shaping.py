"""Shaping: values of the catalog as documents."""

from collections.abc import Iterable

from hooflast.api.documents import (
    MOST_OF_A_PLUGIN,
    BootDocument,
    CatalogReleaseDocument,
    MakerDocument,
    PluginDocument,
    PluginFaultDocument,
    ProvenanceDocument,
    RangeDocument,
    SizeDocument,
    SizeSuccessorDocument,
)
from hooflast.catalog.lifecycle import KeptRelease
from hooflast.catalog.loading import PluginReport
from hooflast.catalog.values import BootModel, CatalogRelease, Maker, Provenance, Range, ReleaseId, Size, SizeSuccessor
from hooflast.errors import Fault, json_pointer
from hooflast.texts import Texts


def maker_document(maker: Maker, *, release: CatalogRelease) -> MakerDocument:
    """A maker as a document."""
    boots = sum(boot.maker == maker.id for boot in release.boots.values())
    return MakerDocument(id=maker.id, name=maker.name, boots=boots, provenance=_provenance(maker.provenance))


def boot_document(boot: BootModel) -> BootDocument:
    """A boot model as a document."""
    return BootDocument(
        id=boot.id,
        maker=boot.maker,
        name=boot.name,
        closure=boot.closure,
        shape=boot.shape,
        limbs=boot.limbs,
        sides=boot.sides,
        animal_types=sorted(boot.animal_types),
        intended_uses=sorted(boot.intended_uses),
        suits_needs=sorted(boot.suits_needs),
        sizes=len(boot.sizes),
        chart_step_mm=boot.chart_step_mm,
        max_pad_mm=boot.max_pad_mm,
        fit_indicator=boot.fit_indicator,
        sold_as=boot.sold_as,
        available_from=boot.available_from,
        discontinued_on=boot.discontinued_on,
        successor=boot.successor,
        note=boot.note,
        provenance=_provenance(boot.provenance),
    )


def size_documents(sizes: Iterable[Size]) -> list[SizeDocument]:
    """Sizes, given from small to large, as documents."""
    return [
        SizeDocument(
            code=size.code,
            place=place,
            width=_range(size.width),
            length=_range(size.length),
            gtin=size.gtin,
            available_from=size.available_from,
            discontinued_on=size.discontinued_on,
            successor=_size_successor(size.successor),
        )
        for place, size in enumerate(sizes, start=1)
    ]


def release_document(release: KeptRelease, *, active: ReleaseId) -> CatalogReleaseDocument:
    """A catalog release as a document."""
    return CatalogReleaseDocument(
        id=release.id,
        edition=release.edition,
        released_on=release.released_on,
        note=release.note,
        is_active=release.id == active,
        author=release.author,
        makers=release.holds.makers,
        boots=release.holds.boots,
        sizes=release.holds.sizes,
        accessories=release.holds.accessories,
    )


def plugin_document(report: PluginReport, *, texts: Texts) -> PluginDocument:
    """What became of a plugin, as a document."""
    return PluginDocument(
        name=report.plugin,
        version=report.version,
        editions=list(report.editions[-MOST_OF_A_PLUGIN:]),
        refused=list(report.refused[-MOST_OF_A_PLUGIN:]),
        waits_for=list(report.waits_for[:MOST_OF_A_PLUGIN]),
        failure=report.failure.reason if report.failure else None,
        faults=[_plugin_fault(fault, texts=texts) for fault in report.faults[:MOST_OF_A_PLUGIN]],
    )


def _plugin_fault(fault: Fault, *, texts: Texts) -> PluginFaultDocument:
    source, *inside = fault.path or ("",)
    key = f"fault.{fault.code}"
    return PluginFaultDocument(
        place=f"{source}#{json_pointer(tuple(inside))}",
        code=fault.code,
        detail=texts.say(key, fault.facts) if texts.has(key) else fault.code,
    )


def _provenance(provenance: Provenance) -> ProvenanceDocument:
    return ProvenanceDocument(
        plugin=provenance.plugin,
        source=provenance.source,
        retrieved_on=provenance.retrieved_on,
        sha256=provenance.sha256,
    )


def _size_successor(successor: SizeSuccessor | None) -> SizeSuccessorDocument | None:
    return None if successor is None else SizeSuccessorDocument(boot=successor.boot, size=successor.size)


def _range(chart: Range | None) -> RangeDocument | None:
    return None if chart is None else RangeDocument(low_mm=chart.low_mm, high_mm=chart.high_mm)
