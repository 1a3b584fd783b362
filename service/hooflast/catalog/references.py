"""References: whether the ids of one edition are each given once, and everything that is named by id exists."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.catalog.document import Document
from hooflast.catalog.structure import nearest_first
from hooflast.errors import Fact, Fault, json_pointer

_KINDS: Final = ("makers", "boots", "accessories")
_LISTED: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class _Entry:
    document: Document
    kind: str
    index: int

    def at(self, *steps: str | int) -> object:
        return self.document.at(self.kind, self.index, *steps)

    def fault(self, *steps: str | int, code: str, **facts: Fact) -> Fault:
        path = self.document.path(self.kind, self.index, *steps)
        return Fault(path=path, code=code, received=self.at(*steps), facts=facts)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Register:
    """The entries of one kind by id. It is whole if no entry's id is in doubt; else nothing is called unknown."""

    by_id: Mapping[str, _Entry]
    whole: bool

    def lacks(self, name: object) -> bool:
        return self.whole and isinstance(name, str) and name not in self.by_id

    def nearest(self, name: object) -> str:
        return ", ".join(nearest_first(self.by_id, to=str(name)).split(", ")[:_LISTED])


def reference_faults(documents: Sequence[Document]) -> Iterator[Fault]:
    """Every id given twice, and every maker, successor, boot model or size that is named but not there."""
    entries = [
        _Entry(document=document, kind=kind, index=index)
        for document in documents
        for kind in _KINDS
        for index in range(document.count(kind))
    ]
    registers = {kind: _register(kind, entries=entries, documents=documents) for kind in _KINDS}
    for entry in entries:
        yield from _id_faults(entry, registers[entry.kind])
        yield from _maker_faults(entry, registers["makers"])
        yield from _successor_faults(entry, registers[entry.kind])
        if entry.kind == "accessories":
            yield from _goes_with_faults(entry, registers["boots"])


def _register(kind: str, *, entries: Sequence[_Entry], documents: Sequence[Document]) -> _Register:
    ids = [(entry.at("id"), entry) for entry in entries if entry.kind == kind]
    by_id: dict[str, _Entry] = {}
    for entry_id, entry in ids:
        if isinstance(entry_id, str):
            by_id.setdefault(entry_id, entry)
    listed = all(document.reliable(kind) for document in documents)
    return _Register(by_id=by_id, whole=listed and all(entry_id is not None for entry_id, _ in ids))


def _id_faults(entry: _Entry, register: _Register) -> Iterator[Fault]:
    entry_id = entry.at("id")
    if isinstance(entry_id, str) and (first := register.by_id[entry_id]) is not entry:
        place = json_pointer(first.document.path(first.kind, first.index, "id"))
        yield entry.fault("id", code="catalog-repeated-id", first=place)


def _maker_faults(entry: _Entry, makers: _Register) -> Iterator[Fault]:
    if makers.lacks(entry.at("maker")):
        yield entry.fault("maker", code="catalog-unknown-maker", accepted=makers.nearest(entry.at("maker")))


def _successor_faults(entry: _Entry, register: _Register) -> Iterator[Fault]:
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


def _goes_with_faults(entry: _Entry, boots: _Register) -> Iterator[Fault]:
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


def _boot_faults(entry: _Entry, steps: tuple[str | int, ...], *, boot: _Entry, codes: Sequence[str]) -> Iterator[Fault]:
    known = [boot.at("sizes", size, "code") for size in range(boot.document.count("boots", boot.index, "sizes"))]
    if known and all(isinstance(code, str) for code in known):
        for place, code in enumerate(codes):
            if code not in known:
                accepted = nearest_first(map(str, known), to=code)
                yield entry.fault(
                    *steps, place, code="catalog-unknown-size", boot=str(boot.at("id")), accepted=accepted
                )
    thickness, allowed = entry.at("thickness_mm"), boot.at("max_pad_mm")
    if boot.at() is not None and entry.at("kind") == "pad" and isinstance(thickness, int | float):
        allowed_mm = float(allowed) if isinstance(allowed, int | float) else 0.0
        if thickness > allowed_mm:
            yield entry.fault(
                *steps, code="catalog-pad-too-thick", boot=str(boot.at("id")),
                thickness_mm=float(thickness), allowed_mm=allowed_mm,
            )  # fmt: skip
