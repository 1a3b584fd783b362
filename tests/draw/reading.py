"""Reading: a picture's SVG text read back: its elements, the curves of its paths, and the room everything takes."""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from xml.etree import ElementTree as ET

import numpy as np

from hooflast.draw.lettering import ABOVE, LEADING, text_width

SVG = "{http://www.w3.org/2000/svg}"
Extent = tuple[float, float, float, float]


@dataclass(frozen=True, kw_only=True)
class Read:
    """A picture that was read back."""

    root: ET.Element

    @property
    def view_box(self) -> Extent:
        left, top, width, height = map(float, self.root.attrib["viewBox"].split())
        return left, top, left + width, top + height

    def layer(self, name: str) -> ET.Element:
        return next(node for node in self.root if node.get("id", "").endswith(f"-{name}"))

    def layers(self, name: str) -> list[ET.Element]:
        return [node for node in self.root if f"-{name}" in node.get("id", "")]


def read(svg: str) -> Read:
    return Read(root=ET.fromstring(svg))


def nodes(parent: ET.Element, tag: str, *, kind: str | None = None) -> list[ET.Element]:
    """The elements of a tag below a parent, of one class if it is given; patterns are not part of the drawing."""
    hidden = {node for pattern in parent.iter(f"{SVG}pattern") for node in pattern.iter()}
    found = [node for node in parent.iter(f"{SVG}{tag}") if node not in hidden]
    return [node for node in found if kind is None or kind in node.get("class", "").split()]


def numbers(node: ET.Element, *names: str) -> tuple[float, ...]:
    return tuple(float(node.get(name, 0)) for name in names)


def shown(node: ET.Element) -> str:
    """The words of a text, lines joined."""
    return " ".join(part.strip() for part in node.itertext())


def squeezed(text: str) -> str:
    """A text as XML can carry it, without the spaces between its words."""
    kept = "".join(
        letter
        if letter in "\t\n\r" or "\x20" <= letter < "\ud800" or "\ue000" <= letter <= "\ufffd" or letter > "\uffff"
        else "\ufffd"
        for letter in text
    )
    return "".join(kept.split())


def polyline(path: str) -> np.ndarray:
    """Many points of a path of M, C and Z commands, with every end and every turning point of its curves."""
    points: list[np.ndarray] = []
    for command, written in re.findall(r"([MCZ])([^MCZ]*)", path):
        ends = np.array([float(number) for number in written.split()]).reshape(-1, 2)
        if command == "M":
            points.append(ends)
        elif command == "C":
            a, b, c, d = points[-1][-1], *ends
            turns = [np.roots([3 * (d - 3 * c + 3 * b - a)[i], 6 * (c - 2 * b + a)[i], 3 * (b - a)[i]]) for i in (0, 1)]
            inner = [root.real for root in np.concatenate(turns) if abs(root.imag) < 1e-9 and 0 < root.real < 1]
            t = np.unique(np.concatenate([np.linspace(0, 1, 65), inner]))[:, None]
            points.append((1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t**2 * c + t**3 * d)
    return np.concatenate(points)


def extent(node: ET.Element) -> Extent:
    """The box around a shape, or around a text as wide as its letters may be."""
    tag = node.tag.removeprefix(SVG)
    if tag == "rect":
        x, y, width, height = numbers(node, "x", "y", "width", "height")
        return x, y, x + width, y + height
    if tag == "line":
        x1, y1, x2, y2 = numbers(node, "x1", "y1", "x2", "y2")
        return min(x1, x2), min(y1, y2), max(x1, x2), max(y1, y2)
    if tag == "circle":
        x, y, r = numbers(node, "cx", "cy", "r")
        return x - r, y - r, x + r, y + r
    if tag == "ellipse":
        return _around_ellipse(node)
    if tag == "text":
        return _around_text(node)
    if tag in ("polygon", "polyline"):
        points = np.array([[float(number) for number in pair.split(",")] for pair in node.attrib["points"].split()])
    else:
        points = polyline(node.attrib["d"])
    (left, top), (right, bottom) = points.min(axis=0), points.max(axis=0)
    return float(left), float(top), float(right), float(bottom)


def turn_of(ellipse: ET.Element) -> float:
    """The ellipse's turn, degrees, clockwise on the sheet; it turns about its own middle."""
    written = re.fullmatch(r"rotate\((\S+) (\S+) (\S+)\)", ellipse.get("transform", "rotate(0 0 0)"))
    assert written is not None
    assert "transform" not in ellipse.attrib or written.groups()[1:] == (ellipse.get("cx"), ellipse.get("cy"))
    return float(written[1])


def _around_ellipse(node: ET.Element) -> Extent:
    x, y, rx, ry = numbers(node, "cx", "cy", "rx", "ry")
    turn = radians(turn_of(node))
    across, down = hypot(rx * cos(turn), ry * sin(turn)), hypot(rx * sin(turn), ry * cos(turn))
    return x - across, y - down, x + across, y + down


def _around_text(node: ET.Element) -> Extent:
    (size,) = numbers(node, "font-size")
    rows = list(node) or [node]
    width = max(text_width(row.text or "", size=size, kind=node.get("class", "")) for row in rows)
    (x,) = numbers(node, "x")
    left = x - width * {"start": 0.0, "middle": 0.5, "end": 1.0}[node.get("text-anchor", "start")]
    baselines = [numbers(row, "y")[0] for row in rows]
    return left, min(baselines) - ABOVE * size, left + width, max(baselines) + (LEADING - ABOVE) * size


def drawn(parent: ET.Element) -> Iterator[ET.Element]:
    """Everything that leaves a mark below a parent."""
    for tag in ("rect", "line", "circle", "ellipse", "polygon", "path", "text"):
        yield from nodes(parent, tag)


def meet(one: Extent, other: Extent, *, by: float = 0.5) -> bool:
    """Whether two boxes overlap by more than rounding."""
    return one[0] + by < other[2] and other[0] + by < one[2] and one[1] + by < other[3] and other[1] + by < one[3]
