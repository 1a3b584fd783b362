"""Offers: what one plugin hands over when asked, copied and bounded, or the reason why it cannot be used.

`take_offer` runs in the plugin's own process (`plugin_process`) and trusts nothing that the plugin returns.
"""

import re
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from enum import Enum
from hashlib import sha256
from itertools import groupby, islice
from typing import Any, Final, TypeVar

from hooflast.catalog.plugin import (
    INTERFACE_VERSION,
    About,
    Capability,
    CatalogFile,
    CatalogPlugin,
    Fate,
    Fetched,
    Held,
    Mapped,
    RowFate,
    Source,
)
from hooflast.catalog.plugin_settings import SettingsUnsuitable, hidden, read_settings

MOST_SOURCES: Final = 2_000
MOST_FILES: Final = 500
MOST_ROWS: Final = 200_000
MOST_FILE_BYTES: Final = 4_000_000
MOST_FINDINGS: Final = 1_000
_NAME: Final = re.compile(r"[a-z][a-z0-9-]{1,79}")
_DIGEST: Final = re.compile(r"[0-9a-f]{64}|")
_LONGEST_TEXT: Final = 2000

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """What a plugin's makers offer from `released_on` until its next edition; `note` says what is new.

    A `complete` one is everything they offer; what is not in another is still offered. `findings` are what the plugin
    itself finds wrong with it; any of them refuses it.
    """

    released_on: date
    files: Sequence[CatalogFile]
    note: str = ""
    complete: bool = False
    findings: Sequence[str] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A plugin's name and its editions, oldest first, with what became of every row it read.

    `waits_for` names the settings that it cannot do without and that were not given; it then offers nothing.
    `fetched` is what can be handed to the next fetch of each source.
    """

    plugin: str
    capabilities: frozenset[Capability] = frozenset()
    editions: tuple[Edition, ...] = ()
    rows: tuple[RowFate, ...] = ()
    waits_for: tuple[str, ...] = ()
    fetched: Mapping[str, Held] = field(default_factory=dict)

    def without(self, secrets: Iterable[str]) -> "Offer":
        """The same with every secret blotted out of what is told of it: findings, and why rows have their fate."""
        listed = frozenset(secrets)
        if not listed:
            return self
        return replace(
            self,
            editions=tuple(
                replace(one, findings=tuple(hidden(finding, secrets=listed) for finding in one.findings))
                for one in self.editions
            ),
            rows=tuple(replace(row, why=hidden(row.why, secrets=listed)) for row in self.rows),
        )


class OfferRefused(Exception):
    """What the plugin handed over is not what the interface asks for."""


OnStep = Callable[[str, str], None]
"""Told the name of a step, and of the source or the edition that it is about, before each of them begins."""


def unheard_step(_step: str, _about: str) -> None:
    """Nobody listens."""


def take_offer(
    plugin: object, *, given: Mapping[str, Any] | None, held: Mapping[str, Held], on_step: OnStep = unheard_step
) -> Offer:
    """All that a plugin offers with the settings `given`. Raises OfferRefused and whatever the plugin raises."""
    if isinstance(plugin, type) or not isinstance(plugin, CatalogPlugin):
        raise OfferRefused("its entry point names no catalog plugin object (about, discover, fetch, map, validate)")
    about = _own_about(plugin.about)
    settings, waits_for = _settings(about, given)
    if waits_for:
        return Offer(plugin=about.name, capabilities=about.capabilities, waits_for=waits_for)
    on_step("discover", "")
    found = _bounded(plugin.discover(settings), most=MOST_SOURCES, what="sources", by="discover")
    sources = [_own_source(one) for one in found]
    if len({source.name for source in sources}) < len(sources):
        raise OfferRefused("it discovers two sources of one name")
    read = [_read(plugin, one, settings=settings, held=held.get(one.name), on_step=on_step) for one in sources]
    return Offer(
        plugin=about.name,
        capabilities=about.capabilities,
        editions=tuple(_editions(plugin, read, about=about, settings=settings, on_step=on_step)),
        rows=tuple(row for one in read for row in one.rows)[:MOST_ROWS],
        fetched={
            one.fetched.source.name: Held(version=one.fetched.version, content=one.fetched.content)
            for one in read
            if one.fetched.version
        },
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class _Read:
    """One source fetched and mapped."""

    fetched: Fetched
    files: tuple[CatalogFile, ...]
    rows: tuple[RowFate, ...]
    is_complete: bool


def _read(plugin: CatalogPlugin, source: Source, *, settings: Any, held: Held | None, on_step: OnStep) -> _Read:
    on_step("fetch", source.name)
    fetched = _own_fetched(plugin.fetch(source, settings=settings, held=held), source=source)
    on_step("map", source.name)
    mapped = plugin.map(fetched, settings=settings)
    if not isinstance(mapped, Mapped):
        raise OfferRefused(f"it maps to a {type(mapped).__name__} where a Mapped belongs")
    digest = sha256(fetched.content).hexdigest()
    files = _bounded(mapped.files, most=MOST_FILES, what="files from one source", by="map")
    rows = _bounded(mapped.rows, most=MOST_ROWS, what="rows in one source", by="map")
    return _Read(
        fetched=fetched,
        files=tuple(_own_file(file, digest=digest) for file in files),
        rows=tuple(_own_row(row) for row in rows),
        is_complete=_exactly(mapped.complete, kind=bool, what="complete"),
    )


def _editions(
    plugin: CatalogPlugin, read: Sequence[_Read], *, about: About, settings: Any, on_step: OnStep
) -> Iterable[Edition]:
    """What was read, by the day of its edition, oldest first. What is offered now has the day it last came on."""
    now = max((one.fetched.retrieved_on for one in read if one.fetched.source.released_on is None), default=date.min)

    def day_of(one: _Read) -> date:
        return one.fetched.source.released_on or now

    for day, together in groupby(sorted(read, key=day_of), key=day_of):
        parts = list(together)
        files = tuple(file for part in parts for file in part.files)
        if not files:
            raise OfferRefused(f"its edition of {day} has no files")
        if len(files) > MOST_FILES:
            raise OfferRefused(f"it offers more than {MOST_FILES} files in one edition")
        if len({file.source for file in files}) < len(files):
            raise OfferRefused(f"its edition of {day} has two files of one source")
        on_step("validate", day.isoformat())
        found = plugin.validate(files, settings=settings)
        findings = _bounded(found, most=MOST_FINDINGS, what="findings", by="validate")
        notes = dict.fromkeys(part.fetched.source.note for part in parts if part.fetched.source.note)
        yield Edition(
            released_on=day,
            files=files,
            note="\n".join(notes),
            complete=Capability.COMPLETE in about.capabilities or all(part.is_complete for part in parts),
            findings=tuple(_text(finding, what="finding") for finding in findings),
        )


def _own_about(about: object) -> About:
    if not isinstance(about, About):
        raise OfferRefused(f"its about is a {type(about).__name__}, not an About")
    name = about.name
    if type(name) is not str or not _NAME.fullmatch(name):
        raise OfferRefused(f"its name is {name!r}, not lower-case letters, digits and hyphens")
    versions = _bounded(about.interface, most=2, what="interface versions", by="about")
    if len(versions) < 2:
        raise OfferRefused(f"its interface is {about.interface!r}, not the first and the last version it knows")
    first, last = (_exactly(version, kind=int, what="an interface version") for version in versions)
    if not first <= INTERFACE_VERSION <= last:
        raise OfferRefused(f"it was written for interface versions {first} to {last}, this is {INTERFACE_VERSION}")
    capabilities = frozenset(
        _exactly(one, kind=Capability, what="a capability")
        for one in _bounded(about.capabilities, most=len(Capability), what="capabilities", by="about")
    )
    return About(name=name, interface=(first, last), capabilities=capabilities, settings=about.settings)


def _settings(about: About, given: Mapping[str, Any] | None) -> tuple[Any, tuple[str, ...]]:
    """The plugin's settings; or, where none were given and it cannot do without some, their names."""
    if about.settings is None:
        if given:
            raise OfferRefused(f"it has no settings, and was given {', '.join(sorted(given))}")
        return None, ()
    needed = tuple(name for name, one in about.settings.model_fields.items() if one.is_required())
    if given is None and needed:
        return None, needed
    try:
        return read_settings(about.settings, given or {}), ()
    except SettingsUnsuitable as unsuitable:
        raise OfferRefused(f"its settings do not suit it: {unsuitable}") from None


