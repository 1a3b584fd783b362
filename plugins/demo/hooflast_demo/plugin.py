"""Plugin: hands over the demo catalog, one folder an edition, named by its day."""

from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from hooflast.catalog.plugin import About, Capability, CatalogPlugin, Fetched, Held, Source


class DemoPlugin(CatalogPlugin):
    """The demo catalog as a catalog plugin. A source is one file of one edition, such as `2026-03-01/ombrick.json`."""

    about = About(name="demo", interface=(2, 2), capabilities=frozenset({Capability.COMPLETE, Capability.HISTORY}))

    def discover(self, settings: None) -> Iterator[Source]:
        """Every file of every edition."""
        for edition in _in_order(_editions()):
            if edition.is_dir():
                note = (edition / "note.txt").read_text(encoding="utf-8").strip()
                for file in _in_order(edition):
                    if file.name.endswith(".json"):
                        yield Source(
                            name=f"{edition.name}/{file.name}", released_on=date.fromisoformat(edition.name), note=note
                        )

    def fetch(self, source: Source, *, settings: None, held: Held | None) -> Fetched:
        """One file's bytes, which never change after its day."""
        edition, _, name = source.name.partition("/")
        content = (_editions() / edition / name).read_bytes()
        return Fetched(source=source, retrieved_on=date.fromisoformat(edition), content=content)


def _editions() -> Traversable:
    """The package's data or, in a checkout, the repository's catalog folder."""
    packed = files("hooflast_demo") / "editions"
    return packed if packed.is_dir() else Path(__file__).parents[3] / "catalog" / "demo"


def _in_order(folder: Traversable) -> list[Traversable]:
    return sorted(folder.iterdir(), key=lambda one: one.name)


plugin = DemoPlugin()
