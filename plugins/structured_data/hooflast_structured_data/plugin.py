"""Plugin: hands over the boots that schema.org data describes."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

from hooflast.catalog.plugin import About, Capability, CatalogFile, CatalogPlugin, Fetched, Held, Mapped, Source
from hooflast_fetching import fetch
from hooflast_structured_data.json_ld import objects_of
from hooflast_structured_data.products import read_products
from hooflast_structured_data.settings import StructuredDataSettings

_DAY_AND_VERSION = " "


class StructuredDataPlugin(CatalogPlugin):
    """schema.org data. A source is one file, or one address."""

    about = About(
        name="structured-data",
        interface=(2, 2),
        capabilities=frozenset({Capability.NETWORK}),
        settings=StructuredDataSettings,
    )

    def discover(self, settings: StructuredDataSettings) -> Iterator[Source]:
        """The files and the addresses."""
        yield from (Source(name=file.name) for file in settings.files)
        yield from (Source(name=address) for address in settings.addresses)

    def fetch(self, source: Source, *, settings: StructuredDataSettings, held: Held | None) -> Fetched:
        """A file's bytes, or an address's if they changed."""
        file = next((file for file in settings.files if file.name == source.name), None)
        if file is not None:
            changed_on = datetime.fromtimestamp(Path(file).stat().st_mtime, tz=UTC).date()
            return Fetched(source=source, retrieved_on=changed_on, content=Path(file).read_bytes())
        day, _, known_as = held.version.partition(_DAY_AND_VERSION) if held else ("", "", "")
        page = fetch(source.name, settings=settings.fetching, known_as=known_as)
        if held is not None and (page is None or page.content == held.content):
            return Fetched(
                source=source, retrieved_on=date.fromisoformat(day), content=held.content, version=held.version
            )
        if page is None:
            raise ValueError(f"{source.name} says that it has not changed, and nothing is held of it")
        today = datetime.now(UTC).date()
        version = f"{today}{_DAY_AND_VERSION}{page.version}"
        return Fetched(source=source, retrieved_on=today, content=page.content, version=version)

    def map(self, fetched: Fetched, *, settings: StructuredDataSettings) -> Mapped:
        """The boots that its products tell."""
        found = read_products(objects_of(fetched.content), settings=settings)
        file = CatalogFile(
            source=fetched.source.name,
            retrieved_on=fetched.retrieved_on,
            content=json.dumps(found.document(settings), ensure_ascii=False).encode(),
        )
        rows = [replace(row, place=f"{fetched.source.name}: {row.place}") for row in found.fates]
        return Mapped(files=[file], rows=rows, complete=settings.complete)


plugin = StructuredDataPlugin()
