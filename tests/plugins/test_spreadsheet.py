"""Spreadsheet: charts as people write them down, the fate of every row, and faults told by cell."""

import zipfile
from datetime import date
from fractions import Fraction
from importlib.metadata import entry_points
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook

from hooflast.catalog.loading import LoadedCatalog, PluginConfiguration, load_catalog
from hooflast.catalog.plugin import ENTRY_POINT_GROUP, Fate
from hooflast_spreadsheet.mapping import Found, map_tables
from hooflast_spreadsheet.ranges import Ends, RangeRefused, in_unit, read_range
from hooflast_spreadsheet.settings import Mapping
from hooflast_spreadsheet.tables import TableRefused, read_tables

ALWAYS: dict[str, Any] = {
    "maker": "Quendle",
    "closure": "strap",
    "shape": "round",
    "limbs": "all",
    "animal_types": ["horse", "pony"],
    "intended_uses": ["hacking"],
    "sold_as": "single",
}
MAKERS = [{"id": "quendle", "name": "Quendle"}]


def mapping(**changes: object) -> dict[str, Any]:
    columns = {"boot": "Boot", "size": "Size", "width": "Hoof width", "length": "Length"}
    return {"makers": MAKERS, "sheets": [{"columns": columns, "always": ALWAYS, **changes}]}


def mapped(content: bytes, *, name: str = "chart.csv", **changes: object) -> Found:
    return map_tables(read_tables(content, name=name), mapping=Mapping.model_validate(mapping(**changes)))


def workbook(*rows: list[object], merge: tuple[str, ...] = (), title: str = "Sizes") -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for area in merge:
        sheet.merge_cells(area)
    written = BytesIO()
    book.save(written)
    return written.getvalue()


def sizes(found: Found) -> dict[str, list[dict[str, Any]]]:
    return {boot["id"]: boot["sizes"] for boot in found.boots.values()}


def fates(found: Found) -> list[Fate]:
    return [row.fate for row in found.rows]


CHART = """Quendle, spring 2026
;;;
Boot;Size;HOOF WIDTH (mm);Length
Rill;wren;118–124;120 to 126
Rill;rook;125-131;127-133,5
;;;
Fen;lark;108 – 114;
"""


def test_a_chart_is_read_under_whatever_stands_above_it() -> None:
    found = mapped(CHART.encode())
    assert sizes(found) == {
        "quendle-rill": [
            {"code": "wren", "width": [118, 124], "length": [120, 126]},
            {"code": "rook", "width": [125, 131], "length": [127, 133.5]},
        ],
        "quendle-fen": [{"code": "lark", "width": [108, 114]}],
    }
    assert fates(found) == [*[Fate.SKIPPED] * 3, Fate.USED, Fate.USED, Fate.SKIPPED, Fate.USED]
    assert [row.place for row in found.rows] == [f"row {number}" for number in range(1, 8)]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
@pytest.mark.parametrize("delimiter", [";", "\t", "|"])
def test_any_dialect_of_csv_says_the_same(encoding: str, delimiter: str) -> None:
    assert mapped(CHART.replace(";", delimiter).encode(encoding)).boots == mapped(CHART.encode()).boots


def test_a_workbook_says_the_same_as_its_csv() -> None:
    rows: list[list[object]] = [list(line.split(";")) for line in CHART.splitlines()]
    assert mapped(workbook(*rows), name="chart.xlsx").boots == mapped(CHART.encode()).boots


def test_merged_cells_and_cells_filled_down_mean_the_one_above() -> None:
    head: list[object] = ["Boot", "Size", "Hoof width", "Length"]
    rows: list[list[object]] = [["Rill", "wren", "118-124", None], [None, "rook", "125-131", None]]
    merged = mapped(workbook(head, *rows, merge=("A2:A3",)), name="chart.xlsx")
    filled = mapped(workbook(head, *rows), name="chart.xlsx", fill_down=["boot"])
    left = mapped(workbook(head, *rows), name="chart.xlsx")
    assert merged.boots == filled.boots
    assert [size["code"] for size in sizes(merged)["quendle-rill"]] == ["wren", "rook"]
    assert fates(left)[-1] is Fate.REFUSED


