"""Four-hooves picture: one horse's hooves as it stands seen from above, each with what was found for it."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final
from xml.etree.ElementTree import Element

from hooflast.draw.key import LEFT, RIGHT, write_caption
from hooflast.draw.lettering import BODY, LARGE, LEADING, Anchor, Lettering, letter, text_width, write
from hooflast.draw.marks import CAUTION_R, TALLY_HEIGHT, TALLY_WIDTH, draw_caution, draw_tally
from hooflast.draw.sheet import WIDTH, Sheet, line, plain
from hooflast.draw.sole import Bound, draw_sole, extent_mm
from hooflast.draw.values import DrawnCaution, DrawnChance, FourHoovesPicture, HoofEntry
from hooflast.fit.hoof import Limb

ROWS: Final = ((Limb.LF, Limb.RF), (Limb.LH, Limb.RH))
"""Where each limb stands: the fores on top, the left on the left."""

_GUTTER: Final = 11.0
_SOLE: Final = 104.0
_ALONE_WIDTH: Final = 190.0
_ALONE_SOLE: Final = 160.0
_ROW: Final = BODY * LEADING
_MARK: Final = 2 * CAUTION_R + 8
"""What a caution's mark takes in its corner."""


@dataclass(frozen=True, slots=True, kw_only=True)
class _Column:
    """Where one hoof's entry stands across the sheet, and how large its sole may be."""

    left: float
    right: float
    units_per_mm: float
    sole_height: float


def four_hooves_picture(picture: FourHoovesPicture) -> str:
    """The picture as SVG text."""
    sheet = Sheet(picture.identity)
    entries = {entry.hoof.limb: entry for entry in picture.hooves}
    columns = _columns(picture.hooves)
    top = _draw_front(sheet.group("front"), picture.front)
    spine, first = sheet.group("spine"), top
    for limbs in ROWS:
        present = [limb for limb in limbs if limb in entries]
        if not present:
            continue
        if top > first:
            top += 12
            line(spine, "hair", start=(LEFT, top), end=(RIGHT, top))
            top += 12
        top = max(_draw_entry(sheet, entries[limb], column=columns[limb], top=top) for limb in present)
    if len(entries) > 1:
        for x in (WIDTH / 2 - 1.5, WIDTH / 2 + 1.5):
            line(spine, "margin", start=(x, first), end=(x, top))
    caption = sheet.group("key")
    return sheet.render(write_caption(caption, picture.caption, top=top + 12) + 12)


def _columns(entries: Sequence[HoofEntry]) -> dict[Limb, _Column]:
    """Each limb's place; every sole is drawn to one scale. A single hoof stands in the middle."""
    extents = [extent_mm(entry.hoof, entry.size) for entry in entries]
    room = _ALONE_SOLE if len(entries) == 1 else _SOLE
    scale = room / max(max(extent) for extent in extents)
    height = max(length for _, length in extents) * scale
    if len(entries) == 1:
        left = (WIDTH - _ALONE_WIDTH) / 2
        column = _Column(left=left, right=WIDTH - left, units_per_mm=scale, sole_height=height)
        return {entries[0].hoof.limb: column}
    halves = ((LEFT, WIDTH / 2 - _GUTTER), (WIDTH / 2 + _GUTTER, RIGHT))
    return {
        limb: _Column(left=left, right=right, units_per_mm=scale, sole_height=height)
        for limbs in ROWS
        for limb, (left, right) in zip(limbs, halves, strict=True)
    }


def _draw_front(parent: Element, front: str, /) -> float:
    """Say where the head is, with an arrow in the middle; the next free height is returned."""
    words = letter(front, width=RIGHT - LEFT, kind="aside")
    if not words.lines:
        return 14.0
    middle = WIDTH / 2
    bottom = write(parent, words, x=middle, top=22, anchor=Anchor.MIDDLE).bottom
    line(parent, "margin", start=(middle, 10), end=(middle, 20))
    for side in (-4, 4):
        line(parent, "margin", start=(middle, 10), end=(middle + side, 15))
    return bottom + 6


def _draw_entry(sheet: Sheet, entry: HoofEntry, *, column: _Column, top: float) -> float:
    """Draw one hoof and what was found for it; the next free height is returned."""
    cell = sheet.group(
        f"hoof-{entry.hoof.limb.value.lower()}", kind="small", data_units_per_mm=f"{column.units_per_mm:.5f}"
    )
    width = column.right - column.left
    limb = letter(entry.hoof.label, width=width - _MARK, size=LARGE, kind="strong")
    head = write(cell, limb, x=column.left, top=top).bottom
    if entry.caution is not None:
        head = _write_caution(cell, entry.caution, column=column, beside=limb, top=top)
    middle = (column.left + column.right) / 2, head + 2 + column.sole_height / 2
    draw_sole(
        cell,
        entry.hoof,
        size=entry.size,
        bounds=(Bound.LARGEST,),
        middle=middle,
        units_per_mm=column.units_per_mm,
        stipple=sheet.fill("stipple"),
    )
    top = head + column.sole_height + 12
    if entry.size is not None:
        code = letter(entry.size.code, width=width, size=LARGE, kind="boot strong")
        top = write(cell, code, x=column.left, top=top).bottom
    top = write(cell, letter(entry.boot, width=width), x=column.left, top=top).bottom
    if entry.chance is not None:
        top = _write_chance(cell, entry.chance, column=column, top=top + 5)
    top += 3
    for verdict in entry.verdicts:
        top = write(cell, letter(verdict, width=width, kind="aside"), x=column.left, top=top).bottom
    return top


def _write_caution(cell: Element, caution: DrawnCaution, *, column: _Column, beside: Lettering, top: float) -> float:
    """Draw the caution's mark in the corner, its label beside it if there is room for a line, else below.

    The next free height is returned.
    """
    middle, bottom = top + LARGE * LEADING / 2, top + beside.height
    draw_caution(cell, caution.severity, middle=(column.right - CAUTION_R - 1, middle))
    room = column.right - _MARK - 3 - column.left - beside.width
    if text_width(plain(caution.label), size=BODY, kind="alert") <= room:
        words = letter(caution.label, width=room, kind="alert")
        box = write(cell, words, x=column.right - _MARK + 3, top=middle - _ROW / 2, anchor=Anchor.END)
        return max(box.bottom, bottom)
    words = letter(caution.label, width=column.right - column.left, kind="alert")
    return write(cell, words, x=column.right, top=bottom, anchor=Anchor.END).bottom


def _write_chance(cell: Element, chance: DrawnChance, *, column: _Column, top: float) -> float:
    """Draw the chance as tally marks, its label beside them; the next free height is returned."""
    draw_tally(cell, chance.value, left=column.left, top=top + (_ROW - TALLY_HEIGHT) / 2)
    left = column.left + TALLY_WIDTH + 8
    return write(cell, letter(chance.label, width=column.right - left), x=left, top=top).bottom
