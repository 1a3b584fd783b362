"""Job lines: however an input is cut into pieces, its horses are the same, and a bad one spoils no other."""

import csv
import io
import json
from collections.abc import Sequence
from datetime import date
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import InputRefused
from hooflast.exchange.job_horse import read_job_horse
from hooflast.exchange.job_lines import JobLines
from hooflast.exchange.match_form import read_match_question
from hooflast.fit.boot import IntendedUse
from hooflast.fit.hoof import AnimalType, Limb
from hooflast.matching.question import MatchQuestion
from hooflast.store.match_job_values import JobFormat, JobLine

TODAY = date(2026, 5, 1)
LONGEST = 300
HEADING = "horse,animal_type,uses,limb,width,length,states\n"
BRAMBLE = "Bramble,pony,hacking|road,LF,124,128,\nBramble,,,RF,125|126,128,long_toe|dirty_sole\n"

texts = st.text(st.characters(codec="utf-8", exclude_characters="\r\n"), max_size=20)
inputs = st.lists(st.one_of(st.binary(max_size=30), texts.map(str.encode), st.just(b"x" * (LONGEST + 1)))).map(
    b"\n".join
)
cuts = st.lists(st.integers(0, 400), max_size=8)


def lines_of(pieces: Sequence[bytes], *, written_as: JobFormat = JobFormat.NDJSON) -> list[JobLine]:
    lines = JobLines(written_as=written_as, longest=LONGEST, most=1000)
    return [*(one for piece in pieces for one in lines.take(piece)), *lines.end()]


def cut(body: bytes, places: Sequence[int]) -> list[bytes]:
    edges = [0, *sorted(min(place, len(body)) for place in places), len(body)]
    return [body[start:end] for start, end in pairwise(edges)]


def read_csv(text: str) -> list[MatchQuestion]:
    lines = JobLines(written_as=JobFormat.CSV, longest=LONGEST, most=1000)
    found = [*lines.take(text.encode()), *lines.end()]
    return [
        read_job_horse(one, written_as=JobFormat.CSV, heading=lines.heading, longest=LONGEST, today=TODAY)
        for one in found
    ]


def faults_of(text: str) -> list[tuple[object, ...]]:
    with pytest.raises(InputRefused) as refused:
        read_csv(text)
    return [(found.code, *found.path) for found in refused.value.faults]


@given(body=inputs.filter(bytes.strip), places=cuts)
def test_horses_are_the_same_wherever_the_input_is_cut(body: bytes, places: list[int]) -> None:
    assert lines_of(cut(body, places)) == lines_of([body])


@given(body=inputs, places=cuts)
def test_rows_are_the_same_wherever_the_input_is_cut(body: bytes, places: list[int]) -> None:
    body = HEADING.encode() + BRAMBLE.encode() + body
    whole = lines_of([body], written_as=JobFormat.CSV)
    assert lines_of(cut(body, places), written_as=JobFormat.CSV) == whole


@given(body=inputs.filter(bytes.strip))
def test_every_line_that_is_not_blank_is_a_horse_with_its_number(body: bytes) -> None:
    expected = [
        (number, None if len(text.removesuffix(b"\r")) > LONGEST else text.removesuffix(b"\r"))
        for number, text in enumerate(body.split(b"\n"), start=1)
        if text.strip()
    ]
    assert [(one.line, one.body) for one in lines_of([body])] == expected


def test_a_byte_order_mark_is_passed_over() -> None:
    (one,) = lines_of([b"\xef\xbb\xbf{}"])
    assert one.body == b"{}"
    assert read_csv("\ufeff" + HEADING + BRAMBLE) == read_csv(HEADING + BRAMBLE)


def test_rows_that_name_the_same_horse_are_one_horse() -> None:
    (question,) = read_csv(HEADING + BRAMBLE)
    assert (question.horse_name, question.animal_type) == ("Bramble", AnimalType.PONY)
    assert question.uses == {IntendedUse.HACKING, IntendedUse.ROAD}
    assert [hoof.limb for hoof in question.hooves] == [Limb.LF, Limb.RF]
    assert question.hooves[1].width.values_mm == (125, 126)


def test_rows_apart_or_without_a_name_are_horses_by_themselves() -> None:
    other = "Moth,,,LF,120,124,\n"
    nameless = ",,,LF,120,124,\n"
    names = [one.horse_name for one in read_csv(HEADING + BRAMBLE + other + BRAMBLE + nameless + nameless)]
    assert names == ["Bramble", "Moth", "Bramble", "", ""]


