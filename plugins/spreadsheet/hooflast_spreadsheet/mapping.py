"""Mapping: rows of a table as boot models and their sizes, with the fate of each row and the cell of each value."""

import re
import unicodedata
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Any, Final

from hooflast.catalog.plugin import Fate, RowFate
from hooflast_spreadsheet.ranges import RangeRefused, in_unit, read_end, read_range
from hooflast_spreadsheet.settings import Columns, SheetMapping
from hooflast_spreadsheet.settings import Mapping as MappingFile
from hooflast_spreadsheet.tables import Cell, Row, Table

FORMAT: Final = "hooflast-catalog-1"
LISTS: Final = ("animal_types", "intended_uses", "suits_needs")
LOOKED_FOR_HEADINGS_IN: Final = 30
"""Rows at the top of a sheet in which the headings are looked for."""

_IN_A_LIST: Final = re.compile(r"\s*[,;/|]\s*")
_UNIT_IN_HEADING: Final = re.compile(r"\((mm|cm|in|inch|inches)\)|\[(mm|cm|in|inch|inches)\]", re.IGNORECASE)


class RowRefused(ValueError):
    """Why a row is not used."""


@dataclass(slots=True, kw_only=True)
class Found:
    """What one spreadsheet says: boot models in the order they came, the fate of every row, and where values stand.

    `cells` leads from JSON Pointers of the catalog file to the cells that they were read from.
    """

    boots: dict[str, dict[str, Any]] = field(default_factory=dict)
    rows: list[RowFate] = field(default_factory=list)
    cells: dict[str, str] = field(default_factory=dict)

    def document(self, makers: Sequence[Mapping[str, str]]) -> dict[str, Any]:
        """The catalog file that says the same; makers without a boot are left out."""
        used = {boot["maker"] for boot in self.boots.values()}
        return {
            "format": FORMAT,
            "makers": [dict(maker) for maker in makers if maker["id"] in used],
            "boots": list(self.boots.values()),
        }


@dataclass(frozen=True, slots=True, kw_only=True)
class _Sheet:
    """A table with its mapping and where each field stands in it, as columns from 1, with units of the headings."""

    table: Table
    mapping: SheetMapping
    columns: Mapping[str, tuple[int, ...]]
    units: Mapping[int, str]


def map_tables(tables: Sequence[Table], *, mapping: MappingFile) -> Found:
    """Everything that the tables say under a mapping."""
    found = Found()
    makers = {name: maker.id for maker in mapping.makers for name in (maker.id, maker.name.casefold())}
    for sheet_mapping in mapping.sheets:
        chosen = [one for one in tables if sheet_mapping.sheet in (None, one.sheet)]
        if not chosen:
            found.rows.append(_fate(f"{sheet_mapping.sheet}", Fate.REFUSED, why="there is no such sheet"))
        for table in chosen:
            _map_table(table, mapping=sheet_mapping, makers=makers, found=found)
    return found


def _map_table(table: Table, *, mapping: SheetMapping, makers: Mapping[str, str], found: Found) -> None:
    try:
        header, sheet = _with_headings(table, mapping=mapping)
    except RowRefused as refused:
        found.rows.append(_fate(table.sheet or "the file", Fate.REFUSED, why=str(refused)))
        return
    above: dict[str, Cell] = {}
    for row in table.rows:
        if row.number < header:
            found.rows.append(_fate(table.place(row), Fate.SKIPPED, why="it stands above the headings"))
        elif row.number == header:
            found.rows.append(_fate(table.place(row), Fate.SKIPPED, why="it holds the headings"))
        elif row.is_empty():
            found.rows.append(_fate(table.place(row), Fate.SKIPPED, why="it is empty"))
        else:
            try:
                _take(row, sheet=sheet, above=above, makers=makers, found=found)
            except RowRefused as refused:
                found.rows.append(_fate(table.place(row), Fate.REFUSED, why=str(refused)))
            else:
                found.rows.append(_fate(table.place(row), Fate.USED))


