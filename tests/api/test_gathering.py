"""Gathering: what many ask for is asked of the store together, and each is given its own answer."""

import asyncio
from collections.abc import Mapping, Sequence

import pytest

from hooflast.api.gathering import MOST_TOGETHER, Gathering
from hooflast.store import StoreUnavailable

pytestmark = pytest.mark.anyio


class FakeStore:
    """Knows what does not begin with `no`, counts rounds, and fails as often as it is told to."""

    def __init__(self) -> None:
        self.rounds: list[tuple[str, ...]] = []
        self.fails = 0
        self.at_once = 0
        self.began = asyncio.Event()

    async def ask(self, names: Sequence[str]) -> Mapping[str, str]:
        self.rounds.append(tuple(names))
        self.at_once += 1
        self.began.set()
        await asyncio.sleep(0)
        assert self.at_once == 1, "one round at a time"
        self.at_once -= 1
        if self.fails:
            self.fails -= 1
            raise StoreUnavailable(reason="the stable is on fire")
        return {name: name.title() for name in names if not name.startswith("no")}

    def gathering(self) -> Gathering[str]:
        return Gathering(self.ask, pause=self._pause)

    async def _pause(self) -> None:
        await asyncio.sleep(0)


async def test_what_is_asked_at_once_is_one_round_and_each_gets_its_answer() -> None:
    store = FakeStore()
    gathering = store.gathering()
    names = [*(f"no {place}" for place in range(100)), "sable", "sable", "wicket"]
    answers = await asyncio.gather(*map(gathering.ask, names))
    assert answers == [None] * 100 + ["Sable", "Sable", "Wicket"]
    assert [len(asked) for asked in store.rounds] == [102]


async def test_a_round_holds_only_so_many_and_the_first_are_asked_first() -> None:
    store = FakeStore()
    names = [f"n{place}" for place in range(2 * MOST_TOGETHER + 1)]
    await asyncio.gather(*map(store.gathering().ask, names))
    assert [len(asked) for asked in store.rounds] == [MOST_TOGETHER, MOST_TOGETHER, 1]
    assert [name for asked in store.rounds for name in asked] == names


async def test_who_comes_during_a_round_is_answered_by_the_next() -> None:
    store = FakeStore()
    gathering = store.gathering()
    first = asyncio.create_task(gathering.ask("sable"))
    await store.began.wait()
    assert await gathering.ask("thistle") == "Thistle"
    assert await first == "Sable"
    assert store.rounds == [("sable",), ("thistle",)]
    assert await gathering.ask("moth") == "Moth"


async def test_a_round_that_fails_is_told_to_those_of_it_alone() -> None:
    store = FakeStore()
    gathering = store.gathering()
    store.fails = 1
    told = await asyncio.gather(gathering.ask("sable"), gathering.ask("moth"), return_exceptions=True)
    assert {type(each) for each in told} == {StoreUnavailable}
    assert await gathering.ask("sable") == "Sable"


async def test_whoever_leaves_takes_nobody_elses_answer_along() -> None:
    gathering = FakeStore().gathering()
    tasks = [asyncio.create_task(gathering.ask("sable")) for _ in range(2)]
    await asyncio.sleep(0)
    tasks[0].cancel()
    assert await tasks[1] == "Sable"
    assert tasks[0].cancelled()
