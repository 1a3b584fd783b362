"""Offers: what one plugin hands over, copied and bounded, or PluginFailed with the reason."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from importlib.metadata import EntryPoint
from itertools import islice, pairwise
from typing import Final, TypeVar

from hooflast.catalog.plugin import INTERFACE_VERSION, CatalogFile, CatalogPlugin, Edition
from hooflast.errors import PluginFailed

MOST_EDITIONS: Final = 200
MOST_FILES: Final = 500
MOST_FILE_BYTES: Final = 4_000_000
_NAME: Final = re.compile(r"[a-z][a-z0-9-]{1,79}")
_LONGEST_TEXT: Final = 2000

T = TypeVar("T")


@dataclass(frozen=True, slots=True, kw_only=True)
class Offer:
    """A plugin's name and its editions, oldest first, as Hooflast's own copies."""

    plugin: str
    editions: tuple[Edition, ...]


def take_offer(entry_point: EntryPoint) -> Offer:
    """Load the plugin behind an entry point and take all it offers. Raises PluginFailed, and nothing else."""
    try:
        return _taken(entry_point.load())
    except _RefusedError as refusal:
        reason = str(refusal)
    except (Exception, SystemExit) as error:
        reason = f"it raised {_told(error)}"
    raise PluginFailed(plugin=entry_point.name, reason=reason)


class _RefusedError(Exception):
    """What the plugin handed over is not what the interface asks for."""


def _taken(plugin: object) -> Offer:
    if isinstance(plugin, type) or not isinstance(plugin, CatalogPlugin):
        raise _RefusedError("its entry point names no catalog plugin object (interface_version, name, editions)")
    if plugin.interface_version != INTERFACE_VERSION:
        raise _RefusedError(
            f"it was written for interface version {plugin.interface_version!r}, this is {INTERFACE_VERSION}"
        )
    name = plugin.name
    if type(name) is not str or not _NAME.fullmatch(name):
        raise _RefusedError(f"its name is {name!r}, not lower-case letters, digits and hyphens")
    editions = sorted(
        (_own_edition(edition) for edition in _bounded(plugin.editions(), most=MOST_EDITIONS, what="editions")),
        key=lambda edition: edition.released_on,
    )
    for older, newer in pairwise(editions):
        if older.released_on == newer.released_on:
            raise _RefusedError(f"it offers two editions of {newer.released_on}")
    return Offer(plugin=name, editions=tuple(editions))


def _own_edition(edition: object) -> Edition:
    if not isinstance(edition, Edition):
        raise _RefusedError(f"it offers a {type(edition).__name__} where an Edition belongs")
    released_on = _exactly(edition.released_on, kind=date, what="released_on")
    files = tuple(_own_file(file) for file in _bounded(edition.files, most=MOST_FILES, what="files in one edition"))
    if not files:
        raise _RefusedError(f"its edition of {released_on} has no files")
    if len({file.source for file in files}) < len(files):
        raise _RefusedError(f"its edition of {released_on} has two files of one source")
    return Edition(released_on=released_on, files=files, note=_text(edition.note, what="note"))


def _own_file(file: object) -> CatalogFile:
    if not isinstance(file, CatalogFile):
        raise _RefusedError(f"it offers a {type(file).__name__} where a CatalogFile belongs")
    content = _exactly(file.content, kind=bytes, what="content")
    if len(content) > MOST_FILE_BYTES:
        raise _RefusedError(f"a file of {len(content)} bytes is larger than {MOST_FILE_BYTES}")
    return CatalogFile(
        source=_text(file.source, what="source"),
        retrieved_on=_exactly(file.retrieved_on, kind=date, what="retrieved_on"),
        content=content,
    )


def _bounded(things: Iterable[T], *, most: int, what: str) -> list[T]:
    """The things, of which a generator may have no end."""
    taken = list(islice(things, most + 1))
    if len(taken) > most:
        raise _RefusedError(f"it offers more than {most} {what}")
    return taken


def _exactly(value: object, *, kind: type[T], what: str) -> T:
    """The value if it is of the very type: a subclass could behave otherwise the next time it is asked."""
    if type(value) is not kind:
        raise _RefusedError(f"{what} is a {type(value).__name__}, not a {kind.__name__}")
    return value


def _text(value: object, *, what: str) -> str:
    text = _exactly(value, kind=str, what=what)
    if len(text) > _LONGEST_TEXT or not text.replace("\n", "").isprintable():
        raise _RefusedError(f"{what} is longer than {_LONGEST_TEXT} characters or has some that cannot be printed")
    return text


def _told(error: BaseException) -> str:
    try:
        return f"{type(error).__name__}: {error}"[:_LONGEST_TEXT]
    except Exception:
        return f"{type(error).__name__}, which cannot say what it is"
