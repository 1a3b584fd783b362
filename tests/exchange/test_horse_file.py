"""Horse file: however many horses are written down, the same horses are read, and every fault is told at its place."""

import json
from datetime import date
from typing import Any

import pytest
import yaml
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import InputRefused
from hooflast.exchange import read_match_question
from hooflast.exchange.horse_file import MOST_FAULTS, HorsesFormat, read_horses

TODAY = date(2026, 5, 1)


def horse(width: int, **members: Any) -> dict[str, Any]:
    return {"hooves": [{"limb": "LF", "width": width, "length": 126}], **members}


horses = st.lists(st.integers(100, 150).map(horse), min_size=1, max_size=5)


@given(horses)
def test_every_way_of_writing_gives_the_same_horses(written: list[Any]) -> None:
    expected = tuple(read_match_question(one, today=TODAY) for one in written)
    lines = "\n\n".join(json.dumps(one) for one in written)
    for text, written_as in (
        (json.dumps(written), HorsesFormat.JSON),
        (json.dumps({"horses": written}), HorsesFormat.JSON),
        (yaml.safe_dump(written), HorsesFormat.YAML),
        (lines, HorsesFormat.NDJSON),
        (lines.replace("\n", "\r\n") + "\n", HorsesFormat.NDJSON),
    ):
        assert read_horses(text.encode(), written_as=written_as, today=TODAY) == expected


def faults_of(text: str, written_as: HorsesFormat) -> list[tuple[tuple[str | int, ...], str]]:
    with pytest.raises(InputRefused) as refused:
        read_horses(text.encode(), written_as=written_as, today=TODAY)
    return [(fault.path, fault.code) for fault in refused.value.faults]


def test_the_faults_of_all_horses_are_told_each_at_its_line() -> None:
    lines = [json.dumps(horse(124)), "{", json.dumps(horse(9)), "", json.dumps(horse(124, uses=["swimming"]))]
    assert faults_of("\n".join(lines), HorsesFormat.NDJSON) == [
        (("rows", 2), "not-json"),
        (("rows", 3, "hooves", 0, "width"), "length-out-of-range"),
        (("rows", 5, "uses", 0), "unknown-choice"),
    ]


def test_the_faults_of_a_list_are_told_each_at_its_place() -> None:
    assert faults_of(json.dumps([horse(124), horse(9), 7]), HorsesFormat.JSON) == [
        (("horses", 1, "hooves", 0, "width"), "length-out-of-range"),
        (("horses", 2), "wrong-type"),
    ]


@pytest.mark.parametrize("text", ["{}", "7", json.dumps(horse(124)), json.dumps({"horses": {}})])
def test_what_is_no_list_of_horses_is_refused(text: str) -> None:
    assert faults_of(text, HorsesFormat.JSON) == [((), "wrong-type")]


def test_no_more_faults_are_told_than_a_person_can_read() -> None:
    lines = "\n".join([json.dumps(horse(9))] * (3 * MOST_FAULTS))
    assert len(faults_of(lines, HorsesFormat.NDJSON)) == MOST_FAULTS


def test_a_file_of_more_horses_than_can_be_looked_at_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hooflast.exchange.horse_file.MOST_HORSES", 2)
    lines = "\n".join([json.dumps(horse(124))] * 3)
    assert faults_of(lines, HorsesFormat.NDJSON) == [((), "too-many")]
    assert len(read_horses("\n".join(lines.split("\n")[:2]).encode(), written_as=HorsesFormat.NDJSON, today=TODAY)) == 2
