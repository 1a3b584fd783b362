"""The meter: processes that share a count never let more through than a limit allows, whatever goes wrong meanwhile."""

import asyncio
import random
from collections import Counter
from collections.abc import Sequence
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.access.samples import NOW, moments

from hooflast.access.errors import LimitReached
from hooflast.access.limit import Limit
from hooflast.access.meter import Asked, Counted, Meter
from hooflast.store import StoreUnavailable

pytestmark = pytest.mark.anyio
MINUTE = Limit(name="minute", most=7, seconds=60)
LARGE = Limit(name="minute", most=400, seconds=60)
DAY = Limit(name="day", most=90, seconds=86_400)


class SharedCount:
    """What the store does, in memory: each take is one turn of the loop, and some of them fail."""

    def __init__(self, *, fails: Sequence[int] = ()) -> None:
        self.taken: Counter[Counted] = Counter()
        self.takes = 0
        self._fails = frozenset(fails)

    async def take(self, asked: Sequence[Asked]) -> tuple[int, ...]:
        self.takes += 1
        number = self.takes
        for _ in range(number % 3):
            await asyncio.sleep(0)
        if number in self._fails:
            raise StoreUnavailable(reason="the stable is on fire")
        before = tuple(self.taken[one.counted] for one in asked)
        for one in asked:
            self.taken[one.counted] += one.requests
        await asyncio.sleep(0)
        return before


async def let_through(meter: Meter, *limits: Limit, whom: str = "juniper", visitor: str = "") -> bool:
    whoms = [(visitor if visitor and limit.name == "visitor" else whom, limit) for limit in limits]
    try:
        await meter.count(whoms, now=NOW)
    except LimitReached:
        return False
    return True


@given(
    limit=st.integers(1, 130),
    processes=st.integers(1, 5),
    requests=st.lists(st.integers(0, 4), max_size=250),
    at_once=st.integers(1, 40),
)
async def test_never_more_are_let_through_than_a_limit_allows(
    limit: int, processes: int, requests: list[int], at_once: int
) -> None:
    asked = Limit(name="minute", most=limit, seconds=60)
    count = SharedCount()
    meters = [Meter(count.take) for _ in range(processes)]
    let: list[bool] = []
    for start in range(0, len(requests), at_once):
        together = [meters[each % processes] for each in requests[start : start + at_once]]
        let += await asyncio.gather(*(let_through(meter, asked) for meter in together))
    assert sum(let) <= limit
    if asked.block == 1 or processes == 1:
        assert sum(let) == min(limit, len(requests))
    assert sum(let) >= min(limit, len(requests)) - processes * asked.block


@given(requests=st.integers(1, 120), visitors=st.integers(1, 4), processes=st.integers(1, 3))
async def test_of_several_limits_each_is_kept(requests: int, visitors: int, processes: int) -> None:
    visitor = Limit(name="visitor", most=21, seconds=60)
    count = SharedCount()
    meters = [Meter(count.take) for _ in range(processes)]
    let = await asyncio.gather(
        *(
            let_through(meters[each % processes], LARGE, DAY, visitor, visitor=f"juniper/{each % visitors}")
            for each in range(requests)
        )
    )
    by_visitor = Counter(each % visitors for each in range(requests) if let[each])
    assert sum(let) <= DAY.most
    assert max(by_visitor.values()) <= visitor.most
    if processes == 1:
        asked = Counter(each % visitors for each in range(requests))
        assert sum(let) == sum(min(number, visitor.most) for number in asked.values())


async def test_a_request_that_one_limit_refuses_counts_against_none() -> None:
    count = SharedCount()
    meter = Meter(count.take)
    assert [await let_through(meter, MINUTE, DAY) for _ in range(9)] == [True] * 7 + [False] * 2
    standings = await meter.count([("juniper", DAY)], now=NOW + timedelta(minutes=1))
    assert standings[0].left == DAY.most - 7 - 1


async def test_a_request_that_is_refused_does_not_reach_the_shared_count() -> None:
    count = SharedCount()
    meter = Meter(count.take)
    visitor = Limit(name="visitor", most=3, seconds=60)
    for _ in range(7):
        await let_through(meter, MINUTE)
    takes = count.takes
    assert not any([await let_through(meter, MINUTE, visitor, visitor=f"juniper/{each}") for each in range(5)])
    assert count.takes == takes


