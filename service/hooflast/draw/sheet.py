"""Sheet: the paper a picture is drawn on: an SVG root with its names, style and patterns, to which marks are added.

Coordinates are rounded to two decimals, attributes keep their order, ids begin with the picture's prefix: the same
value always gives the same text.
"""

import re
from typing import Final
from xml.etree.ElementTree import Element, SubElement, tostring

from hooflast.draw.style import style_sheet
from hooflast.draw.values import Identity

WIDTH: Final = 320.0
"""Width of every picture in its own units: one unit is one CSS pixel on a narrow phone."""

_BREAKING_SPACES: Final = re.compile(r"[^\S\u00a0\u202f]+")
_NOT_XML: Final = re.compile("[^\t\n\r\u0020-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def number(value: float) -> str:
    """A number with at most two decimals, and no more of them than it needs."""
    return f"{round(value, 2) + 0.0:.2f}".rstrip("0").rstrip(".")


def plain(text: str) -> str:
    """The text on one line, with what XML 1.0 cannot carry (section 2.2) replaced by U+FFFD.

    No-break spaces stay: they keep a number beside its unit.
    """
    return _BREAKING_SPACES.sub(" ", _NOT_XML.sub("\ufffd", text)).strip()


def add(parent: Element, tag: str, /, **attributes: str | float) -> Element:
    """A new child. `kind` becomes the class, `a_b` the attribute a-b; numbers are rounded."""
    named = {"class" if name == "kind" else name.replace("_", "-"): value for name, value in attributes.items()}
    return SubElement(
        parent, tag, {name: value if isinstance(value, str) else number(value) for name, value in named.items()}
    )


def line(parent: Element, kind: str, /, *, start: tuple[float, float], end: tuple[float, float]) -> Element:
    """A straight line."""
    return add(parent, "line", kind=f"line {kind}", x1=start[0], y1=start[1], x2=end[0], y2=end[1])


class Sheet:
    """One picture being drawn; `render` closes it at a height."""

    def __init__(self, identity: Identity) -> None:
        self.prefix = identity.prefix
        names = {"title": identity.title, "desc": identity.desc}
        self._root = Element(
            "svg",
            {
                "xmlns": "http://www.w3.org/2000/svg",
                "id": self.prefix,
                "width": "100%",
                "role": "img",
                "aria-labelledby": " ".join(self.name(tag) for tag in names),
                **({"lang": plain(identity.language)} if identity.language else {}),
            },
        )
        for tag, text in names.items():
            add(self._root, tag, id=self.name(tag)).text = plain(text)
        add(self._root, "style").text = style_sheet(self.prefix)
        self._add_patterns()
        self._paper = add(self._root, "rect", kind="paper", width=WIDTH)

    def name(self, part: str) -> str:
        """The id of a part of this picture."""
        return f"{self.prefix}-{part}"

    def fill(self, pattern: str) -> str:
        """The reference to one of the sheet's patterns: hatch or stipple."""
        return f"url(#{self.name(pattern)})"

    def group(self, part: str, **attributes: str | float) -> Element:
        """A named layer of the picture."""
        return add(self._root, "g", id=self.name(part), **attributes)

    def render(self, height: float) -> str:
        """The picture as SVG text."""
        self._root.set("viewBox", f"0 0 {number(WIDTH)} {number(height)}")
        self._paper.set("height", number(height))
        return tostring(self._root, encoding="unicode")

    def _add_patterns(self) -> None:
        defs = add(self._root, "defs")
        square: dict[str, str | float] = {"patternUnits": "userSpaceOnUse"}
        hatch = add(defs, "pattern", id=self.name("hatch"), width=5, height=5, patternTransform="rotate(45)", **square)
        line(hatch, "hatch", start=(0, 2.5), end=(5, 2.5))
        stipple = add(defs, "pattern", id=self.name("stipple"), width=3, height=3, **square)
        add(stipple, "circle", kind="dot", cx=0.8, cy=0.8, r=0.45)
        add(stipple, "circle", kind="dot", cx=2.3, cy=2.3, r=0.45)
