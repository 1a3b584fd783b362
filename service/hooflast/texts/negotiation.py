"""Negotiation: which languages there are catalogs for, and which of them suits what a reader prefers.

A language is named by its tag (BCP 47), such as `en` or `pt-BR`; its folder is named the gettext way, `pt_BR`.
"""

import re
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from typing import Final

DEFAULT_LANGUAGE: Final = "en"
_LONGEST_HEADER: Final = 1_000
_PREFERENCE: Final = re.compile(
    r"(?P<range>\*|[A-Za-z]{1,8}(?:-[A-Za-z0-9]{1,8})*)"
    r"(?:\s*;\s*[qQ]=(?P<weight>0(?:\.[0-9]{0,3})?|1(?:\.0{0,3})?))?"
)


@cache
def languages() -> tuple[str, ...]:
    """The tags of the languages present, in alphabetical order."""
    present = (folder.name for folder in locale_folder().iterdir() if catalog_file(folder.name).is_file())
    return tuple(sorted(name.replace("_", "-") for name in present))


def catalog_file(language: str) -> Traversable:
    """Where the sentences of `language` are kept."""
    return locale_folder() / language.replace("-", "_") / "LC_MESSAGES" / "hooflast.po"


def negotiate(accept_language: str | None, *, default: str = DEFAULT_LANGUAGE) -> str:
    """The language to answer in, given an Accept-Language header (RFC 9110, section 12.5.4), or none.

    By the lookup of RFC 4647, section 3.4: each range, dearest first, is shortened from its end until a language
    matches. What cannot be read is passed over. Without a match `default` is spoken rather than nothing.
    """
    known = {tag.lower(): tag for tag in languages()}
    for wish in _wishes((accept_language or "")[:_LONGEST_HEADER]):
        for candidate in _shortened(wish.lower()):
            if candidate in known:
                return known[candidate]
    return default


def _wishes(header: str) -> list[str]:
    """The language ranges of a header, dearest first; a range of weight 0, and `*`, wish for nothing."""
    read = (_PREFERENCE.fullmatch(part.strip()) for part in header.split(","))
    weighed = [(float(found["weight"] or 1), found["range"]) for found in read if found]
    dearest_first = sorted(weighed, key=lambda pair: -pair[0])
    return [wish for weight, wish in dearest_first if weight > 0 and wish != "*"]


def _shortened(wish: str) -> list[str]:
    """`zh-hant-cn-x-private` as itself, then `zh-hant-cn`, `zh-hant`, `zh`: a single letter never ends a range."""
    subtags = wish.split("-")
    return ["-".join(subtags[:end]) for end in range(len(subtags), 0, -1) if end == 1 or len(subtags[end - 1]) > 1]


def locale_folder() -> Traversable:
    """Where there is one folder per language."""
    return files("hooflast.texts") / "locale"
