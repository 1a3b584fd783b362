"""Plugin: what a catalog plugin is. The only module of Hooflast that a plugin imports.

A plugin is an installable package with one entry point in the group `hooflast.catalog`; the entry point names an
object that has what CatalogPlugin lists. It is loaded in a process of its own, with limits on time, memory and size,
and hands over catalog files as bytes, in the format that `hooflast/catalog/catalog-file.schema.json` describes, and
nothing else. The limits guard against mistakes; they are no sandbox for a plugin that means harm.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import date
from enum import StrEnum
from typing import Any, Final, Protocol, runtime_checkable

INTERFACE_VERSION: Final = 2
ENTRY_POINT_GROUP: Final = "hooflast.catalog"


class Capability(StrEnum):
    """What a plugin can be relied on for."""

    COMPLETE = "complete"
    """Each of its editions is all its makers offer: what is not in it is no longer offered."""

    HISTORY = "history"
    """It hands over past editions, too, each with its day."""

    NETWORK = "network"
    """It fetches from addresses outside this machine."""


@dataclass(frozen=True, slots=True, kw_only=True)
class About:
    """What a plugin is called, which interface versions it was written for, and what it can do.

    `name` is lower-case letters, digits and hyphens, and the plugin's own. `interface` is the first and the last
    version that it knows, as numbers in its own text, never INTERFACE_VERSION itself. `settings` is the pydantic
    model of its settings, or None if it has none; with settings that have no defaults it waits until they are given.
    """

    name: str
    interface: tuple[int, int]
    capabilities: frozenset[Capability] = frozenset()
    settings: Any = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Source:
    """One thing to fetch: a file name, an address, a query. `released_on` is the day of the edition it belongs to;
    without it, it is what is offered now. `note` says what is new in that edition.
    """

    name: str
    released_on: date | None = None
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Held:
    """What was fetched from a source the last time: its version (such as an ETag) and its bytes."""

    version: str
    content: bytes


@dataclass(frozen=True, slots=True, kw_only=True)
class Fetched:
    """The bytes of a source as they came. `version` is what a later fetch can be made conditional on."""

    source: Source
    retrieved_on: date
    content: bytes
    version: str = ""


def fetched_now(source: Source, content: bytes, *, held: Held | None, today: date) -> Fetched:
    """What is offered now, from a source that does not say since when.

    It has today's day or, while it stays the same, the day on which it first came; its version is that day.
    """
    day = held.version if held is not None and held.content == content else today.isoformat()
    return Fetched(source=source, retrieved_on=date.fromisoformat(day), content=content, version=day)


@dataclass(frozen=True, slots=True, kw_only=True)
class CatalogFile:
    """One catalog file: where it came from (a file name or an address), when, and its bytes.

    Where the bytes were made from something else, `sha256` is the digest of what was fetched, and `places` leads from
    JSON Pointers of the file to what people call the place there, such as a cell; faults are told with it.
    """

    source: str
    retrieved_on: date
    content: bytes
    sha256: str = ""
    places: Mapping[str, str] = field(default_factory=dict)


class Fate(StrEnum):
    """What became of one row of a source."""

    USED = "used"
    SKIPPED = "skipped"
    REFUSED = "refused"


@dataclass(frozen=True, slots=True, kw_only=True)
class RowFate:
    """What became of one row of a source, in words: where it stands, and why."""

    place: str
    fate: Fate
    why: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mapped:
    """What a fetched source means: catalog files, and what became of each of its rows, where it has rows.

    `complete` says of this source alone what the capability COMPLETE says of all.
    """

    files: Sequence[CatalogFile]
    complete: bool = False
    rows: Sequence[RowFate] = field(default_factory=tuple)


@runtime_checkable
class CatalogPlugin(Protocol):
    """A source of boot models. The steps are called in this order for each source; each may raise, and is then told.

    A plugin that is written as a subclass needs `about`, `discover` and `fetch` only. `settings` is an instance of
    `about.settings`, or None.
    """

    about: About
    """What the plugin is."""

    def discover(self, settings: Any) -> Iterable[Source]:
        """What there is to fetch."""

    def fetch(self, source: Source, *, settings: Any, held: Held | None) -> Fetched:
        """One source's bytes. `held` is what came the last time, for a conditional request."""

    def map(self, fetched: Fetched, *, settings: Any) -> Mapped:  # noqa: ARG002 (one that maps by them has them)
        """What the bytes mean, as catalog files: unless it is said otherwise, they are a catalog file already."""
        file = CatalogFile(source=fetched.source.name, retrieved_on=fetched.retrieved_on, content=fetched.content)
        return Mapped(files=[file])

    def validate(self, files: Sequence[CatalogFile], *, settings: Any) -> Iterable[str]:  # noqa: ARG002
        """What the plugin itself finds wrong with one edition's files, a sentence each; any of them refuses it."""
        return ()
