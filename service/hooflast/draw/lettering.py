"""Lettering: how much room a text takes, how it breaks into lines, and how it is written onto the sheet.

Nobody knows which font a reader's screen will take, so widths are estimated from above: no common serif is wider.
"""

import unicodedata
from dataclasses import dataclass
from enum import StrEnum
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Box
from hooflast.draw.sheet import add, plain

BODY: Final = 12.5
LARGE: Final = 17.0
LEADING: Final = 1.25
"""Line height in font sizes."""

ABOVE: Final = 0.82
"""How far letters reach above their baseline, in font sizes."""

_EMS: Final = {
    **dict.fromkeys("ijl.,:;'’|! ·\u00a0\u202f", 0.34),
    **dict.fromkeys('ftIJ()[]-/"°', 0.44),
    **dict.fromkeys("rsz“”–", 0.52),
    **dict.fromkeys("aceovxyk", 0.61),
    **dict.fromkeys("DGHNOQUw", 0.88),
}
_USUAL: Final = 0.65
_CAPITAL: Final = 0.77
_WIDE: Final = 1.03
_BOLD: Final = 1.12


class Anchor(StrEnum):
    """Which side of a text stands at its place."""

    START = "start"
    MIDDLE = "middle"
    END = "end"


@dataclass(frozen=True, slots=True, kw_only=True)
class Lettering:
    """A text broken into lines, at a size, with the room it takes. Boldness shows in `kind`."""

    lines: tuple[str, ...]
    size: float
    kind: str
    width: float

    @property
    def height(self) -> float:
        return len(self.lines) * self.size * LEADING

    def box(self, *, x: float, top: float, anchor: Anchor = Anchor.START) -> Box:
        """Where the text stands when it is written there."""
        left = x - self.width * {Anchor.START: 0.0, Anchor.MIDDLE: 0.5, Anchor.END: 1.0}[anchor]
        return Box(left=left, top=top, right=left + self.width, bottom=top + self.height)


def text_width(text: str, *, size: float, kind: str = "") -> float:
    """An upper estimate of a line's width."""
    ems = sum(_ems(character) for character in unicodedata.normalize("NFD", text))
    return ems * size * (_BOLD if "strong" in kind else 1.0)


def _ems(character: str) -> float:
    if unicodedata.combining(character):
        return 0.0
    if character in _EMS:
        return _EMS[character]
    if character in "mMW%@&" or not character.isascii():
        return _WIDE
    return _CAPITAL if character.isupper() else _USUAL


def letter(text: str, *, width: float, size: float = BODY, kind: str = "") -> Lettering:
    """The text in as few lines as a width allows, about equally long; a word is broken only if it is wider itself."""
    lines = _lines(text, width=width, size=size, kind=kind)
    widest_word = max(text_width(word, size=size, kind=kind) for word in plain(text).split(" "))
    for narrower in (width * share / 20 for share in range(19, 9, -1)):
        if narrower < widest_word:
            break
        tried = _lines(text, width=narrower, size=size, kind=kind)
        if len(tried) > len(lines):
            break
        lines = tried
    widest = max((text_width(line, size=size, kind=kind) for line in lines), default=0.0)
    return Lettering(lines=lines, size=size, kind=kind, width=widest)


def _lines(text: str, *, width: float, size: float, kind: str) -> tuple[str, ...]:
    lines: list[str] = []
    for word in plain(text).split(" "):
        joined = f"{lines[-1]} {word}" if lines else word
        if text_width(joined, size=size, kind=kind) <= width:
            lines[-1:] = [joined]
        else:
            lines += _broken(word, width=width, size=size, kind=kind)
    return tuple(line for line in lines if line)


def _broken(word: str, *, width: float, size: float, kind: str) -> list[str]:
    parts = [""]
    for character in word:
        if parts[-1] and text_width(parts[-1] + character, size=size, kind=kind) > width:
            parts.append("")
        parts[-1] += character
    return parts


def write(parent: Element, lettering: Lettering, /, *, x: float, top: float, anchor: Anchor = Anchor.START) -> Box:
    """Write the text with its top at `top`, and tell where it stands. An empty text leaves no mark."""
    box = lettering.box(x=x, top=top, anchor=anchor)
    if not lettering.lines:
        return box
    baselines = [top + lettering.size * (ABOVE + LEADING * row) for row in range(len(lettering.lines))]
    text = add(parent, "text", x=x, y=baselines[0], font_size=lettering.size, text_anchor=anchor.value)
    if lettering.kind:
        text.set("class", lettering.kind)
    if len(lettering.lines) == 1:
        text.text = lettering.lines[0]
        return box
    for words, baseline in zip(lettering.lines, baselines, strict=True):
        add(text, "tspan", x=x, y=baseline).text = words
    return box
