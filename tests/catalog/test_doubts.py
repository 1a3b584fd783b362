"""Doubts: what an editor would want to be asked is asked, and nothing about what is plainly meant."""

from collections.abc import Mapping
from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.matching.worlds import BOOTS, boot, moved, release_of

from hooflast.catalog.comparing import Change, RecordKind, compare_releases
from hooflast.catalog.doubt_codes import DoubtCode
from hooflast.catalog.doubts import FAR_MM, find_doubts
from hooflast.catalog.values import BootId, BootModel, CatalogRelease
from hooflast.texts import load_texts

TEXTS = load_texts("en")
AMBLE, BROOK = boot("amble"), boot("brook")
ACTIVE = release_of(AMBLE, BROOK)


def codes(release: CatalogRelease, active: CatalogRelease | None = ACTIVE) -> set[tuple[str, str]]:
    found = find_doubts(release, active=active)
    for doubt in found:
        assert TEXTS.say(f"doubt.{doubt.code}", doubt.facts)
    return {(doubt.code.value, doubt.record) for doubt in found}


def test_without_anything_to_follow_nothing_is_doubted() -> None:
    assert find_doubts(ACTIVE, active=None) == ()


def test_the_same_again_is_doubted_once() -> None:
    assert codes(ACTIVE) == {("nothing_changed", "")}


def test_a_new_boot_model_is_not_doubted() -> None:
    assert codes(release_of(AMBLE, BROOK, boot("clover"))) == set()


def test_a_boot_model_that_is_gone_is_doubted_unless_it_was_discontinued() -> None:
    assert codes(release_of(AMBLE)) == {("boot_gone", "brook")}
    ended = release_of(AMBLE, replace(BROOK, discontinued_on=date(2026, 1, 1)))
    assert codes(ended) == set()
    assert codes(release_of(AMBLE), active=ended) == set()


def test_a_maker_that_is_gone_is_doubted() -> None:
    assert ("maker_gone", "haskeby") in codes(replace(ACTIVE, makers={}, boots={}))


def test_an_older_day_than_that_of_the_active_one_is_doubted() -> None:
    older = replace(release_of(AMBLE, BROOK, boot("clover")), released_on=ACTIVE.released_on - timedelta(days=1))
    assert codes(older) == {("older_than_active", "")}


def test_a_size_that_is_gone_is_doubted_and_one_that_came_is_not() -> None:
    fewer = replace(AMBLE, sizes=AMBLE.sizes[:-1])
    assert codes(release_of(fewer, BROOK)) == {("size_gone", "amble")}
    assert codes(ACTIVE, active=release_of(fewer, BROOK)) == set()


def test_a_size_that_ended_before_it_went_is_not_doubted() -> None:
    ending = replace(AMBLE, sizes=(*AMBLE.sizes[:-1], replace(AMBLE.sizes[-1], discontinued_on=date(2026, 1, 1))))
    fewer = replace(AMBLE, sizes=AMBLE.sizes[:-1])
    assert codes(release_of(fewer, BROOK), active=release_of(ending, BROOK)) == set()


def test_another_order_of_sizes_is_doubted() -> None:
    turned = replace(AMBLE, sizes=AMBLE.sizes[::-1])
    assert codes(release_of(turned, BROOK)) == {("sizes_reordered", "amble")}


@given(st.floats(0.01, 30).flatmap(lambda by: st.sampled_from([by, -by])))
def test_sizes_that_moved_far_are_doubted_each_with_how_far(by_mm: float) -> None:
    found = find_doubts(release_of(moved(AMBLE, by_mm=by_mm), BROOK), active=ACTIVE)
    if abs(by_mm) < FAR_MM - 1e-9:
        assert found == ()
    elif abs(by_mm) > FAR_MM + 1e-9:
        assert [doubt.facts["size"] for doubt in found] == [size.code for size in AMBLE.sizes]
        assert {doubt.code for doubt in found} == {DoubtCode.SIZE_MOVED}
        assert all(doubt.facts["moved_mm"] == pytest.approx(abs(by_mm)) for doubt in found)


@given(st.sets(st.integers(0, len(BOOTS) - 1)), st.sets(st.integers(0, len(BOOTS) - 1)))
def test_a_boot_model_is_called_gone_exactly_if_it_was_sold_and_is_no_longer_there(
    old: set[int], new: set[int]
) -> None:
    before, after = (release_of(*(BOOTS[place] for place in places)) for places in (old, new))
    gone = {doubt.record for doubt in find_doubts(after, active=before) if doubt.code is DoubtCode.BOOT_GONE}
    boots: Mapping[BootId, BootModel] = before.boots
    removed = {
        one.id
        for one in compare_releases(before, after).records
        if (one.kind, one.change) == (RecordKind.BOOT, Change.REMOVED)
    }
    assert gone == {one for one in removed if boots[BootId(one)].discontinued_on is None}
