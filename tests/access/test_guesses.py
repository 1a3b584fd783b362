"""Guesses: keys that are not known are counted by the address they come from, and push out nothing else."""

import pytest
from tests.access.samples import NOW
from tests.access.test_meter import SharedCount

from hooflast.access import guesses as module
from hooflast.access.errors import LimitReached
from hooflast.access.guesses import LIMIT, Guesses

pytestmark = pytest.mark.anyio
HERE, THERE = "198.51.100.1", "198.51.100.2"


async def spend(guesses: Guesses, address: str) -> int:
    """Guess until that is refused; how often it was not."""
    for allowed in range(10 * LIMIT.most):
        try:
            await guesses.count(address, now=NOW)
        except LimitReached:
            return allowed
    raise AssertionError("never refused")


async def test_as_many_are_allowed_from_an_address_as_the_limit_says() -> None:
    guesses = Guesses(SharedCount().take)
    assert not guesses.are_spent(HERE, now=NOW)
    assert await spend(guesses, HERE) == LIMIT.most
    assert guesses.are_spent(HERE, now=NOW)
    assert not guesses.are_spent(THERE, now=NOW)
    assert (await guesses.count(THERE, now=NOW)).left == LIMIT.most - 1


async def test_they_are_counted_once_for_all_processes() -> None:
    shared = SharedCount()
    processes = [Guesses(shared.take) for _ in range(3)]
    assert sum([await spend(each, HERE) for each in processes]) == LIMIT.most


async def test_a_household_is_one_address() -> None:
    guesses = Guesses(SharedCount().take)
    await spend(guesses, "2001:db8:1:1::1")
    assert guesses.are_spent("2001:db8:1:1::2", now=NOW)
    assert not guesses.are_spent("2001:db8:1:2::1", now=NOW)


async def test_what_is_beyond_the_limit_costs_the_store_nothing() -> None:
    shared = SharedCount()
    guesses = Guesses(shared.take)
    await spend(guesses, HERE)
    takes = shared.takes
    for _ in range(100):
        with pytest.raises(LimitReached):
            await guesses.count(HERE, now=NOW)
    assert shared.takes == takes <= LIMIT.most


async def test_many_addresses_fill_no_memory(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(module, "MOST_ADDRESSES", 20)
    guesses = Guesses(SharedCount().take)
    for place in range(50):
        await guesses.count(f"198.51.100.{place}", now=NOW)
    assert len(guesses._meter._blocks) == 20
