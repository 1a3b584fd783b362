"""Faults: what came, where, and what was meant."""

import json
import math

import msgspec
import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.errors import Fault
from hooflast.exchange import FaultCode, tell_fault
from hooflast.exchange.faults import LONGEST_RECEIVED, closest, shown, true_path
from hooflast.texts import load_texts

from .strategies import anything, places_in


@given(anything | st.text(st.characters()) | st.integers(-(2**53), 2**53))
def test_what_came_can_be_written_in_any_format(received: object) -> None:
    value = shown(received)
    assert msgspec.json.decode(msgspec.json.encode(value)) == value
    assert value == value
    if isinstance(value, str):
        value.encode("utf-8")
        assert len(value) <= LONGEST_RECEIVED + 1


@pytest.mark.parametrize(
    ("received", "value"),
    [
        (None, None),
        (True, True),
        (7, 7),
        (12.4, 12.4),
        ("LF", "LF"),
        (math.nan, "NaN"),
        (-math.inf, "-Infinity"),
        ([1, "é"], '[1, "é"]'),
        ({"limb": "LF"}, '{"limb": "LF"}'),
        ("\ud800", "?"),
        ("x" * 300, "x" * 200 + "…"),
    ],
)
def test_what_came_is_shown_as_it_is_or_as_json_and_never_too_long(received: object, value: object) -> None:
    assert shown(received) == value


@given(anything)
def test_a_path_that_is_there_is_its_own_true_path(document: object) -> None:
    for path in places_in(document):
        assert true_path(path, document=document) == path


def test_steps_that_are_in_no_document_are_left_out_of_a_path() -> None:
    document = {"hooves": [{"width": "x"}]}
    assert true_path(("hooves", 0, "width", 0), document=document) == ("hooves", 0, "width")
    assert true_path(("hooves", "list", 0, "width"), document=document) == ("hooves", 0, "width")
    assert true_path(("hooves", 0, "length"), document=document) == ("hooves", 0, "length")


@given(st.text(max_size=60))
def test_the_closest_match_is_one_of_the_choices_or_none(written: str) -> None:
    choices = ["LF", "RF", "snow_and_ice"]
    assert closest(written, choices).get("closest", "LF") in choices


@pytest.mark.parametrize(("written", "found"), [("lf", "LF"), ("Snow and ice", "snow_and_ice"), (7, None), ("", None)])
def test_the_closest_match_does_not_mind_capitals(written: object, found: str | None) -> None:
    assert closest(written, ["LF", "snow_and_ice"]).get("closest") == found


def test_a_fault_without_a_place_of_its_own_is_told_as_of_the_whole() -> None:
    fault = Fault(path=(), code=FaultCode.NOT_JSON.value, received="{", facts={"line": 1, "column": 2})
    assert tell_fault(fault, texts=load_texts("en")).place == "The whole input"
    inside = Fault(path=("hooves", 0), code="missing", received=None, facts={"field": "limb"})
    assert tell_fault(inside, texts=load_texts("en")).place == "/hooves/0"


def test_codes_are_written_alike_and_once() -> None:
    codes = json.loads(json.dumps([code.value for code in FaultCode]))
    assert codes == list(dict.fromkeys(codes))
    assert all(code == code.lower() and " " not in code and "_" not in code for code in codes)
