"""Plugin: hands over the size charts of spreadsheets as catalog files."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

from hooflast.catalog.plugin import About, CatalogFile, CatalogPlugin, Fetched, Held, Mapped, Source
from hooflast_spreadsheet.mapping import map_tables
from hooflast_spreadsheet.settings import SpreadsheetSettings
from hooflast_spreadsheet.tables import read_tables


class SpreadsheetPlugin(CatalogPlugin):
    """Size charts in spreadsheets. A source is one file, by its name."""

    about = About(name="spreadsheet", interface=(2, 2), settings=SpreadsheetSettings)

    def discover(self, settings: SpreadsheetSettings) -> Iterator[Source]:
        """The files that the settings name."""
        return (Source(name=file.name, released_on=settings.released_on) for file in settings.files)

    def fetch(self, source: Source, *, settings: SpreadsheetSettings, held: Held | None) -> Fetched:
        """One file's bytes, and the day it was changed on."""
        file = next(file for file in settings.files if file.name == source.name)
        changed_on = datetime.fromtimestamp(Path(file).stat().st_mtime, tz=UTC).date()
        return Fetched(source=source, retrieved_on=changed_on, content=Path(file).read_bytes())

    def map(self, fetched: Fetched, *, settings: SpreadsheetSettings) -> Mapped:
        """What the mapping makes of its rows."""
        mapping, name = settings.read_mapping(), fetched.source.name
        found = map_tables(read_tables(fetched.content, name=name), mapping=mapping)
        document = found.document([maker.model_dump() for maker in mapping.makers])
        file = CatalogFile(
            source=name,
            retrieved_on=fetched.retrieved_on,
            content=json.dumps(document, ensure_ascii=False).encode(),
            places=found.cells,
        )
        rows = [replace(row, place=f"{name}: {row.place}") for row in found.rows]
        return Mapped(files=[file], rows=rows, complete=settings.complete)


plugin = SpreadsheetPlugin()
