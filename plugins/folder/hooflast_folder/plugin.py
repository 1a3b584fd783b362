"""Plugin: hands over the catalog files of a folder, one sub-folder an edition."""

import re
from collections.abc import Iterator
from datetime import UTC, date, datetime
from pathlib import Path
from typing import Final

from pydantic import BaseModel, ConfigDict, DirectoryPath, Field

from hooflast.catalog.plugin import About, Capability, CatalogFile, CatalogPlugin, Fetched, Held, Mapped, Source
from hooflast_folder.yaml_as_json import yaml_as_json

YAML: Final = frozenset({".yaml", ".yml"})
READ: Final = YAML | {".json"}
NOTE: Final = "note.txt"
_DAY: Final = re.compile(r"\d{4}-\d{2}-\d{2}")


class FolderSettings(BaseModel):
    """Where the files are, and whether each edition is all that its makers offer."""

    model_config = ConfigDict(extra="forbid", frozen=True)

    folder: DirectoryPath = Field(description="The folder of catalog files.")
    complete: bool = Field(default=False, description="Whether what is missing from an edition is no longer offered.")


class FolderPlugin(CatalogPlugin):
    """A folder of catalog files. A source is one file, named by its path in the folder."""

    about = About(
        name="folder", interface=(2, 2), capabilities=frozenset({Capability.HISTORY}), settings=FolderSettings
    )

    def discover(self, settings: FolderSettings) -> Iterator[Source]:
        """The files of every edition's folder, and those that stand in none."""
        yield from _sources(settings.folder, inside=settings.folder, released_on=None)
        for folder in _in_order(settings.folder):
            if folder.is_dir() and _DAY.fullmatch(folder.name):
                yield from _sources(folder, inside=settings.folder, released_on=date.fromisoformat(folder.name))

    def fetch(self, source: Source, *, settings: FolderSettings, held: Held | None) -> Fetched:
        """One file's bytes, and the day it was changed on."""
        file = settings.folder / source.name
        if not file.resolve().is_relative_to(settings.folder.resolve()):
            raise ValueError(f"{source.name} leads out of {settings.folder}")
        changed_on = datetime.fromtimestamp(file.stat().st_mtime, tz=UTC).date()
        return Fetched(source=source, retrieved_on=changed_on, content=file.read_bytes())

    def map(self, fetched: Fetched, *, settings: FolderSettings) -> Mapped:
        """JSON is a catalog file as it is; YAML is written as the JSON it stands for."""
        name, content = fetched.source.name, fetched.content
        if Path(name).suffix in YAML:
            content = yaml_as_json(content)
        file = CatalogFile(source=name, retrieved_on=fetched.retrieved_on, content=content)
        return Mapped(files=[file], complete=settings.complete)


def _sources(folder: Path, *, inside: Path, released_on: date | None) -> Iterator[Source]:
    note = folder / NOTE
    said = note.read_text(encoding="utf-8").strip() if note.is_file() else ""
    for file in _in_order(folder):
        if file.is_file() and file.suffix in READ and not file.name.startswith("."):
            yield Source(name=file.relative_to(inside).as_posix(), released_on=released_on, note=said)


def _in_order(folder: Path) -> list[Path]:
    return sorted(folder.iterdir(), key=lambda one: one.name)


plugin = FolderPlugin()