def test_a_column_for_each_end_is_a_range() -> None:
    columns = {"boot": "Boot", "size": "Size", "width": ["from", "to (cm)"]}
    found = mapped(b"Boot,Size,from,to (cm)\nRill,wren,118,12.4\n", columns=columns)
    assert sizes(found)["quendle-rill"] == [{"code": "wren", "width": [118, 124]}]


@pytest.mark.parametrize(
    ("written", "width"),
    [
        ("<124", [116, 123]),
        ("≤ 124", [117, 124]),
        (">118", [119, 126]),
        ("118+", [118, 125]),
        ("up to 124", [117, 124]),
    ],
)
def test_a_range_of_one_end_reaches_as_far_as_the_mapping_says_or_is_refused(written: str, width: list[int]) -> None:
    chart = f"Boot;Size;Hoof width;Length\nRill;wren;{written};\n".encode()
    assert sizes(mapped(chart, open_span=7))["quendle-rill"][0]["width"] == width
    refused = mapped(chart).rows[-1]
    assert (refused.fate, refused.place) == (Fate.REFUSED, "row 2")
    assert refused.why.startswith("C2: ")


def test_inches_stay_fractions() -> None:
    chart = 'Boot\tSize\tHoof width\tLength\nRill\twren\t4 5/8 – 4⅞"\t4.75-5\n'.encode()
    (size,) = sizes(mapped(chart, unit="in", step="1/8"))["quendle-rill"]
    assert size == {"code": "wren", "width": ["4 5/8", "4 7/8"], "length": ["4 3/4", 5]}


@pytest.mark.parametrize(
    ("cell", "why"),
    [
        (date(2026, 7, 4), "date"),
        ("#N/A", "error"),
        ("118", "one length"),
        ("wide", "not a range"),
        ("118 mm - 4 in", "two units"),
        ("1/0 - 5", "zero"),
    ],
)
def test_what_is_no_range_is_refused_by_cell_and_the_rest_goes_on(cell: object, why: str) -> None:
    head: list[object] = ["Boot", "Size", "Hoof width", "Length"]
    found = mapped(workbook(head, ["Rill", "wren", cell, None], ["Rill", "rook", "125-131", None]), name="c.xlsx")
    assert [size["code"] for size in sizes(found)["quendle-rill"]] == ["rook"]
    refused = found.rows[1]
    assert refused.fate is Fate.REFUSED
    assert refused.why.startswith("Sizes!C2: ")
    assert why in refused.why


def test_words_and_lists_are_translated() -> None:
    columns = {"boot": "Boot", "size": "Size", "width": "Width", "closure": "Closes", "animal_types": "For"}
    chart = b"Boot;Size;Width;Closes;For\nRill;wren;118-124;Hook and Loop;Pferd, Pony\n"
    words = {"closure": {"hook and loop": "strap"}, "animal_types": {"pferd": "horse", "pony": "pony"}}
    (boot,) = mapped(chart, columns=columns, words=words).boots.values()
    assert (boot["closure"], boot["animal_types"]) == ("strap", ["horse", "pony"])


def test_missing_headings_and_sheets_are_named() -> None:
    assert "Length" in mapped(b"Boot;Size;Hoof width\nRill;wren;118-124\n").rows[0].why
    assert "no such sheet" in mapped(workbook(["Boot"]), name="c.xlsx", sheet="Charts").rows[0].why


@pytest.mark.parametrize("row", ["Nobody;Rill;wren;118-124;", ";Rill;wren;118-124;", "Quendle;;wren;118-124;"])
def test_a_row_without_maker_or_boot_is_refused(row: str) -> None:
    columns = {"maker": "Maker", "boot": "Boot", "size": "Size", "width": "Width", "length": "Length"}
    always = {name: value for name, value in ALWAYS.items() if name != "maker"}
    found = mapped(f"Maker;Boot;Size;Width;Length\n{row}\n".encode(), columns=columns, always=always)
    assert fates(found)[-1] is Fate.REFUSED
    assert found.boots == {}