def _with_headings(table: Table, *, mapping: SheetMapping) -> tuple[int, _Sheet]:
    """The number of the row of headings, and where the columns are."""
    wanted = [heading for columns in mapping.columns.values() for heading in _each(columns)]
    best: tuple[int, dict[str, int]] = (0, {})
    for row in table.rows[:LOOKED_FOR_HEADINGS_IN]:
        if mapping.header_row not in (None, row.number):
            continue
        headings = {_heading(cell.text): cell.column for cell in row.cells if cell.text}
        here = {heading: headings[_heading(heading)] for heading in wanted if _heading(heading) in headings}
        if len(here) > len(best[1]):
            best = (row.number, here)
    number, here = best
    if missing := [heading for heading in wanted if heading not in here]:
        raise RowRefused(f"no row of headings has {', '.join(missing)}")
    row = next(row for row in table.rows if row.number == number)
    units = {
        cell.column: _unit_of(found) for cell in row.cells if (found := _UNIT_IN_HEADING.search(cell.text)) is not None
    }
    columns: dict[str, tuple[int, ...]] = {
        name: tuple(here[one] for one in _each(told)) for name, told in mapping.columns.items()
    }
    return number, _Sheet(table=table, mapping=mapping, columns=columns, units=units)


def _take(row: Row, *, sheet: _Sheet, above: dict[str, Cell], makers: Mapping[str, str], found: Found) -> None:
    told = {name: _told(name, row=row, sheet=sheet, above=above) for name in {*sheet.columns, *sheet.mapping.always}}
    maker_text = str(told.get("maker") or "")
    maker = makers.get(maker_text) or makers.get(maker_text.casefold())
    if maker is None:
        raise RowRefused(f"the maker {maker_text!r} is not in the mapping")
    name, size = str(told.get("boot") or ""), str(told.get("size") or "")
    if not name or not size:
        raise RowRefused("it names no boot model" if not name else "it names no size")
    key = f"{maker}-{_slug(name)}"
    boot = found.boots.get(key)
    of_size = {axis: _range(axis, row=row, sheet=sheet) for axis in ("width", "length") if axis in sheet.columns}
    entry: dict[str, Any] = {"code": size, **{axis: ends for axis, ends in of_size.items() if ends is not None}}
    if len(entry) == 1:
        raise RowRefused("it has neither a width nor a length")
    if told.get("gtin"):
        entry["gtin"] = str(told["gtin"])
    if boot is None:
        boot = _boot(told, key=key, maker=maker, name=name, mapping=sheet.mapping)
        found.boots[key] = boot
    place = f"/boots/{list(found.boots).index(key)}/sizes/{len(boot['sizes'])}"
    boot["sizes"].append(entry)
    found.cells[place] = sheet.table.place(row)
    for axis in of_size:
        found.cells[f"{place}/{axis}"] = sheet.table.place(row, sheet.columns[axis][0])


def _told(name: str, *, row: Row, sheet: _Sheet, above: dict[str, Cell]) -> Any:
    """What a row says in a field, in Hooflast's words; None where it says nothing."""
    if name not in sheet.columns:
        return sheet.mapping.always[name]  # type: ignore[index]
    cell = _cell(row, sheet.columns[name][0])
    if name in sheet.mapping.fill_down:
        cell = above[name] = cell if cell.text else above.get(name, cell)
    if cell.doubt and name not in ("width", "length"):
        raise RowRefused(f"{sheet.table.place(row, cell.column)}: {cell.doubt}")
    words: Mapping[str, str] = {
        theirs.casefold(): ours
        for theirs, ours in sheet.mapping.words.get(name, {}).items()  # type: ignore[call-overload]
    }
    if name in LISTS:
        return [words.get(word.casefold(), word) for word in _IN_A_LIST.split(cell.text) if word] or None
    return words.get(cell.text.casefold(), cell.text) or sheet.mapping.always.get(name)  # type: ignore[call-overload]


