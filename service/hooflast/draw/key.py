"""Key: the entries below a picture that say what its marks mean, and its caption."""

from collections.abc import Callable, Sequence
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Box
from hooflast.draw.lettering import BODY, LEADING, letter, write
from hooflast.draw.sheet import WIDTH

Swatch = Callable[[Element, Box], None]

LEFT: Final = 14.0
RIGHT: Final = WIDTH - 14.0
_SWATCH: Final = 26.0
_GAP: Final = 8.0
_BETWEEN: Final = 18.0


def write_key(parent: Element, entries: Sequence[tuple[str, Swatch]], /, *, top: float) -> float:
    """Draw a sample and its meaning per entry, as many on a row as have room; the next free height is returned."""
    x, row_height = LEFT, 0.0
    for text, draw_swatch in entries:
        words = letter(text, width=RIGHT - LEFT - _SWATCH - _GAP)
        if not words.lines:
            continue
        width = _SWATCH + _GAP + words.width
        if x > LEFT and x + width > RIGHT:
            x, top, row_height = LEFT, top + row_height + 4, 0.0
        middle = top + BODY * LEADING / 2
        draw_swatch(parent, Box(left=x, top=middle - 6, right=x + _SWATCH, bottom=middle + 6))
        write(parent, words, x=x + _SWATCH + _GAP, top=top)
        x, row_height = x + width + _BETWEEN, max(row_height, words.height)
    return top + row_height


def write_caption(parent: Element, caption: str, /, *, top: float) -> float:
    """Write the caption across the sheet; the next free height is returned."""
    words = letter(caption, width=RIGHT - LEFT, kind="aside")
    return write(parent, words, x=LEFT, top=top).bottom
