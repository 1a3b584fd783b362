"""Curve picture: the share of a herd that is served against the number of sizes carried."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Box
from hooflast.draw.herd_values import CountTick, CurvePicture
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import BODY, LEADING, Anchor, letter, text_width, write
from hooflast.draw.sheet import Sheet, add, line, number

HEIGHT: Final = 190.0
POINT_R: Final = 3.1
RING_R: Final = 6.4
WIDEST_TICK: Final = 60.0
_APART: Final = 7.0
_INSET: Final = 9.0


@dataclass(frozen=True, slots=True, kw_only=True)
class _Frame:
    """The curve's place on the sheet: numbers of sizes to the right, shares upwards."""

    box: Box
    first: int
    last: int

    def x(self, count: float) -> float:
        share = (count - self.first) / max(1, self.last - self.first)
        return self.box.left + _INSET + share * (self.box.width - 2 * _INSET)

    def y(self, share: float) -> float:
        return self.box.bottom - share * (self.box.height - _INSET)


def curve_picture(picture: CurvePicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    axes = sheet.group("axes")
    head = write(axes, letter(picture.share_label, width=RIGHT - LEFT, kind="aside"), x=LEFT, top=10)
    widest = max((text_width(tick.label, size=BODY) for tick in picture.shares), default=0.0)
    frame = _Frame(
        box=Box(
            left=LEFT + min(widest, WIDEST_TICK) + 10, right=RIGHT, top=head.bottom + 8, bottom=head.bottom + 8 + HEIGHT
        ),
        first=picture.points[0].count,
        last=picture.points[-1].count,
    )
    bottom = _draw_axes(axes, picture, frame=frame)
    _draw_levels(sheet.group("levels"), picture, frame=frame)
    _draw_bound(sheet.group("bound"), picture, frame=frame)
    _draw_points(sheet.group("points"), picture, frame=frame)
    key = sheet.group("key")
    bottom = write_key(key, list(_entries(picture)), top=bottom + 12)
    return sheet.render(write_caption(key, picture.caption, top=bottom + 8) + 12)


def _draw_axes(parent: Element, picture: CurvePicture, *, frame: _Frame) -> float:
    """Rule the page at the shares, label the numbers that have room; the next free height is returned."""
    box = frame.box
    for tick in picture.shares:
        y = frame.y(tick.at)
        line(parent, "hair", start=(box.left, y), end=(box.right, y))
        line(parent, "edge", start=(box.left - 7, y), end=(box.left - 3, y))
        words = letter(tick.label, width=WIDEST_TICK, kind="aside")
        write(parent, words, x=box.left - 10, top=y - words.height / 2, anchor=Anchor.END)
    for x in (box.left - 3, box.left):
        line(parent, "margin", start=(x, box.top), end=(x, box.bottom))
    line(parent, "edge", start=(box.left - 3, box.bottom), end=(box.right, box.bottom))
    row = box.bottom + 6
    for count, is_labelled in _with_room(picture.counts, frame=frame):
        x = frame.x(count.at)
        line(parent, "edge", start=(x, box.bottom), end=(x, box.bottom + 4))
        if is_labelled:
            write(parent, letter(count.label, width=WIDEST_TICK, kind="aside"), x=x, top=row, anchor=Anchor.MIDDLE)
    name = letter(picture.count_label, width=RIGHT - LEFT, kind="aside")
    return write(parent, name, x=RIGHT, top=row + BODY * LEADING, anchor=Anchor.END).bottom


def _with_room(counts: Sequence[CountTick], *, frame: _Frame) -> list[tuple[CountTick, bool]]:
    """The numbers on the curve, and whether each has room for its label."""
    inside = [tick for tick in counts if frame.first <= tick.at <= frame.last]
    widest = max((text_width(tick.label, size=BODY) for tick in inside), default=0.0)
    every = 1
    while every < len(inside) and frame.x(inside[every].at) - frame.x(inside[0].at) < widest + _APART:
        every += 1
    return [(tick, place % every == 0) for place, tick in enumerate(inside)]


def _draw_levels(parent: Element, picture: CurvePicture, *, frame: _Frame) -> None:
    """The share that was wished, and the share that all sizes together serve."""
    for kind, share in (("largest", picture.attainable), ("wished", picture.wished)):
        line(parent, kind, start=(frame.box.left, frame.y(share)), end=(frame.box.right, frame.y(share)))


def _draw_bound(parent: Element, picture: CurvePicture, *, frame: _Frame) -> None:
    """A ribbon between what was found and what no choice can pass, where the two do not meet."""
    doubtful = [place for place, point in enumerate(picture.points) if not point.is_exact]
    if not doubtful:
        return
    points = picture.points[max(0, doubtful[0] - 1) : doubtful[-1] + 2]
    lower = [(frame.x(point.count), frame.y(point.share)) for point in points]
    upper = [(frame.x(point.count), frame.y(point.bound)) for point in points]
    add(parent, "polygon", kind="likely", points=_joined([*lower, *reversed(upper)]))


def _draw_points(parent: Element, picture: CurvePicture, *, frame: _Frame) -> None:
    """The curve: a filled dot where no choice can serve more, an open one elsewhere, a ring round the chosen set."""
    places = [(frame.x(point.count), frame.y(point.share)) for point in picture.points]
    add(parent, "polyline", kind="line measure", points=_joined(places))
    for point, (x, y) in zip(picture.points, places, strict=True):
        if point.count == picture.chosen:
            add(parent, "circle", kind="chosen", cx=x, cy=y, r=RING_R)
        kind = "fore" if point.is_exact else "hind"
        add(parent, "circle", kind=kind, data_count=point.count, cx=x, cy=y, r=POINT_R)


def _joined(points: Sequence[tuple[float, float]]) -> str:
    return " ".join(f"{number(x)},{number(y)}" for x, y in points)


def _entries(picture: CurvePicture) -> Iterator[tuple[str, Swatch]]:
    """The key's entries, each with the function that draws its sample."""

    def draw_dot(parent: Element, box: Box, *, kind: str, r: float = POINT_R) -> None:
        add(parent, "circle", kind=kind, cx=box.middle[0], cy=box.middle[1], r=r)

    def draw_line(parent: Element, box: Box, *, kind: str) -> None:
        line(parent, kind, start=(box.left, box.middle[1]), end=(box.right, box.middle[1]))

    def draw_ribbon(parent: Element, box: Box) -> None:
        add(parent, "rect", kind="likely", x=box.left, y=box.top + 2, width=box.width, height=box.height - 4)

    are_exact = [point.is_exact for point in picture.points]
    if any(are_exact):
        yield picture.key.exact, partial(draw_dot, kind="fore")
    if not all(are_exact):
        yield picture.key.found, partial(draw_dot, kind="hind")
        yield picture.key.bound, draw_ribbon
    yield picture.key.wished, partial(draw_line, kind="wished")
    yield picture.key.attainable, partial(draw_line, kind="largest")
    if picture.chosen is not None:
        yield picture.key.chosen, partial(draw_dot, kind="chosen", r=RING_R - 1.0)
