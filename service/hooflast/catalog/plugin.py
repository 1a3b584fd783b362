"""Plugin: what a catalog plugin is. The only module of Hooflast that a plugin imports.

A plugin is an installable package with one entry point in the group `hooflast.catalog`; the entry point names an
object that has what CatalogPlugin lists. It hands over catalog files as bytes, in the format that
`hooflast/catalog/catalog-file.schema.json` describes, and nothing else.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Final, Protocol, runtime_checkable

INTERFACE_VERSION: Final = 1
ENTRY_POINT_GROUP: Final = "hooflast.catalog"


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogFile:
    """One catalog file: where it came from (a file name or an address), when, and its bytes."""

    source: str
    retrieved_on: date
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """Everything a plugin's makers offer from `released_on` until its next edition; `note` says what is new."""

    released_on: date
    files: Sequence[CatalogFile]
    note: str = ""


@runtime_checkable
class CatalogPlugin(Protocol):
    """A source of boot models. `name` is lower-case letters, digits and hyphens, and the plugin's own."""

    @property
    def interface_version(self) -> int:
        """The interface version it was written for: a number in its own text, never INTERFACE_VERSION itself."""

    @property
    def name(self) -> str:
        """What the plugin is called in provenance and reports."""

    def editions(self) -> Iterable[Edition]:
        """Every edition the plugin offers, in any order, each date once."""