@pytest.mark.parametrize("changes", [{"columns": {"boot": "B", "size": "S"}}, {"always": {}}, {"colums": {}}])
def test_a_mapping_that_is_not_enough_is_refused(changes: dict[str, object]) -> None:
    with pytest.raises(ValueError, match=r"maker|width|colums"):
        Mapping.model_validate(mapping(**changes))


@pytest.mark.parametrize(("content", "name"), [(b"PK\x03\x04", "a.xlsx"), (b"", "a.ods"), (b'"a', "a.csv")])
def test_what_is_no_table_is_refused(content: bytes, name: str) -> None:
    with pytest.raises(TableRefused):
        read_tables(content, name=name)


def test_a_workbook_that_unpacks_to_too_much_is_refused_before_it_is_unpacked() -> None:
    written = BytesIO()
    with zipfile.ZipFile(written, "w", zipfile.ZIP_DEFLATED) as packed:
        packed.writestr("xl/worksheets/sheet1.xml", b" " * 120_000_000)
    assert len(written.getvalue()) < 1_000_000
    with pytest.raises(TableRefused, match="unpacks"):
        read_tables(written.getvalue(), name="bomb.xlsx")


lengths = st.integers(400, 2500).map(lambda tenths: Fraction(tenths, 10))


@given(lengths, lengths, st.sampled_from(["-", "–", " to ", " - ", "…"]), st.sampled_from(["", " mm", "cm", " in"]))
def test_a_range_that_is_written_is_the_range_that_is_read(
    low: Fraction, high: Fraction, between: str, unit: str
) -> None:
    written = f"{float(low):g}{between}{float(high):g}{unit}"
    assert read_range(written, unit="mm") == Ends(low=low, high=high, unit=unit.strip() or "mm")
    assert read_range(written.replace(".", ","), unit="mm") == read_range(written, unit="mm")


@given(lengths, st.sampled_from(["mm", "cm", "in"]), st.sampled_from(["mm", "cm", "in"]))
def test_units_lead_there_and_back(length: Fraction, one: str, other: str) -> None:
    assert in_unit(in_unit(length, of=one, to=other), of=other, to=one) == length
    assert in_unit(Fraction(1), of="in", to="mm") == Fraction(254, 10)


@given(st.text(max_size=12))
def test_any_text_is_a_range_or_refused(text: str) -> None:
    try:
        ends = read_range(text, unit="mm")
    except RangeRefused:
        return
    assert ends.low is not None or ends.high is not None


def load(folder: Path, chart: bytes, *, name: str, **changes: object) -> LoadedCatalog:
    (folder / name).write_bytes(chart)
    (folder / "mapping.yaml").write_text(yaml.safe_dump(mapping(**changes)))
    settings = {"files": [str(folder / name)], "mapping": str(folder / "mapping.yaml")}
    found = entry_points(group=ENTRY_POINT_GROUP, name="spreadsheet")
    return load_catalog(found, configured={"spreadsheet": PluginConfiguration(settings=settings)})


def test_a_spreadsheet_becomes_a_catalog_release_with_the_fate_of_every_row(tmp_path: Path) -> None:
    loaded = load(tmp_path, CHART.encode(), name="quendle.csv")
    (report,) = loaded.reports
    assert (report.failure, report.faults) == (None, ())
    assert sorted(loaded.library.active.boots) == ["quendle-fen", "quendle-rill"]
    assert [row.place for row in report.rows][3] == "quendle.csv: row 4"


def test_a_fault_in_the_chart_is_told_by_its_cell(tmp_path: Path) -> None:
    head: list[object] = ["Boot", "Size", "Hoof width", "Length"]
    chart = workbook(head, ["Rill", "wren", "118-124", None], ["Rill", "rook", "131-125", None])
    before = date.today()  # noqa: DTZ011
    (report,) = load(tmp_path, chart, name="quendle.xlsx").reports
    assert [(fault.code, fault.path) for fault in report.faults] == [
        ("catalog-range-inverted", ("quendle.xlsx", "Sizes!C3"))
    ]
    (refused,) = report.refused
    assert before <= refused <= date.today()  # noqa: DTZ011
