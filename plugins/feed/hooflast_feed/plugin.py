"""Plugin: hands over the boots of a JSON feed."""

import json
from collections.abc import Iterator
from datetime import UTC, datetime

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
from hooflast_feed.mapping import catalog_of
from hooflast_feed.pages import fetch_feed, read_feed
from hooflast_feed.settings import FeedSettings


class FeedPlugin(CatalogPlugin):
    """A JSON feed. Its one source is the feed with all its pages."""

    about = About(name="feed", interface=(2, 2), capabilities=frozenset({Capability.NETWORK}), settings=FeedSettings)

    def discover(self, settings: FeedSettings) -> Iterator[Source]:
        """The feed."""
        yield Source(name=settings.url)

    def fetch(self, source: Source, *, settings: FeedSettings, held: Held | None) -> Fetched:
        """Every page that changed, and the others as they were."""
        before = read_feed(held.content) if held else None
        content = fetch_feed(settings, before=before).written()
        return fetched_now(source, content, held=held, today=datetime.now(UTC).date())

    def map(self, fetched: Fetched, *, settings: FeedSettings) -> Mapped:
        """What the expressions make of its pages."""
        document, places = catalog_of(read_feed(fetched.content).contents(), settings=settings)
        file = CatalogFile(
            source=fetched.source.name,
            retrieved_on=fetched.retrieved_on,
            content=json.dumps(document, ensure_ascii=False).encode(),
            places=places,
        )
        return Mapped(files=[file], complete=settings.complete)


plugin = FeedPlugin()
