"""Availability: what is in sale on a day, and that every old size leads to an end."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.matching.worlds import boot, release_of

from hooflast.catalog.availability import (
    PresentStatus,
    find_present,
    is_discontinued,
    is_in_sale,
    is_to_come,
    size_called,
)
from hooflast.catalog.values import BootId, BootModel, CatalogRelease, Size, SizeCode, SizeSuccessor

DAY = date(2026, 5, 1)
BEFORE, AFTER = DAY - timedelta(days=1), DAY + timedelta(days=1)
AMBLE, BROOK = boot("amble"), boot("brook")
days = st.none() | st.dates(min_value=DAY - timedelta(days=3), max_value=DAY + timedelta(days=3))


@given(first=days, ended=days)
def test_on_each_day_a_thing_is_to_come_or_in_sale_or_ended(first: date | None, ended: date | None) -> None:
    size = replace(AMBLE.sizes[0], available_from=first, discontinued_on=ended)
    timeline = [DAY + timedelta(days=shift) for shift in range(-5, 6)]
    on_sale = [day for day in timeline if is_in_sale(size, day=day)]
    assert on_sale == [day for day in timeline if (first is None or first <= day) and (ended is None or day < ended)]
    for day in timeline:
        assert is_in_sale(size, day=day) != (is_to_come(size, day=day) or is_discontinued(size, day=day))


def ended(model: BootModel, code: str, *, to: tuple[str, str] | None = None, on: date = DAY) -> BootModel:
    """The boot model with one size that is discontinued, and leads to another one."""
    successor = None if to is None else SizeSuccessor(boot=BootId(to[0]), size=SizeCode(to[1]))
    return replace(
        model,
        sizes=tuple(
            replace(size, discontinued_on=on, successor=successor) if size.code == code else size
            for size in model.sizes
        ),
    )


def asked(model: BootModel, code: str | None, release: CatalogRelease, *, day: date = DAY):
    found = find_present(release, boot=model, size=None if code is None else size_called(model, code), day=day)
    last = found.last
    return found.status, last.boot.id, None if last.size is None else last.size.code


def test_a_size_in_sale_leads_to_itself() -> None:
    assert asked(AMBLE, "wren", release_of(AMBLE)) == (PresentStatus.IN_SALE, "amble", "wren")
    assert asked(AMBLE, None, release_of(AMBLE)) == (PresentStatus.IN_SALE, "amble", None)


def test_an_old_size_leads_to_the_one_that_took_its_place_from_that_day_on() -> None:
    amble = ended(AMBLE, "wren", to=("brook", "finch"))
    release = release_of(amble, BROOK)
    assert asked(amble, "wren", release, day=BEFORE) == (PresentStatus.IN_SALE, "amble", "wren")
    assert asked(amble, "wren", release) == (PresentStatus.REPLACED, "brook", "finch")


def test_the_way_may_have_several_steps_and_tells_them_all() -> None:
    amble = ended(ended(AMBLE, "wren", to=("amble", "finch")), "finch", to=("brook", "lark"))
    found = find_present(release_of(amble, BROOK), boot=amble, size=size_called(amble, "wren"), day=DAY)
    assert [(step.boot.id, step.size.code) for step in found.steps if step.size] == [
        ("amble", "wren"), ("amble", "finch"), ("brook", "lark"),
    ]  # fmt: skip


def test_a_boot_model_that_ended_leads_on_without_guessing_a_size() -> None:
    amble = replace(AMBLE, discontinued_on=DAY, successor=BROOK.id)
    assert asked(amble, "wren", release_of(amble, BROOK)) == (PresentStatus.MEASURE_AGAIN, "brook", None)
    assert asked(amble, None, release_of(amble, BROOK)) == (PresentStatus.REPLACED, "brook", None)


def test_a_sizes_own_successor_goes_before_its_boot_models() -> None:
    amble = replace(ended(AMBLE, "wren", to=("brook", "lark")), discontinued_on=DAY, successor=BootId("clover"))
    release = release_of(amble, BROOK, boot("clover"))
    assert asked(amble, "wren", release) == (PresentStatus.REPLACED, "brook", "lark")
    assert asked(amble, "finch", release) == (PresentStatus.MEASURE_AGAIN, "clover", None)


@pytest.mark.parametrize("to", [None, ("gone", "wren"), ("brook", "gone")])
def test_what_leads_nowhere_ended(to: tuple[str, str] | None) -> None:
    amble = ended(AMBLE, "wren", to=to)
    assert asked(amble, "wren", release_of(amble, BROOK)) == (PresentStatus.ENDED, "amble", "wren")


def test_what_is_sold_from_tomorrow_on_is_to_come() -> None:
    brook = replace(BROOK, available_from=AFTER)
    amble = ended(AMBLE, "wren", to=("brook", "finch"))
    assert asked(brook, "finch", release_of(amble, brook)) == (PresentStatus.TO_COME, "brook", "finch")
    assert asked(amble, "wren", release_of(amble, brook)) == (PresentStatus.TO_COME, "brook", "finch")
    assert asked(amble, "wren", release_of(amble, brook), day=AFTER) == (PresentStatus.REPLACED, "brook", "finch")


places = st.tuples(st.sampled_from(["amble", "brook", "clover"]), st.sampled_from(["wren", "finch", "lark", "gone"]))


@given(st.dictionaries(places, st.tuples(places, days), max_size=9), places)
def test_every_way_ends_however_the_successors_are_tangled(
    tangle: dict[tuple[str, str], tuple[tuple[str, str], date | None]], start: tuple[str, str]
) -> None:
    def tangled(model: BootModel, size: Size) -> Size:
        if (model.id, size.code) not in tangle:
            return size
        (boot_id, code), day = tangle[model.id, size.code]
        return replace(size, discontinued_on=day, successor=SizeSuccessor(boot=BootId(boot_id), size=SizeCode(code)))

    models = {
        name: replace(model, sizes=tuple(tangled(model, size) for size in model.sizes))
        for name in ("amble", "brook", "clover")
        for model in [boot(name)]
    }
    begun = models[start[0]]
    found = find_present(release_of(*models.values()), boot=begun, size=size_called(begun, start[1]), day=DAY)
    ways = [(step.boot.id, step.size and step.size.code) for step in found.steps]
    assert len(set(ways)) == len(ways)
    last = found.last
    in_sale = all(is_in_sale(one, day=DAY) for one in (last.boot, last.size) if one is not None)
    assert in_sale is (found.status in (PresentStatus.IN_SALE, PresentStatus.REPLACED, PresentStatus.MEASURE_AGAIN))
