"""Plugin: hands over the demo catalog, one folder an edition, named by its day."""

from collections.abc import Iterator
from datetime import date
from importlib.resources import files
from importlib.resources.abc import Traversable
from pathlib import Path

from hooflast.catalog.plugin import CatalogFile, Edition


class DemoPlugin:
    """The demo catalog as a catalog plugin."""

    interface_version = 1
    name = "demo"

    def editions(self) -> Iterator[Edition]:
        """Every edition folder, from the package's data or, in a checkout, from the repository's catalog folder."""
        packed = files("hooflast_demo") / "editions"
        folder = packed if packed.is_dir() else Path(__file__).parents[3] / "catalog" / "demo"
        for edition in sorted(folder.iterdir(), key=lambda one: one.name):
            if edition.is_dir():
                yield _edition(edition)


def _edition(folder: Traversable) -> Edition:
    day = date.fromisoformat(folder.name)
    return Edition(
        released_on=day,
        files=[
            CatalogFile(source=f"{folder.name}/{file.name}", retrieved_on=day, content=file.read_bytes())
            for file in sorted(folder.iterdir(), key=lambda one: one.name)
            if file.name.endswith(".json")
        ],
        note=(folder / "note.txt").read_text(encoding="utf-8").strip(),
    )


plugin = DemoPlugin()
