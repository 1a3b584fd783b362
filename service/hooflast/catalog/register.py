"""Register: the records of one edition by kind and id, each with its place, as far as they can be relied on."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from hooflast.catalog.document import Document
from hooflast.catalog.structure import nearest_first
from hooflast.errors import Fact, Fault

_LISTED: Final = 12


@dataclass(frozen=True, slots=True, kw_only=True)
class Entry:
    """One record of a file, with its place."""

    document: Document
    kind: str
    index: int

    def at(self, *steps: str | int) -> object:
        """The value at a place in it, or None where there is none that can be relied on."""
        return self.document.at(self.kind, self.index, *steps)

    def count(self, *steps: str | int) -> int:
        """How many entries the list at a place in it has."""
        return self.document.count(self.kind, self.index, *steps)

    def fault(self, *steps: str | int, code: str, **facts: Fact) -> Fault:
        """What is wrong at a place in it."""
        path = self.document.path(self.kind, self.index, *steps)
        return Fault(path=path, code=code, received=self.at(*steps), facts=facts)

    @property
    def size_codes(self) -> list[str]:
        """The codes of its sizes, as far as they can be relied on."""
        codes = [self.at("sizes", size, "code") for size in range(self.count("sizes"))]
        return [code for code in codes if isinstance(code, str)]

    def lacks_size(self, code: object) -> bool:
        """Whether it is sure that none of its sizes has this code: it is not, where one of their codes is in doubt."""
        codes = set(self.size_codes)
        return bool(codes) and len(codes) == self.count("sizes") and isinstance(code, str) and code not in codes


@dataclass(frozen=True, slots=True, kw_only=True)
class Register:
    """The entries of one kind by id. It is whole if no entry's id is in doubt; else nothing is called unknown."""

    by_id: Mapping[str, Entry]
    whole: bool

    def lacks(self, name: object) -> bool:
        """Whether it is sure that nothing has this id."""
        return self.whole and isinstance(name, str) and name not in self.by_id

    def nearest(self, name: object) -> str:
        """The ids most like a name, as one text."""
        return ", ".join(nearest_first(self.by_id, to=str(name)).split(", ")[:_LISTED])


def register_of(kind: str, *, entries: Sequence[Entry], documents: Sequence[Document]) -> Register:
    """The register of one kind of records."""
    ids = [(entry.at("id"), entry) for entry in entries if entry.kind == kind]
    by_id: dict[str, Entry] = {}
    for entry_id, entry in ids:
        if isinstance(entry_id, str):
            by_id.setdefault(entry_id, entry)
    listed = all(document.reliable(kind) for document in documents)
    return Register(by_id=by_id, whole=listed and all(entry_id is not None for entry_id, _ in ids))
