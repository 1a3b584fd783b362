"""In sale: on each day exactly what is in sale on it is offered, and the answers of old days stay what they were."""

from dataclasses import replace
from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from tests.matching.worlds import BOOTS, SHELF, TODAY, boot, question, questions, release_of, shelf_of

from hooflast.catalog.availability import is_in_sale
from hooflast.catalog.values import BootModel
from hooflast.matching.answer import LeftOutBecause, MatchAnswer
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import MOST_DAYS, Shelf, lay_out

quick = settings(max_examples=25, deadline=None)
AMBLE = boot("amble")
near_days = st.none() | st.dates(min_value=TODAY - timedelta(days=2), max_value=TODAY + timedelta(days=2))


@st.composite
def dated(draw: st.DrawFn) -> tuple[BootModel, ...]:
    """Boot models whose sizes come and go around today."""
    return tuple(
        replace(
            model,
            available_from=draw(near_days),
            sizes=tuple(
                replace(size, available_from=draw(near_days), discontinued_on=draw(near_days)) for size in model.sizes
            ),
        )
        for model in BOOTS[:4]
    )


def ask(asked: MatchQuestion, shelf: Shelf, *, today: date = TODAY) -> MatchAnswer:
    return match_horse(asked, shelf, today=today, language="en")


@quick
@given(dated(), questions, st.integers(-3, 3))
def test_the_answer_is_that_of_a_catalog_that_holds_only_what_is_in_sale(
    models: tuple[BootModel, ...], asked: MatchQuestion, later: int
) -> None:
    day = TODAY + timedelta(days=later)
    on_sale = [
        replace(model, sizes=sizes, available_from=None)
        for model in models
        if is_in_sale(model, day=day) and (sizes := tuple(size for size in model.sizes if is_in_sale(size, day=day)))
    ]
    whole, only = ask(asked, shelf_of(*models), today=day), ask(asked, shelf_of(*on_sale), today=day)

    def told(answer: MatchAnswer):
        return [
            [(fit.boot.id, fit.best.size.code, round(fit.best.fit_chance, 9), fit.try_order) for fit in hoof.boots]
            for hoof in answer.hooves
        ]

    assert told(whole) == told(only)


def test_a_catalog_without_days_is_the_same_on_every_day() -> None:
    assert SHELF.on(TODAY) is SHELF


@quick
@given(dated(), st.lists(st.integers(-5, 5), max_size=12))
def test_days_that_are_alike_share_one_layout_and_few_are_held(
    models: tuple[BootModel, ...], shifts: list[int]
) -> None:
    shelf = lay_out(release_of(*models))
    for shift in shifts:
        day = TODAY + timedelta(days=shift)
        laid = shelf.on(day)
        assert shelf.on(day) is laid
        assert laid.on(day + timedelta(days=99)) is laid
        assert laid.sizes == tuple(size for model in laid.boots for size in model.sizes)
        assert len(laid.sizes) == len(laid.table.edges_mm)
        assert len(shelf._on) <= MOST_DAYS


@pytest.mark.parametrize(
    ("days", "reason"),
    [
        ({"available_from": TODAY + timedelta(days=1)}, LeftOutBecause.NOT_YET_SOLD),
        ({"discontinued_on": TODAY}, LeftOutBecause.DISCONTINUED),
    ],
)
def test_a_boot_model_that_is_not_in_sale_is_counted_with_the_reason(
    days: dict[str, date], reason: LeftOutBecause
) -> None:
    as_a_whole = replace(AMBLE, **days)  # type: ignore[arg-type]
    size_by_size = replace(AMBLE, sizes=tuple(replace(size, **days) for size in AMBLE.sizes))  # type: ignore[arg-type]
    for model in (as_a_whole, size_by_size):
        answer = ask(question(), shelf_of(model))
        assert answer.left_out == {reason: 1}
        assert answer.hooves[0].boots == ()


def test_what_was_answered_before_a_size_ended_is_answered_so_again() -> None:
    ending = replace(AMBLE, sizes=tuple(replace(size, discontinued_on=TODAY) for size in AMBLE.sizes))
    shelf = shelf_of(ending)
    yesterday = TODAY - timedelta(days=1)
    before = ask(question(), shelf, today=yesterday)
    assert not ask(question(), shelf).hooves[0].boots
    assert ask(question(), shelf, today=yesterday) == before
    assert before.hooves[0].boots
