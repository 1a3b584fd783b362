"""Ids are UUIDs of version 7 and sort by the time they were made."""

from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.store import is_id, new_id


def test_a_new_id_is_of_version_7_in_canonical_text() -> None:
    made = new_id()
    assert UUID(made).version == 7
    assert str(UUID(made)) == made
    assert is_id(made)


def test_canonical_text_of_version_7_is_an_id() -> None:
    assert is_id("0198a5e2-7c1d-7b8a-9d3e-0f1a2b3c4d5e")


def test_ids_sort_in_the_order_they_were_made() -> None:
    made = [new_id() for _ in range(1000)]
    assert sorted(set(made)) == made


@pytest.mark.parametrize(
    "other",
    [
        "7f3f4a5e-2c1d-4b8a-9d3e-0f1a2b3c4d5e",  # version 4
        "0198A5E2-7C1D-7B8A-9D3E-0F1A2B3C4D5E",
        "0198a5e27c1d7b8a9d3e0f1a2b3c4d5e",
        "{0198a5e2-7c1d-7b8a-9d3e-0f1a2b3c4d5e}",
        "",
    ],
)
def test_other_versions_and_other_spellings_are_no_ids(other: str) -> None:
    assert not is_id(other)


@given(st.text(max_size=40))
def test_any_text_can_be_asked_about(text: str) -> None:
    assert is_id(text) is False
