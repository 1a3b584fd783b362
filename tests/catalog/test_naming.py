"""Naming: a catalog release is found by whatever names it alone."""

from dataclasses import dataclass

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.catalog.naming import LEAST_DIGITS, find_named, short_id
from hooflast.catalog.values import ReleaseId
from hooflast.errors import InputRefused, NotFound


@dataclass(frozen=True, slots=True, kw_only=True)
class One:
    id: ReleaseId
    edition: str


digests = st.text("0123456789abcdef", min_size=64, max_size=64)
days = st.integers(1, 28).map("2026-03-{:02}".format)
releases = st.lists(
    st.builds(One, id=digests.map("sha256-{}".format).map(ReleaseId), edition=days),
    min_size=1,
    max_size=6,
    unique_by=(lambda one: one.id, lambda one: one.edition),
)


@given(releases, st.data())
def test_each_is_found_by_its_id_its_edition_and_any_beginning_that_is_its_alone(
    among: list[One], data: st.DataObject
) -> None:
    one = data.draw(st.sampled_from(among))
    length = data.draw(st.integers(LEAST_DIGITS, 64))
    assert find_named(one.id, among=among) is one
    assert find_named(one.edition, among=among) is one
    for name in (one.id[: len("sha256-") + length], one.id.removeprefix("sha256-")[:length]):
        meant = [other for other in among if other.id.removeprefix("sha256-").startswith(name.removeprefix("sha256-"))]
        if len(meant) == 1:
            assert find_named(name, among=among) is one
        else:
            with pytest.raises(InputRefused) as refused:
                find_named(name, among=among)
            assert refused.value.faults[0].code == "release-name-ambiguous"


@pytest.mark.parametrize("name", ["", "sha256-", "abc", "2026", "2027-01-01", "spring"])
def test_what_names_none_is_not_found(name: str) -> None:
    among = [One(id=ReleaseId(f"sha256-abc{'0' * 61}"), edition="2026-03-01")]
    with pytest.raises(NotFound):
        find_named(name, among=among)


def test_two_of_one_edition_are_both_named_in_the_refusal() -> None:
    among = [One(id=ReleaseId(f"sha256-{digit * 64}"), edition="2026-03-01") for digit in "ab"]
    with pytest.raises(InputRefused) as refused:
        find_named("2026-03-01", among=among)
    shown = str(refused.value.faults[0].facts["release_choices"])
    assert shown.split(",") == [short_id(one.id) for one in among]
    assert find_named(short_id(among[0].id), among=among) is among[0]
