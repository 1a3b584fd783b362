"""References: whether the ids of one edition are each given once, and everything that is named by id exists."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from hooflast.catalog.document import Document
from hooflast.catalog.register import Entry, Register, register_of
from hooflast.catalog.size_successors import size_successor_faults
from hooflast.catalog.structure import nearest_first
from hooflast.errors import Fault

_KINDS: Final = ("makers", "boots", "accessories")


def reference_faults(documents: Sequence[Document]) -> Iterator[Fault]:
    """Every id given twice, and every maker, successor, boot model or size that is named but not there."""
    entries = [
        Entry(document=document, kind=kind, index=index)
        for document in documents
        for kind in _KINDS
        for index in range(document.count(kind))
    ]
    registers = {kind: register_of(kind, entries=entries, documents=documents) for kind in _KINDS}
    for entry in entries:
        yield from _id_faults(entry, registers[entry.kind])
        yield from _maker_faults(entry, registers["makers"])
        yield from _successor_faults(entry, registers[entry.kind])
        if entry.kind == "boots":
            yield from size_successor_faults(entry, boots=registers["boots"])
        if entry.kind == "accessories":
            yield from _goes_with_faults(entry, registers["boots"])


def _id_faults(entry: Entry, register: Register) -> Iterator[Fault]:
    entry_id = entry.at("id")
    if isinstance(entry_id, str) and (first := register.by_id[entry_id]) is not entry:
        place = first.document.called(first.kind, first.index, "id")
        yield entry.fault("id", code="catalog-repeated-id", first=place)


def _maker_faults(entry: Entry, makers: Register) -> Iterator[Fault]:
    if makers.lacks(entry.at("maker")):
        yield entry.fault("maker", code="catalog-unknown-maker", accepted=makers.nearest(entry.at("maker")))


def _successor_faults(entry: Entry, register: Register) -> Iterator[Fault]:
    successor = entry.at("successor")
    if successor is None:
        return
    if register.lacks(successor):
        yield entry.fault("successor", code="catalog-unknown-successor", accepted=register.nearest(successor))
    if entry.at() is not None and entry.at("discontinued_on") is None:
        yield entry.fault("successor", code="catalog-successor-of-current")
    passed = {entry.at("id")}
    while isinstance(successor, str) and successor not in passed:
        passed.add(successor)
        successor = register.by_id[successor].at("successor") if successor in register.by_id else None
    if successor is not None and successor == entry.at("id"):
        yield entry.fault("successor", code="catalog-successor-circle")


def _goes_with_faults(entry: Entry, boots: Register) -> Iterator[Fault]:
    for index in range(entry.document.count("accessories", entry.index, "sizes")):
        goes_with = entry.at("sizes", index, "goes_with")
        if not isinstance(goes_with, Mapping):
            continue
        for boot_id, codes in goes_with.items():
            steps = ("sizes", index, "goes_with", boot_id)
            if boots.lacks(boot_id):
                yield entry.fault(*steps, code="catalog-unknown-boot", boot=boot_id, accepted=boots.nearest(boot_id))
            elif boot_id in boots.by_id:
                yield from _boot_faults(entry, steps, boot=boots.by_id[boot_id], codes=codes)


def _boot_faults(entry: Entry, steps: tuple[str | int, ...], *, boot: Entry, codes: Sequence[str]) -> Iterator[Fault]:
    for place, code in enumerate(codes):
        if boot.lacks_size(code):
            accepted = nearest_first(boot.size_codes, to=code)
            yield entry.fault(*steps, place, code="catalog-unknown-size", boot=str(boot.at("id")), accepted=accepted)
    thickness, allowed = entry.at("thickness_mm"), boot.at("max_pad_mm")
    if boot.at() is not None and entry.at("kind") == "pad" and isinstance(thickness, int | float):
        allowed_mm = float(allowed) if isinstance(allowed, int | float) else 0.0
        if thickness > allowed_mm:
            yield entry.fault(
                *steps, code="catalog-pad-too-thick", boot=str(boot.at("id")),
                thickness_mm=float(thickness), allowed_mm=allowed_mm,
            )  # fmt: skip
