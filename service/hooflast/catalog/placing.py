"""Placing: where in its source a size of a boot model stands: a cell, or a JSON Pointer."""

import hashlib
import json
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from typing import Any

from hooflast.catalog.plugin import CatalogFile
from hooflast.catalog.values import BootModel, Provenance
from hooflast.errors import Path, json_pointer


@dataclass(frozen=True, slots=True, kw_only=True)
class Files:
    """The catalog files that records were read from, to look a place up in. Each is read when it is first needed."""

    by_source: Mapping[tuple[str, str], CatalogFile] = field(default_factory=dict)
    _boots: dict[tuple[str, str], dict[str, tuple[int, dict[str, int]]]] = field(default_factory=dict)

    def place_of(self, boot: BootModel, *, size: str = "", axis: str = "") -> str:
        """The place of a boot model, of one of its sizes, or of that size's range on an axis; empty if not known."""
        key = _key(boot.provenance)
        file = self.by_source.get(key)
        if file is None:
            return ""
        if key not in self._boots:
            self._boots[key] = _boots_of(file)
        if boot.id not in self._boots[key]:
            return ""
        index, sizes = self._boots[key][boot.id]
        steps: Path = ("boots", index)
        if size in sizes:
            steps = (*steps, "sizes", sizes[size], *([axis] if axis else []))
        return called(file, steps) or json_pointer(steps)


def files_of(offered: Iterable[CatalogFile]) -> Files:
    """The files that were offered, by source and digest, as the provenance of their records names them."""
    return Files(
        by_source={(file.source, file.sha256 or hashlib.sha256(file.content).hexdigest()): file for file in offered}
    )


def _key(provenance: Provenance) -> tuple[str, str]:
    return provenance.source, provenance.sha256


def _boots_of(file: CatalogFile) -> dict[str, tuple[int, dict[str, int]]]:
    """The place of every boot model of a file that was read without a fault, and of its sizes."""
    content: Any = json.loads(file.content.decode("utf-8-sig"))
    return {
        boot["id"]: (index, {size["code"]: place for place, size in enumerate(boot["sizes"])})
        for index, boot in enumerate(content.get("boots", ()))
    }


def called(file: CatalogFile, steps: Path) -> str:
    """What people call a place in a file, or the nearest one around it that has a name; empty where none has."""
    for depth in range(len(steps), 0, -1):
        if name := file.places.get(json_pointer(steps[:depth])):
            return name
    return ""
