"""Plugin: hands over the boots and sizes that a query gives."""

import json
from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime
from hashlib import sha256

from sqlalchemy import make_url

from hooflast.catalog.plugin import (
    About,
    Capability,
    CatalogFile,
    CatalogPlugin,
    Fetched,
    Held,
    Mapped,
    Source,
    fetched_now,
)
from hooflast_sql.rows import catalog_of, read_rows
from hooflast_sql.settings import SqlSettings


class SqlPlugin(CatalogPlugin):
    """A query on a database. Its one source is what the query gives."""

    about = About(name="sql", interface=(2, 2), capabilities=frozenset({Capability.NETWORK}), settings=SqlSettings)

    def discover(self, settings: SqlSettings) -> Iterator[Source]:
        """The query, called by its database without the password, and by its own digest."""
        database = make_url(settings.address()).render_as_string(hide_password=True)
        yield Source(name=f"{database} {sha256(settings.query.encode()).hexdigest()[:12]}")

    def fetch(self, source: Source, *, settings: SqlSettings, held: Held | None) -> Fetched:
        """The rows. The same rows as the last time have the day of the last time."""
        return fetched_now(source, read_rows(settings), held=held, today=datetime.now(UTC).date())

    def map(self, fetched: Fetched, *, settings: SqlSettings) -> Mapped:
        """The boots and sizes that the rows stand for."""
        document, places, rows = catalog_of(json.loads(fetched.content), settings=settings)
        file = CatalogFile(
            source=fetched.source.name,
            retrieved_on=fetched.retrieved_on,
            content=json.dumps(document, ensure_ascii=False).encode(),
            places=places,
        )
        named = [replace(row, place=f"{fetched.source.name}: {row.place}") for row in rows]
        return Mapped(files=[file], rows=named, complete=settings.complete)


plugin = SqlPlugin()
