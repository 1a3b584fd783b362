"""Pad picture: a hoof lifted by a pad in a boot with leaning walls, from behind and from the side.

The boot is drawn with just the hoof's room without a pad [C], so that whatever the padded hoof covers of its walls is
room lost. Walls are straight; the hoof's own are drawn at common angles and matter for nothing [C]: 77° at the sides,
52° at toe and heel.
"""

from collections.abc import Iterator, Sequence
from functools import partial
from math import asin, cos, radians, sin, tan
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.boxes import Box, Point
from hooflast.draw.key import LEFT, RIGHT, Swatch, write_caption, write_key
from hooflast.draw.lettering import LARGE, letter, write
from hooflast.draw.pad_values import DrawnPad, PaddedHoof, PadPanel, PadPicture, Slopes
from hooflast.draw.sheet import Sheet, add, number
from hooflast.fit.pad import PadKind

HOOF_MM: Final = 46.0
BOOT_MM: Final = 58.0
"""How high the hoof and the boot's walls are drawn, mm [C]."""

INSET_MM: Final = 14.0
"""How far inside the wall a partial pad ends, mm [C]."""

SIDE_LEAN: Final = 1.0 / tan(radians(77.0))
TOE_LEAN: Final = 1.0 / tan(radians(52.0))
_MARGIN_MM: Final = 6.0

Outline = Sequence[Point]
"""Corners in mm: across the picture, and up from the boot's floor."""