@given(
    hooves=st.lists(
        st.tuples(st.sampled_from(list(Limb)), st.integers(100, 140)),
        min_size=1,
        max_size=4,
        unique_by=lambda one: one[0],
    ),
    name=st.text(st.characters(codec="utf-8", categories=["L", "N", "P"]), min_size=1, max_size=12).map(str.strip),
    delimiter=st.sampled_from([",", ";", "\t"]),
)
def test_a_horse_says_the_same_in_csv_and_in_json(hooves: list[tuple[Limb, int]], name: str, delimiter: str) -> None:
    table = io.StringIO()
    writer = csv.writer(table, delimiter=delimiter, lineterminator="\r\n")
    writer.writerows([("Horse", "limb", "Width", "length"), *((name, limb.value, mm, mm + 2) for limb, mm in hooves)])
    document = {
        "horse": {"name": name},
        "hooves": [{"limb": limb.value, "width": mm, "length": mm + 2} for limb, mm in hooves],
    }
    assert read_csv(table.getvalue()) == [read_match_question(json.dumps(document).encode(), today=TODAY)]


def test_a_list_of_hooves_as_bulk_takes_it_is_read() -> None:
    questions = read_csv("hoof,animal_type,limb,width,length,method,observer\nSable RF,horse,RF,120,125,tape,owner\n")
    assert [one.horse_name for one in questions] == ["Sable RF"]


def test_faults_name_their_row_and_column_even_past_a_blank_row() -> None:
    text = HEADING + "Bramble,pony,,LF,wide,128,\n\n,,,,,,\nBramble,,,XX,124,128,\n"
    assert faults_of(text) == [
        ("length-unreadable", "rows", 2, "width"),
        ("unknown-choice", "rows", 5, "limb"),
    ]


@pytest.mark.parametrize(
    ("rows", "expected"),
    [
        ("Bramble,unicorn,,LF,124,128,\n", ("unknown-choice", "rows", 2, "animal_type")),
        ("Bramble,,flying,LF,124,128,\n", ("unknown-choice", "rows", 2, "uses")),
        (f"{'B' * 200},,,LF,124,128,\n", ("too-long", "rows", 2, "horse")),
        ("Bramble,pony,,LF,124,128,\nBramble,donkey,,RF,124,128,\n", ("rows-differ", "rows", 3, "animal_type")),
        ("Bramble,,,LF,124,128,\nBramble,,,LF,124,128,\n", ("duplicate-limb", "rows", 3, "limb")),
        ("Bramble,,,LF,124,128,,,surplus\n", ("row-too-long", "rows", 2)),
        ('Bramble,,,"LF,124,128,\n', ("not-csv", "rows", 2)),
        (",,,LF,124,,\n", ("missing", "rows", 2, "length")),
    ],
)  # fmt: skip
def test_what_is_wrong_is_told_with_its_place(rows: str, expected: tuple[object, ...]) -> None:
    assert faults_of(HEADING + rows) == [expected]


def test_a_quote_that_nobody_closes_spoils_its_row_alone() -> None:
    body = (HEADING + 'Moth,,,"LF,124,128,\n' + BRAMBLE).encode()
    assert [one.line for one in lines_of([body], written_as=JobFormat.CSV)] == [2, 3]


@pytest.mark.parametrize(
    ("heading", "codes"),
    [
        ("horse,limb,width\n", ["missing"]),
        ("horse,limb,width,length,colour\n", ["unknown-field"]),
        ("limb,limb,width,length\n", ["duplicate-key"]),
        ("x" * (LONGEST + 1) + "\n", ["not-csv"]),
        ("limb,width,length\udcff\n", ["not-utf-8"]),
    ],
)
def test_a_heading_of_no_use_is_refused_whole(heading: str, codes: list[str]) -> None:
    with pytest.raises(InputRefused) as refused:
        lines_of([heading.encode(errors="surrogateescape")], written_as=JobFormat.CSV)
    assert [found.code for found in refused.value.faults] == codes


@given(extra=st.integers(1, 600))
def test_a_horse_longer_than_it_may_be_keeps_its_place_and_no_text(extra: int) -> None:
    body = b"{}\n" + b"x" * (LONGEST + extra) + b"\n{}"
    assert [(one.line, one.body) for one in lines_of([body])] == [(1, b"{}"), (2, None), (3, b"{}")]
    rows = (HEADING + "Sable,,,LF,124,128,\n" * 100).encode()
    assert [(one.line, one.body) for one in lines_of([rows], written_as=JobFormat.CSV)] == [(2, None)]


def test_more_horses_than_there_may_be_are_refused_at_once() -> None:
    lines = JobLines(written_as=JobFormat.NDJSON, longest=LONGEST, most=3)
    lines.take(b"{}\n{}\n{}\n")
    with pytest.raises(InputRefused):
        lines.take(b"{}\n")
