"""Lists of hooves row by row: read as a match reads a hoof, with every bad row named and no other stopped."""

import json
from datetime import date

import pytest
from tests.matching.worlds import SHELF

from hooflast.errors import InputRefused
from hooflast.exchange.bulk_rows import HEADINGS, BadRow, BulkFormat, plain_answer, read_bulk, write_csv
from hooflast.fit.hoof import AnimalType, Limb, Method, Observer
from hooflast.matching.bulk import BulkAnswer, BulkHoof, answer_in_bulk

TODAY = date(2026, 5, 1)


def from_csv(*lines: str, heading: str = "hoof,limb,width,length"):
    return list(read_bulk([f"{line}\n" for line in (heading, *lines)], written_as=BulkFormat.CSV, today=TODAY))


def from_ndjson(*documents: object):
    lines = [f"{each if isinstance(each, str) else json.dumps(each)}\n" for each in documents]
    return list(read_bulk(lines, written_as=BulkFormat.NDJSON, today=TODAY))


def told(row: BadRow):
    return [(fault.code, fault.facts.get("row"), fault.facts.get("column")) for fault in row.faults]


def test_a_row_is_a_hoof_with_the_name_its_list_gives_it():
    (hoof,) = from_csv(
        "Bramble near fore,LF,12.4 cm,127,pony,tape,professional",
        heading="Hoof,Limb,Width,Length,Animal type,Method,Observer",
    )
    assert (hoof.row, hoof.name, hoof.animal_type) == (2, "Bramble near fore", AnimalType.PONY)
    reading = hoof.reading
    assert (reading.limb, reading.method, reading.observer) == (Limb.LF, Method.TAPE, Observer.PROFESSIONAL)
    assert (reading.width.mean_mm, reading.length.mean_mm) == pytest.approx((124.0, 127.0))


def test_both_formats_read_the_same_hoof():
    (from_table,) = from_csv("Sable,LH,119,125")
    (from_lines,) = from_ndjson({"hoof": "Sable", "limb": "LH", "width": 119, "length": "125"})
    assert from_table.reading == from_lines.reading
    assert from_table.name == from_lines.name


def test_a_bad_row_is_told_with_its_number_and_column_and_stops_no_other():
    first, bad, last = from_csv("a,LF,124,127", "b,LF,wide,999", "c,RF,124,127")
    assert [row.name for row in (first, last)] == ["a", "c"]
    assert told(bad) == [("length-unreadable", 3, "width"), ("length-out-of-range", 3, "length")]


def test_rows_that_read_the_same_keep_their_own_number_and_name():
    one, other, bad, as_bad = from_csv("a,LF,124,127", "b,LF,124,127", "c,LF,1,127", "d,LF,1,127")
    assert [(row.row, row.name) for row in (one, other)] == [(2, "a"), (3, "b")]
    assert [row.faults[0].facts["row"] for row in (bad, as_bad)] == [4, 5]


def test_a_missing_cell_is_told_and_an_empty_row_is_passed_over():
    (bad,) = from_csv("a,LF,,127", ",,,", "")
    assert told(bad) == [("missing", 2, "width")]


def test_a_row_with_more_cells_than_names_is_told():
    (bad,) = from_csv("a,LF,124,127,extra")
    assert told(bad) == [("row-too-long", 2, None)]


@pytest.mark.parametrize(
    ("heading", "codes"),
    [
        ("hoof,limb,width", ["missing"]),
        ("limb,width,length,colour", ["unknown-field"]),
        ("horse", ["missing", "missing", "missing", "unknown-field"]),
        ("", ["missing", "missing", "missing"]),
    ],
)
def test_a_heading_of_no_use_is_refused_before_any_row(heading, codes):
    with pytest.raises(InputRefused) as refused:
        from_csv("a,LF,124", heading=heading)
    assert [fault.code for fault in refused.value.faults] == codes


@pytest.mark.parametrize("mark", [";", "\t"])
def test_cells_may_be_parted_otherwise_and_semicolons_leave_the_comma_to_decimals(mark):
    width = "124,5" if mark == ";" else "124.5"
    (hoof,) = from_csv(mark.join(["a", "LF", width, "127"]), heading=mark.join(["hoof", "limb", "width", "length"]))
    assert hoof.reading.width.mean_mm == pytest.approx(124.5)


def test_a_cell_of_endless_length_is_a_bad_row_and_the_next_is_read():
    bad, good = from_csv("a" * 200_000 + ",LF,124,127", "b,LF,124,127")
    assert told(bad) == [("not-csv", 2, None)]
    assert good.name == "b"


def test_an_empty_file_misses_its_heading():
    with pytest.raises(InputRefused):
        list(read_bulk([], written_as=BulkFormat.CSV, today=TODAY))


@pytest.mark.parametrize("line", ["nope", "[1]", "{", '"text"', "[" * 100_000])
def test_a_line_that_is_no_object_is_told_with_its_number(line):
    good, bad = from_ndjson({"limb": "LF", "width": 124, "length": 127}, line)
    assert isinstance(good, BulkHoof)
    assert (bad.faults[0].code, bad.faults[0].facts["row"]) == ("not-json", 2)


@pytest.mark.parametrize("value", [[124, 125], {"mm": 124}, True])
def test_a_value_of_another_kind_is_a_fault_of_its_column(value):
    (bad,) = from_ndjson({"limb": "LF", "width": value, "length": 127})
    assert told(bad)[0][1:] == (1, "width")


def test_an_unknown_member_is_told_with_the_ones_there_are():
    _, bad = from_ndjson("", {"limb": "LF", "width": 124, "length": 127}, {"limbs": "LF"})
    assert told(bad) == [("unknown-field", 3, None)]
    assert bad.faults[0].facts["closest"] == "limb"


def answers():
    hooves = from_csv("a,LF,124,127", "b,LF,60,60")
    return list(answer_in_bulk(hooves, SHELF, uses=frozenset(), at_most=2, today=TODAY))


def test_what_is_written_has_a_row_for_each_boot_and_one_for_a_hoof_without():
    written = list(write_csv(answers()))
    assert written[0] == HEADINGS
    assert [(row[0], row[1], row[3]) for row in written[1:]] == [(2, "a", 1), (2, "a", 2), (3, "b", "")]
    assert all(len(row) == len(HEADINGS) for row in written)


def test_both_formats_write_the_same_boots():
    written = list(write_csv(answers()))[1:]
    plain = [plain_answer(answer) for answer in answers()]
    listed = [(line["row"], fit["boot"], fit["size"], fit["fit_chance"]) for line in plain for fit in fits_of(line)]
    assert listed == [(row[0], *row[4:]) for row in written if row[4]]


def fits_of(line) -> list[dict]:
    return line["fits"]


def test_a_hoof_without_boots_has_an_empty_list():
    hoof = from_csv("b,LF,60,60")[0]
    assert plain_answer(BulkAnswer(hoof=hoof, fits=())) == {"row": 2, "hoof": "b", "limb": "LF", "fits": []}