def pad_picture(picture: PadPicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    widest_mm = max((_reach_mm(hoof) for hoof in picture.hooves), default=1.0)
    units_per_mm = (RIGHT - LEFT) / widest_mm
    top = 12.0
    for place, hoof in enumerate(picture.hooves, start=1):
        head = sheet.group(f"hoof-{place}")
        top = write(head, letter(hoof.label, width=RIGHT - LEFT, size=LARGE, kind="strong"), x=LEFT, top=top).bottom
        for view, panel, shapes in (
            ("behind", hoof.behind, _behind(hoof, picture.slopes)),
            ("side", hoof.side, _side(hoof, picture.slopes)),
        ):
            group = sheet.group(f"hoof-{place}-{view}", data_units_per_mm=f"{units_per_mm:.5f}")
            top = _draw_panel(sheet, group, panel=panel, shapes=shapes, units_per_mm=units_per_mm, top=top + 8)
        top += 12
    key = sheet.group("key")
    top = write_key(key, list(_entries(sheet, picture)), top=top) + 8
    return sheet.render(write_caption(key, picture.caption, top=top) + 12)


class _Shapes:
    """The outlines of one view: walls as open lines, the pad, the hoof without and with it, and the room lost."""

    def __init__(self, *, walls: Sequence[Outline], pad: Outline, bare: Outline, padded: Outline) -> None:
        self.walls, self.pad, self.bare, self.padded = walls, pad, bare, padded
        self.lost: list[Outline] = []


def _reach_mm(hoof: PaddedHoof) -> float:
    """Width of all that is drawn of one hoof, mm: from the side it reaches furthest, over its heels."""
    return max(hoof.width_mm, hoof.length_mm + HOOF_MM * TOE_LEAN) + 2 * _MARGIN_MM


def _behind(hoof: PaddedHoof, slopes: Slopes) -> _Shapes:
    half, lift = hoof.width_mm / 2.0, _lift(hoof.pad, hoof.pad.widest_mm)

    def outline(floor: float) -> Outline:
        inner = half - HOOF_MM * SIDE_LEAN
        return [(-half, floor), (-inner, floor + HOOF_MM), (inner, floor + HOOF_MM), (half, floor)]

    shapes = _Shapes(
        walls=[
            [(-half + BOOT_MM * slopes.lateral, BOOT_MM), (-half, 0.0), (half, 0.0)],
            [(half, 0.0), (half - BOOT_MM * slopes.medial, BOOT_MM)],
        ],
        pad=_pad_from(-half, half, heights=(hoof.pad.widest_mm, hoof.pad.widest_mm), kind=hoof.pad.kind),
        bare=outline(0.0),
        padded=outline(lift),
    )
    if lift:
        for side, lean in ((-1.0, slopes.lateral), (1.0, slopes.medial)):
            shapes.lost.append(_between(lift, wall=lean, hoof=SIDE_LEAN, at=side * half, inwards=-side))
    return shapes


def _side(hoof: PaddedHoof, slopes: Slopes) -> _Shapes:
    length = hoof.length_mm
    toe_lift, heel_lift = (_lift(hoof.pad, height) for height in (hoof.pad.toe_mm, hoof.pad.heel_mm))
    turn = asin((heel_lift - toe_lift) / length)

    def outline(floor: float, *, turned: float) -> Outline:
        corners = [(0.0, 0.0), (HOOF_MM * TOE_LEAN, HOOF_MM), (length + HOOF_MM * TOE_LEAN, HOOF_MM), (length, 0.0)]
        return [(x * cos(turned) - z * sin(turned), floor + x * sin(turned) + z * cos(turned)) for x, z in corners]

    shapes = _Shapes(
        walls=[[(BOOT_MM * slopes.toe, BOOT_MM), (0.0, 0.0), (length, 0.0)]],
        pad=_pad_from(0.0, length * cos(turn), heights=(hoof.pad.toe_mm, hoof.pad.heel_mm), kind=hoof.pad.kind),
        bare=outline(0.0, turned=0.0),
        padded=outline(toe_lift, turned=turn),
    )
    if toe_lift:
        leaning = tan(radians(90.0) - turn - radians(52.0))
        shapes.lost.append(_between(toe_lift, wall=slopes.toe, hoof=leaning, at=0.0, inwards=1.0))
    return shapes


def _lift(pad: DrawnPad, height_mm: float) -> float:
    return 0.0 if pad.kind is PadKind.PARTIAL else height_mm


def _pad_from(start: float, end: float, *, heights: tuple[float, float], kind: PadKind) -> Outline:
    if kind is PadKind.PARTIAL:
        start, end = start + INSET_MM, end - INSET_MM
    return [(start, 0.0), (start, heights[0]), (end, heights[1]), (end, 0.0)]


def _between(lift: float, *, wall: float, hoof: float, at: float, inwards: float) -> Outline:
    """What a lifted hoof covers of a wall: from its lower edge up to where the two lines part, or to the hoof's top."""
    meets = lift * hoof / (hoof - wall) if hoof > wall else BOOT_MM
    upper = min(meets, lift + HOOF_MM, BOOT_MM)
    return [
        (at, lift),
        (at + inwards * lift * wall, lift),
        (at + inwards * upper * wall, upper),
        (at + inwards * (upper - lift) * hoof, upper),
    ]


def _draw_panel(
    sheet: Sheet, group: Element, *, panel: PadPanel, shapes: _Shapes, units_per_mm: float, top: float
) -> float:
    """Draw one view below its name, and what is said of it; the next free height is returned."""
    name = write(group, letter(panel.name, width=RIGHT - LEFT, kind="strong"), x=LEFT, top=top)
    corners = [corner for outline in (*shapes.walls, shapes.pad, shapes.bare, shapes.padded) for corner in outline]
    left_mm, right_mm = (reach(x for x, _ in corners) for reach in (min, max))
    floor = name.bottom + 6 + max(z for _, z in corners) * units_per_mm
    middle_mm = (left_mm + right_mm) / 2.0

    def path(outline: Outline, *, closed: bool = True) -> str:
        points = [
            f"{number((LEFT + RIGHT) / 2 + (x - middle_mm) * units_per_mm)},{number(floor - z * units_per_mm)}"
            for x, z in outline
        ]
        return f"M{'L'.join(points)}{'Z' if closed else ''}"

    add(group, "path", kind="doubt", d=path(shapes.pad))
    add(group, "path", fill=sheet.fill("stipple"), d=path(shapes.pad), data_part="pad")
    for outline in shapes.lost:
        add(group, "path", kind="missed", d=path(outline), data_part="lost")
    add(group, "path", kind="line dots", d=path(shapes.bare), data_part="bare")
    for wall in shapes.walls:
        add(group, "path", kind="line past", d=path(wall, closed=False), data_part="wall")
    add(group, "path", kind="line hoof", d=path(shapes.padded), data_part="padded")
    return write(group, letter(panel.said, width=RIGHT - LEFT), x=LEFT, top=floor + 8).bottom


def _entries(sheet: Sheet, picture: PadPicture) -> Iterator[tuple[str, Swatch]]:
    def stroke(parent: Element, box: Box, *, kind: str) -> None:
        y = box.middle[1]
        add(parent, "path", kind=f"line {kind}", d=f"M{number(box.left)},{number(y)}L{number(box.right)},{number(y)}")

    def area(parent: Element, box: Box, *, kind: str = "", fill: str = "") -> None:
        more = {"kind": kind} if kind else {"fill": fill}
        add(parent, "rect", x=box.left, y=box.top, width=box.width, height=box.bottom - box.top, **more)

    yield picture.key.boot, partial(stroke, kind="past")
    yield picture.key.padded, partial(stroke, kind="hoof")
    yield picture.key.bare, partial(stroke, kind="dots")
    yield picture.key.pad, partial(area, fill=sheet.fill("stipple"))
    if any(_lift(hoof.pad, hoof.pad.heel_mm) for hoof in picture.hooves):
        yield picture.key.lost, partial(area, kind="missed")
