"""Document: one catalog file's bytes as JSON, with the place of everything in it that cannot be relied on."""

import json
import unicodedata
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from hooflast.catalog.placing import called
from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.structure import structure_faults
from hooflast.errors import Fault, Path, json_pointer


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A catalog file read as JSON. `faults` are those of its form; what they touch is not handed out by `at`."""

    file: CatalogFile
    content: object
    faults: tuple[Fault, ...]
    _at_fault: frozenset[Path]
    _above_fault: frozenset[Path]

    def path(self, *steps: str | int) -> Path:
        """The path of a place in this file, as faults name it: the file's source first."""
        return (self.file.source, *steps)

    def called(self, *steps: str | int) -> str:
        """A place in words: the file's source and what people call the place, or both as one JSON Pointer."""
        name = called(self.file, steps)
        return f"{self.file.source} {name}" if name else json_pointer(self.path(*steps))

    def reliable(self, *steps: str | int) -> bool:
        """Whether there is no fault of form at a place itself or at any place around it."""
        return not any(steps[:depth] in self._at_fault for depth in range(len(steps) + 1))

    def at(self, *steps: str | int) -> Any:
        """The value at a place, or None where there is none, or none without a fault in or around it."""
        return self._value(steps) if self.reliable(*steps) and steps not in self._above_fault else None

    def count(self, *steps: str | int) -> int:
        """How many entries the list at a place has; 0 where there is no list. Single entries may have faults."""
        value = self._value(steps)
        return len(value) if isinstance(value, list) else 0

    def _value(self, steps: Path) -> Any:
        value: Any = self.content
        for step in steps:
            if isinstance(step, str) and isinstance(value, Mapping):
                value = value.get(step)
            elif isinstance(step, int) and isinstance(value, list):
                value = value[step]
            else:
                return None
        return value


def read_document(file: CatalogFile) -> Document:
    """Read a file's bytes and find every fault of its form."""
    try:
        content: object = json.loads(
            file.content.decode("utf-8-sig"), object_pairs_hook=_Members, parse_constant=_refuse_constant
        )
    except json.JSONDecodeError as error:
        return _document(file, None, faults=[_not_json(line=error.lineno, column=error.colno)])
    except (ValueError, RecursionError):
        return _document(file, None, faults=[_not_json(line=1, column=1)])
    return _document(file, content, faults=[*_text_faults(content, path=()), *structure_faults(content)])


def _document(file: CatalogFile, content: object, *, faults: list[Fault]) -> Document:
    places = [fault.path for fault in faults]
    return Document(
        file=file,
        content=content,
        faults=tuple(fault.under(file.source) for fault in faults),
        _at_fault=frozenset(places),
        _above_fault=frozenset(place[:depth] for place in places for depth in range(len(place))),
    )


class _Members(dict[str, object]):
    """The members of a JSON object, and the names that came more than once."""

    def __init__(self, pairs: list[tuple[str, object]]) -> None:
        super().__init__(pairs)
        names = [name for name, _ in pairs]
        self.repeated = sorted({name for name in names if names.count(name) > 1}) if len(self) < len(names) else []


def _refuse_constant(name: str) -> float:
    raise ValueError(name)


def _not_json(*, line: int, column: int) -> Fault:
    return Fault(path=(), code="catalog-not-json", received=None, facts={"line": line, "column": column})


def _text_faults(value: object, *, path: Path) -> Iterator[Fault]:
    """Names given twice, and texts with characters that nobody can see."""
    if isinstance(value, _Members):
        for name in value.repeated:
            yield Fault(path=(*path, name), code="catalog-repeated-member", received=name, facts={"member": name})
        for name, member in value.items():
            if _has_unseen(name):
                yield Fault(path=path, code="catalog-unseen-character", received=name)
            yield from _text_faults(member, path=(*path, name))
    elif isinstance(value, list):
        for index, entry in enumerate(value):
            yield from _text_faults(entry, path=(*path, index))
    elif isinstance(value, str) and _has_unseen(value):
        yield Fault(path=path, code="catalog-unseen-character", received=value)


def _has_unseen(text: str) -> bool:
    """Whether a text has control, formatting, surrogate or unassigned characters (Unicode category C)."""
    return any(unicodedata.category(character).startswith("C") for character in text)