def _own_source(source: object) -> Source:
    if not isinstance(source, Source):
        raise OfferRefused(f"it discovers a {type(source).__name__} where a Source belongs")
    day = source.released_on
    return Source(
        name=_text(source.name, what="a source's name"),
        released_on=None if day is None else _exactly(day, kind=date, what="released_on"),
        note=_text(source.note, what="note"),
    )


def _own_fetched(fetched: object, *, source: Source) -> Fetched:
    if not isinstance(fetched, Fetched):
        raise OfferRefused(f"it fetches a {type(fetched).__name__} where a Fetched belongs")
    return Fetched(
        source=source,
        retrieved_on=_exactly(fetched.retrieved_on, kind=date, what="retrieved_on"),
        content=_content(fetched.content),
        version=_text(fetched.version, what="version"),
    )


def _own_file(file: object, *, digest: str) -> CatalogFile:
    if not isinstance(file, CatalogFile):
        raise OfferRefused(f"it offers a {type(file).__name__} where a CatalogFile belongs")
    own = _text(file.sha256, what="sha256")
    if not _DIGEST.fullmatch(own):
        raise OfferRefused(f"sha256 is {own!r}, not 64 hexadecimal digits")
    if not isinstance(file.places, Mapping):
        raise OfferRefused(f"places is a {type(file.places).__name__}, not a mapping from JSON Pointers to places")
    return CatalogFile(
        source=_text(file.source, what="source"),
        retrieved_on=_exactly(file.retrieved_on, kind=date, what="retrieved_on"),
        content=_content(file.content),
        sha256=own or digest,
        places={
            _text(pointer, what="a pointer"): _text(place, what="a place")
            for pointer, place in _bounded(file.places.items(), most=MOST_ROWS, what="places in one file", by="map")
        },
    )


