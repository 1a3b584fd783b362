"""Full garbage collections come between requests, soon enough, and the interpreter is left as it was."""

import asyncio
import gc
import weakref

import pytest
from hypothesis import given
from hypothesis import strategies as st

from hooflast.api import collecting
from hooflast.api.collecting import AT_LATEST_SECONDS, EVERY_SECONDS, collecting_between_requests, is_time
from hooflast.api.running import Running

pytestmark = pytest.mark.anyio
seconds = st.floats(0, 2 * AT_LATEST_SECONDS)


class Knot:
    """What only a collection of cycles takes away."""

    def __init__(self) -> None:
        self.itself = self


def old_knot() -> weakref.ref[Knot]:
    """A cycle that nobody holds any more, too old for the small collections."""
    knot = Knot()
    for generation in (0, 1):
        gc.collect(generation)
    return weakref.ref(knot)


@given(seconds)
def test_between_requests_it_is_time_sooner(after: float) -> None:
    busy = Running()
    with busy.one():
        assert is_time(running=busy, seconds=after) is (after >= AT_LATEST_SECONDS)
    assert is_time(running=busy, seconds=after) is (after >= EVERY_SECONDS)


async def test_a_cycle_stays_while_a_request_is_answered_and_goes_after_it(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(collecting, "LOOK_SECONDS", 0.0)
    monkeypatch.setattr(collecting, "EVERY_SECONDS", 0.0)
    running = Running()
    async with collecting_between_requests(running):
        with running.one():
            knot = old_knot()
            for _ in range(3):
                await asyncio.sleep(0)
            assert knot() is not None
        for _ in range(3):
            await asyncio.sleep(0)
        assert knot() is None


async def test_no_full_collection_comes_by_itself(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(collecting, "LOOK_SECONDS", 3600.0)
    async with collecting_between_requests(Running()):
        full = gc.get_stats()[2]["collections"]
        kept = [[Knot() for _ in range(100)] for _ in range(3_000)]
        assert gc.get_stats()[2]["collections"] == full
        assert len(kept) == 3_000


async def test_afterwards_everything_is_as_it_was() -> None:
    before, frozen = gc.get_threshold(), gc.get_freeze_count()
    async with collecting_between_requests(Running()):
        assert gc.get_freeze_count() > frozen
    assert (gc.get_threshold(), gc.get_freeze_count()) == (before, 0)
