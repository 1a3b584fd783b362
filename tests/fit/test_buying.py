"""Buying boots of one size: held against trying every quantity, with stock, and with lasts that are left and right."""

from hypothesis import given
from hypothesis import strategies as st

from hooflast.fit.buying import Offer, cheapest

from .sales import cheapest_by_trial, offers
from .strategies import bounded

ways_to_buy = st.lists(offers(), max_size=3)
hooves = st.integers(0, 2)


@bounded
@given(ways=ways_to_buy, left=hooves, right=hooves, is_sided=st.booleans())
def test_no_purchase_costs_less(*, ways: list[Offer], left: int, right: int, is_sided: bool) -> None:
    purchase = cheapest(ways, left=left, right=right, is_sided=is_sided)
    by_trial = cheapest_by_trial(ways, left=left, right=right, is_sided=is_sided)
    assert (purchase and purchase.cost) == by_trial


@bounded
@given(ways=ways_to_buy, left=hooves, right=hooves, is_sided=st.booleans())
def test_a_purchase_is_in_stock_and_comes_to_what_it_says(
    *, ways: list[Offer], left: int, right: int, is_sided: bool
) -> None:
    purchase = cheapest(ways, left=left, right=right, is_sided=is_sided)
    if purchase is None:
        return
    bought = list(zip(purchase.counts, ways, strict=True))
    assert all(count >= 0 and (way.stock is None or count <= way.stock) for count, way in bought)
    assert purchase.price == sum(count * (way.price or 0) for count, way in bought)
    assert purchase.unpriced == sum(count * (1 + way.is_pair) for count, way in bought if way.price is None)
    assert purchase.spares == sum(count * (1 + way.is_pair) for count, way in bought) - left - right


@bounded
@given(ways=ways_to_buy, left=hooves, right=hooves, is_sided=st.booleans())
def test_left_and_right_may_change_places(*, ways: list[Offer], left: int, right: int, is_sided: bool) -> None:
    here = cheapest(ways, left=left, right=right, is_sided=is_sided)
    assert here == cheapest(ways, left=right, right=left, is_sided=is_sided)


@bounded
@given(ways=ways_to_buy, left=hooves, right=hooves)
def test_lasts_for_either_side_never_cost_more_than_left_and_right_ones(
    ways: list[Offer], *, left: int, right: int
) -> None:
    sided = cheapest(ways, left=left, right=right, is_sided=True)
    either = cheapest(ways, left=left, right=right, is_sided=False)
    assert sided is None or (either is not None and either.cost <= sided.cost)


def test_a_pair_and_a_single_are_bought_together_where_that_costs_least() -> None:
    ways = [Offer(is_pair=False, price=60), Offer(is_pair=True, price=100)]
    purchase = cheapest(ways, left=2, right=1, is_sided=False)
    assert purchase is not None
    assert (purchase.counts, purchase.price, purchase.spares) == ((1, 1), 160, 0)


def test_the_dearer_offer_is_taken_when_the_cheaper_one_runs_out() -> None:
    ways = [Offer(is_pair=False, price=60), Offer(is_pair=False, price=50, stock=1)]
    purchase = cheapest(ways, left=1, right=1, is_sided=False)
    assert purchase is not None
    assert (purchase.counts, purchase.price) == ((1, 1), 110)


def test_no_boots_cost_nothing() -> None:
    purchase = cheapest([Offer(is_pair=False, price=60)], left=0, right=0, is_sided=True)
    assert purchase is not None
    assert (purchase.counts, purchase.cost) == ((0,), (0, 0, 0))