async def test_the_whole_limit_is_there_in_the_next_window_and_the_rest_of_this_one_is_not() -> None:
    meter = Meter(SharedCount().take)
    last = MINUTE.window(NOW) + timedelta(seconds=60) - timedelta(microseconds=1)
    for now in (last, last + timedelta(microseconds=1)):
        for left in reversed(range(MINUTE.most)):
            (standing,) = await meter.count([("juniper", MINUTE)], now=now)
            assert standing.left == left
        with pytest.raises(LimitReached) as refused:
            await meter.count([("juniper", MINUTE)], now=now)
        assert (refused.value.limit, refused.value.most) == ("minute", MINUTE.most)
        assert refused.value.seconds == MINUTE.begins_anew_in(now)


@given(fails=st.sets(st.integers(1, 12)), requests=st.integers(1, 30))
async def test_what_the_store_fails_to_count_is_not_let_through_and_nothing_is_lost(
    fails: set[int], requests: int
) -> None:
    count = SharedCount(fails=sorted(fails))
    meter = Meter(count.take)
    outcomes = await asyncio.gather(*(let_through(meter, MINUTE) for _ in range(requests)), return_exceptions=True)
    let = outcomes.count(True)
    assert let <= sum(count.taken.values())
    assert {type(each) for each in outcomes} <= {bool, StoreUnavailable}
    later = [await _until_answered(meter) for _ in range(MINUTE.most)]
    assert let + later.count(True) == MINUTE.most


async def _until_answered(meter: Meter) -> bool:
    while True:
        try:
            return await let_through(meter, MINUTE)
        except StoreUnavailable:
            continue


async def test_all_who_wait_are_told_when_the_store_fails() -> None:
    count = SharedCount(fails=[1])
    meter = Meter(count.take)
    outcomes = await asyncio.gather(*(let_through(meter, MINUTE) for _ in range(5)), return_exceptions=True)
    assert {type(each) for each in outcomes} == {StoreUnavailable}
    assert count.takes == 1


@given(seed=st.integers(0, 2**32), requests=st.integers(2, 25), leaving=st.integers(1, 20))
async def test_whoever_leaves_while_waiting_takes_nothing_along(seed: int, requests: int, leaving: int) -> None:
    chance = random.Random(seed)
    meter = Meter(SharedCount().take)
    tasks = [asyncio.create_task(let_through(meter, MINUTE)) for _ in range(requests)]
    for _ in range(leaving):
        await asyncio.sleep(0)
        chance.choice(tasks).cancel()
    outcomes = await asyncio.gather(*tasks, return_exceptions=True)
    later = [await let_through(meter, MINUTE) for _ in range(MINUTE.most)]
    assert outcomes.count(True) + later.count(True) == MINUTE.most


async def test_one_asks_the_store_for_all_who_wait() -> None:
    count = SharedCount()
    meter = Meter(count.take)
    assert all(await asyncio.gather(*(let_through(meter, LARGE) for _ in range(LARGE.block))))
    assert count.takes == 1


async def test_keys_do_not_wait_for_each_other() -> None:
    release = asyncio.Event()

    async def take(asked: Sequence[Asked]) -> tuple[int, ...]:
        if asked[0].counted.whom == "slow":
            await release.wait()
        return (0,) * len(asked)

    meter = Meter(take)
    slow = asyncio.create_task(let_through(meter, MINUTE, whom="slow"))
    await asyncio.sleep(0)
    assert await let_through(meter, MINUTE, whom="quick")
    assert not slow.done()
    release.set()
    assert await slow


async def test_what_was_forgotten_is_counted_on_and_not_anew(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hooflast.access.meter.MOST_REMEMBERED", 3)
    count = SharedCount()
    meter = Meter(count.take)
    for _ in range(5):
        assert await let_through(meter, MINUTE)
    assert all([await let_through(meter, MINUTE, whom=f"visitor {each}") for each in range(3)])
    assert [await let_through(meter, MINUTE) for _ in range(4)] == [True, True, False, False]


@given(now=moments)
async def test_every_answer_tells_how_the_limits_stand(now: object) -> None:
    meter = Meter(SharedCount().take)
    standings = await meter.count([("juniper", MINUTE), ("juniper", DAY)], now=now)  # type: ignore[arg-type]
    assert [(one.limit.name, one.left) for one in standings] == [("minute", 6), ("day", 89)]