def _own_row(row: object) -> RowFate:
    if not isinstance(row, RowFate):
        raise OfferRefused(f"it tells of a {type(row).__name__} where a RowFate belongs")
    return RowFate(
        place=_text(row.place, what="a row's place"),
        fate=_exactly(row.fate, kind=Fate, what="a row's fate"),
        why=_text(row.why, what="a row's why"),
    )


def _content(content: object) -> bytes:
    content = _exactly(content, kind=bytes, what="content")
    if len(content) > MOST_FILE_BYTES:
        raise OfferRefused(f"a file of {len(content)} bytes is larger than {MOST_FILE_BYTES}")
    return content


def _bounded(things: Iterable[T], *, most: int, what: str, by: str) -> list[T]:
    """The things, of which a generator may have no end. `by` is the member of the plugin that they are from."""
    try:
        one_by_one = iter(things)
    except TypeError:
        raise OfferRefused(f"`{by}` has a {type(things).__name__} where {what} belong") from None
    taken = list(islice(one_by_one, most + 1))
    if len(taken) > most:
        raise OfferRefused(f"it offers more than {most} {what}")
    return taken


def _exactly(value: object, *, kind: type[T], what: str) -> T:
    """The value if it is of the very type: a subclass could behave otherwise the next time it is asked."""
    if type(value) is not kind:
        raise OfferRefused(f"{what} is a {type(value).__name__}, not a {kind.__name__}{_members(kind)}")
    return value


def _members(kind: type) -> str:
    """What an enum's members are called; empty for another type."""
    return f" ({', '.join(f'{kind.__name__}.{one.name}' for one in kind)})" if issubclass(kind, Enum) else ""


def _text(value: object, *, what: str) -> str:
    text = _exactly(value, kind=str, what=what)
    if len(text) > _LONGEST_TEXT or not text.replace("\n", "").isprintable():
        raise OfferRefused(f"{what} is longer than {_LONGEST_TEXT} characters or has some that cannot be printed")
    return text
