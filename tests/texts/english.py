"""English: what is said in English to a reader of another language.

An English sentence counts as a whole, or, where facts stand in it, by the longest of its parts between them. What the
other language writes the same is right in both.
"""

import html
import re
from functools import cache
from io import BytesIO
from typing import Final

from babel.messages.pofile import read_po

from hooflast.texts import DEFAULT_LANGUAGE, locale_folder
from hooflast.texts.negotiation import catalog_file
from hooflast.texts.sentences import PLACEHOLDER

FEWEST_WORDS: Final = 4
_WORD: Final = re.compile(r"[A-Za-z]+(?:['’][a-z]+)?")
_PARTS: Final = re.compile(rf"[\[\]]|{PLACEHOLDER.pattern}|\{{[a-z_!]+\}}")


@cache
def written(language: str) -> dict[str, tuple[str, ...]]:
    """Every sentence of a language, each with all its forms."""
    return _entries(catalog_file(language).read_bytes())


@cache
def written_by_click(language: str) -> dict[str, tuple[str, ...]]:
    """Every sentence of Click in a language, by the English one."""
    return _entries((locale_folder() / language / "LC_MESSAGES" / "click.po").read_bytes())


@cache
def english_parts(language: str) -> tuple[str, ...]:
    """What a reader of `language` should never see: parts of English sentences, each of a few words."""
    theirs = "\n".join(
        form for said in (written, written_by_click) for forms in said(language).values() for form in forms
    )
    ours = [form for forms in written(DEFAULT_LANGUAGE).values() for form in forms] + list(written_by_click(language))
    parts = {longest_part(sentence) for sentence in ours}
    return tuple(sorted(part for part in parts if len(_WORD.findall(part)) >= FEWEST_WORDS and part not in theirs))


def left_in_english(told: str, *, language: str) -> list[str]:
    """The English that stands in what was told; it may be HTML, SVG, JSON or lines of a terminal."""
    shown = " ".join(html.unescape(told).replace('\\"', '"').split())
    return [part for part in english_parts(language) if part in shown]


def longest_part(sentence: str) -> str:
    """A sentence, or what stands longest in it between two facts."""
    return max((" ".join(part.split()) for part in _PARTS.split(sentence) if part), key=len, default="")


def _entries(content: bytes) -> dict[str, tuple[str, ...]]:
    return {
        message.id if isinstance(message.id, str) else message.id[0]: (
            (message.string,) if isinstance(message.string, str) else tuple(message.string or ())
        )
        for message in read_po(BytesIO(content))
        if message.id
    }
