"""Reading: the files of one edition turned into makers, boot models and accessories, or every fault in them."""

import hashlib
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any

from hooflast.catalog.chart import length_mm
from hooflast.catalog.document import Document, read_document
from hooflast.catalog.meaning import meaning_faults
from hooflast.catalog.placing import called
from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.values import (
    Accessory,
    AccessoryId,
    AccessoryKind,
    AccessorySize,
    BootId,
    BootModel,
    LimbSet,
    Maker,
    MakerId,
    Provenance,
    Range,
    Sides,
    Size,
    SizeCode,
    SizeSuccessor,
    SoldAs,
)
from hooflast.errors import Fault, InputRefused
from hooflast.fit.boot import Closure, IntendedUse, Need, ShapeClass
from hooflast.fit.hoof import AnimalType
from hooflast.units import Unit


@dataclass(frozen=True, slots=True, kw_only=True)
class Records:
    """What the files of one edition, or of several plugins' editions together, hold.

    `withdrawn` are ids that are no longer offered and never used again, by their kind.
    """

    makers: Mapping[MakerId, Maker]
    boots: Mapping[BootId, BootModel]
    accessories: Mapping[AccessoryId, Accessory]
    withdrawn: Mapping[str, frozenset[str]] = field(default_factory=dict)


def _unheard() -> None:
    """Nobody listens."""


def read_files(
    files: Sequence[CatalogFile], *, plugin: str, version: str = "", on_file: Callable[[], None] = _unheard
) -> Records:
    """Read one edition's files. Raises InputRefused with every fault of form and of meaning in all of them.

    `plugin` and `version` become part of each record's provenance; `on_file` is called after each file.
    """
    documents = []
    for file in files:
        documents.append(read_document(file))
        on_file()
    faults = [fault for document in documents for fault in document.faults]
    faults += meaning_faults(documents)
    if faults:
        by_source = {file.source: file for file in files}
        raise InputRefused(faults=tuple(_as_called(fault, by_source) for fault in sorted(faults, key=_by_place)))
    makers, boots, accessories = [], [], []
    withdrawn: dict[str, frozenset[str]] = {}
    for document in documents:
        content: Any = document.content
        provenance = _provenance(document, plugin=plugin, version=version)
        makers += [_maker(entry, provenance=provenance) for entry in content.get("makers", ())]
        boots += [_boot(entry, provenance=provenance) for entry in content.get("boots", ())]
        accessories += [_accessory(entry, provenance=provenance) for entry in content.get("accessories", ())]
        for kind, ids in content.get("withdrawn", {}).items():
            withdrawn[kind] = withdrawn.get(kind, frozenset()) | frozenset(ids)
    return Records(
        makers={maker.id: maker for maker in makers},
        boots={boot.id: boot for boot in boots},
        accessories={accessory.id: accessory for accessory in accessories},
        withdrawn=withdrawn,
    )


def _as_called(fault: Fault, by_source: Mapping[str, CatalogFile]) -> Fault:
    """The fault at the place that people know: the cell, where the file was made from a table."""
    source, *steps = fault.path
    name = called(by_source[str(source)], tuple(steps))
    return replace(fault, path=(source, name)) if name else fault


def _by_place(fault: Fault) -> list[tuple[str, int, str]]:
    return [("", step, "") if isinstance(step, int) else (step, 0, "") for step in fault.path] + [("", 0, fault.code)]


def _provenance(document: Document, *, plugin: str, version: str) -> Provenance:
    return Provenance(
        plugin=plugin,
        version=version,
        source=document.file.source,
        retrieved_on=document.file.retrieved_on,
        sha256=document.file.sha256 or hashlib.sha256(document.file.content).hexdigest(),
    )


def _maker(entry: Mapping[str, Any], *, provenance: Provenance) -> Maker:
    return Maker(id=MakerId(entry["id"]), name=entry["name"], provenance=provenance)


def _boot(entry: Mapping[str, Any], *, provenance: Provenance) -> BootModel:
    unit = Unit(entry["chart_unit"])
    return BootModel(
        id=BootId(entry["id"]),
        maker=MakerId(entry["maker"]),
        name=entry["name"],
        closure=Closure(entry["closure"]),
        shape=ShapeClass(entry["shape"]),
        limbs=LimbSet(entry["limbs"]),
        sides=Sides(entry.get("sides", Sides.EITHER)),
        fit_indicator=entry.get("fit_indicator", ""),
        animal_types=frozenset(map(AnimalType, entry["animal_types"])),
        intended_uses=frozenset(map(IntendedUse, entry["intended_uses"])),
        suits_needs=frozenset(map(Need, entry.get("suits_needs", ()))),
        sizes=tuple(_size(size, unit=unit, boot=BootId(entry["id"])) for size in entry["sizes"]),
        chart_step_mm=length_mm(entry["chart_step"], unit=unit),
        sold_as=SoldAs(entry["sold_as"]),
        max_pad_mm=float(entry.get("max_pad_mm", 0)),
        discontinued_on=_day(entry.get("discontinued_on")),
        successor=BootId(entry["successor"]) if "successor" in entry else None,
        note=entry.get("note", ""),
        available_from=_day(entry.get("available_from")),
        provenance=provenance,
    )


def _size(entry: Mapping[str, Any], *, unit: Unit, boot: BootId) -> Size:
    return Size(
        code=SizeCode(entry["code"]),
        width=_range(entry.get("width"), unit=unit),
        length=_range(entry.get("length"), unit=unit),
        gtin=entry.get("gtin"),
        available_from=_day(entry.get("available_from")),
        discontinued_on=_day(entry.get("discontinued_on")),
        successor=_size_successor(entry.get("successor"), boot=boot),
    )


def _size_successor(entry: Mapping[str, str] | None, *, boot: BootId) -> SizeSuccessor | None:
    if entry is None:
        return None
    return SizeSuccessor(boot=BootId(entry.get("boot", boot)), size=SizeCode(entry["size"]))


def _range(ends: Sequence[str | float] | None, *, unit: Unit) -> Range | None:
    if ends is None:
        return None
    low, high = ends
    return Range(low_mm=length_mm(low, unit=unit), high_mm=length_mm(high, unit=unit))


def _accessory(entry: Mapping[str, Any], *, provenance: Provenance) -> Accessory:
    thickness_mm = entry.get("thickness_mm")
    return Accessory(
        id=AccessoryId(entry["id"]),
        maker=MakerId(entry["maker"]),
        name=entry["name"],
        kind=AccessoryKind(entry["kind"]),
        sizes=tuple(_accessory_size(size) for size in entry["sizes"]),
        sold_as=SoldAs(entry["sold_as"]),
        thickness_mm=None if thickness_mm is None else float(thickness_mm),
        discontinued_on=_day(entry.get("discontinued_on")),
        successor=AccessoryId(entry["successor"]) if "successor" in entry else None,
        note=entry.get("note", ""),
        provenance=provenance,
    )


def _accessory_size(entry: Mapping[str, Any]) -> AccessorySize:
    goes_with = {BootId(boot): frozenset(map(SizeCode, codes)) for boot, codes in entry["goes_with"].items()}
    return AccessorySize(code=SizeCode(entry["code"]), goes_with=goes_with, gtin=entry.get("gtin"))


def _day(written: str | None) -> date | None:
    return None if written is None else date.fromisoformat(written)
