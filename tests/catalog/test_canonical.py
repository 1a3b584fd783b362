"""Canonical: whatever is written is what RFC 8785 asks for, by the writer that is known for it."""

import json
from dataclasses import dataclass
from datetime import date
from typing import Any

import pytest
import rfc8785
from hypothesis import example, given
from hypothesis import strategies as st

from hooflast.catalog.canonical import canonical
from hooflast.catalog.values import Range

texts = st.text(st.characters(exclude_categories=["Cs"]), max_size=8)
numbers = (
    st.floats(allow_nan=False, allow_infinity=False)
    | st.floats(0.0, 300.0)
    | st.integers(-(2**53) + 1, 2**53 - 1)
    | st.integers(0, 3000).map(lambda tenths: tenths / 10)
)
values = st.recursive(
    st.none() | st.booleans() | numbers | texts,
    lambda inner: st.lists(inner, max_size=4).map(tuple) | st.dictionaries(texts, inner, max_size=4),
    max_leaves=12,
)


def as_lists(value: Any) -> Any:
    if isinstance(value, tuple):
        return [as_lists(entry) for entry in value]
    return {key: as_lists(entry) for key, entry in value.items()} if isinstance(value, dict) else value


@given(values)
@example({"\ufb33": 1, "\U0001f600": 2})
@example({"n": (1e-7, 1.5e-7, 1e21, 123456789012345680000, -0.0, 0.000001, 4.5)})
@example({"s": '\x00\x1f\b\f\n\r\t"\\/\x7f\u2028é€😀'})
def test_what_is_written_is_what_the_rfc_asks_for(value: Any) -> None:
    try:
        expected = rfc8785.dumps(as_lists(value))
    except rfc8785.IntegerDomainError:
        with pytest.raises(rfc8785.IntegerDomainError):
            canonical(value)
        return
    assert canonical(value) == expected


@given(st.lists(st.floats(0.001, 1e6), min_size=1, max_size=50))
def test_lengths_are_written_as_the_rfc_asks_for(lengths_mm: list[float]) -> None:
    assert canonical(tuple(lengths_mm)) == rfc8785.dumps(lengths_mm)


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    name: str
    chart: Range | None = None
    words: frozenset[str] = frozenset()
    on: date | None = None


def test_defaults_are_left_out_and_the_rest_is_in_jsons_own_types() -> None:
    assert canonical(Thing(name="a")) == b'{"name":"a"}'
    thing = Thing(name="a", chart=Range(low_mm=118.0, high_mm=122.5), words=frozenset("ba"), on=date(2026, 3, 1))
    assert json.loads(canonical(thing)) == {
        "name": "a", "chart": {"low_mm": 118, "high_mm": 122.5}, "words": ["a", "b"], "on": "2026-03-01",
    }  # fmt: skip
    assert canonical(thing, leave_out=frozenset({"chart", "words"}), without=frozenset({"on"})) == b'{"name":"a"}'


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_what_json_has_no_number_for_is_refused(number: float) -> None:
    with pytest.raises(rfc8785.FloatDomainError):
        canonical((number,))