def _boot(told: Mapping[str, Any], *, key: str, maker: str, name: str, mapping: SheetMapping) -> dict[str, Any]:
    boot: dict[str, Any] = {
        "id": key,
        "maker": maker,
        "name": name,
        "chart_unit": mapping.unit,
        "chart_step": mapping.step,
        "sizes": [],
    }
    beside = {"maker", "boot", "size", "width", "length", "gtin"}
    boot |= {field: value for field, value in told.items() if field not in beside and value not in (None, "")}
    if "max_pad_mm" in boot:
        boot["max_pad_mm"] = _written(read_end(str(boot["max_pad_mm"]), unit="mm")[0], unit="mm")
    return boot


def _range(axis: str, *, row: Row, sheet: _Sheet) -> list[float | int | str] | None:
    """A size's range on one axis as a catalog file writes it; None where the cells are empty."""
    columns, mapping = sheet.columns[axis], sheet.mapping
    cells = [_cell(row, column) for column in columns]
    if not any(cell.text for cell in cells):
        return None
    place = sheet.table.place(row, columns[0])
    if doubt := next((cell.doubt for cell in cells if cell.doubt), ""):
        raise RowRefused(f"{place}: {doubt}")
    try:
        low, high = _ends(cells, sheet=sheet)
    except RangeRefused as refused:
        raise RowRefused(f"{place}: {refused}") from None
    return [_written(end, unit=mapping.unit) for end in (low, high)]


def _ends(cells: Sequence[Cell], *, sheet: _Sheet) -> tuple[Fraction, Fraction]:
    mapping = sheet.mapping
    unit = sheet.units.get(cells[0].column, mapping.unit)
    if len(cells) == 2:
        (low, low_unit), (high, high_unit) = (
            read_end(cell.text, unit=sheet.units.get(cell.column, mapping.unit)) for cell in cells
        )
        return in_unit(low, of=low_unit, to=mapping.unit), in_unit(high, of=high_unit, to=mapping.unit)
    ends = read_range(cells[0].text, unit=unit)
    step = _step(mapping)
    known_low, known_high = (
        None if end is None else in_unit(end, of=ends.unit, to=mapping.unit) for end in (ends.low, ends.high)
    )
    if known_high is not None and ends.high_is_outside:
        known_high -= step
    if known_low is not None and ends.low_is_outside:
        known_low += step
    if known_low is not None and known_high is not None:
        return known_low, known_high
    if mapping.open_span is None:
        raise RangeRefused(f"{cells[0].text!r} has one end only, and the mapping has no open_span")
    span = Fraction(str(mapping.open_span))
    if known_low is None and known_high is not None:
        return known_high - span, known_high
    if known_low is not None:
        return known_low, known_low + span
    raise RangeRefused(f"{cells[0].text!r} has no end")


def _step(mapping: SheetMapping) -> Fraction:
    return read_end(str(mapping.step), unit=mapping.unit)[0]


def _written(length: Fraction, *, unit: str) -> float | int | str:
    """A length as a catalog file writes it: inches as fractions where they are some."""
    if length.denominator == 1:
        return int(length)
    if unit == "in" and length.denominator in (2, 4, 8, 16, 32, 64):
        whole, rest = divmod(length, 1)
        return f"{whole} {rest}" if whole else f"{rest}"
    return float(length)


def _cell(row: Row, column: int) -> Cell:
    return row.cells[column - 1] if column <= len(row.cells) else Cell(text="", column=column)


def _each(columns: Columns) -> Iterator[str]:
    yield from [columns] if isinstance(columns, str) else columns


def _heading(text: str) -> str:
    """A heading without its unit, in small letters."""
    return " ".join(_UNIT_IN_HEADING.sub("", text).casefold().split()).rstrip(":")


def _unit_of(found: re.Match[str]) -> str:
    written = (found[1] or found[2]).lower()
    return "in" if written.startswith("in") else written


def _slug(name: str) -> str:
    """A name as part of an id: lower-case letters, digits and hyphens."""
    plain = unicodedata.normalize("NFKD", name).encode("ascii", "ignore").decode().lower()
    return re.sub(r"[^a-z0-9]+", "-", plain).strip("-")


def _fate(place: str, fate: Fate, *, why: str = "") -> RowFate:
    return RowFate(place=place, fate=fate, why=why)
