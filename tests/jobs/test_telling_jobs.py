"""Hooks are told when a match job is over: once, of their own client's jobs alone, whatever happens to processes."""

import asyncio
import json
from datetime import datetime, timedelta
from typing import Any

import pytest
from tests.jobs.conftest import HandClock
from tests.jobs.job_samples import KEEP_FOR, NEW, Laid, clerk_of, start_job
from tests.jobs.receivers import Received, answer, receiving
from tests.store.release_samples import a_release, publish
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.exchange.event_kinds import EventKind, JobEventKind
from hooflast.exchange.hook_form import HookWish
from hooflast.jobs.addresses import PrivateAddresses
from hooflast.jobs.delivering import Postman, Round
from hooflast.jobs.keeping import MOST_REPEATED, make_hook, repeat_since, try_hook
from hooflast.jobs.match_jobs import LEASE, MOST_ATTEMPTS, Clerk
from hooflast.jobs.telling import tell_hooks
from hooflast.store import Store, TenantId
from hooflast.store.audit import Actor
from hooflast.store.hook_values import Hook
from hooflast.store.match_job_ends import KEPT_FOR
from hooflast.store.match_job_values import JobEnd, JobState, MatchJob

pytestmark = pytest.mark.anyio
OK = answer(204)
OF_JOBS = tuple(kind.value for kind in JobEventKind)
BEFORE_JOBS = ("catalog_release.published", "catalog_release.rolled_back", "catalog_release.withdrawn")
SECOND = timedelta(seconds=1)
BY = Actor(who="key:k1", at=NOW)


async def a_hook(
    store: Store, url: str = "https://harrowmere.example/told", *, tenant: TenantId = SHOP, events: Any = OF_JOBS
) -> Hook:
    wish = HookWish(url=url, events=tuple(events))
    return await make_hook(wish, store=store, tenant=tenant, private=PrivateAddresses.ALLOW, now=NOW)


async def one_round(postman: Postman) -> None:
    going = Round(postman)
    await going.look()
    await going.finished()


async def done(store: Store, clock: HandClock, count: int = 2, *, tenant: TenantId = SHOP) -> MatchJob:
    job = await start_job(store, count, tenant=tenant)
    await all_done(clerk_of(store, clock=clock))
    return job


async def all_done(clerk: Clerk) -> None:
    while await clerk.take_turn():
        pass


async def cancelled(store: Store, *, at: datetime = NOW) -> MatchJob:
    job = await start_job(store, 2)
    return await store.match_jobs.cancel(job.id, tenant=SHOP, keep_for=KEEP_FOR, by=Actor(who="key:k1", at=at))


async def on_its_way(store: Store, hook: Hook) -> list[str]:
    """The kinds of what is to be delivered to a hook, newest first."""
    return [one.event.type for one in await store.hook_deliveries.page(hook=hook, limit=200)]


def told(received: Received) -> dict[str, Any]:
    found: dict[str, Any] = json.loads(received.body)
    return found


async def test_a_job_that_is_done_is_told_with_how_it_stood(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url)
        clock.move(SECOND)
        job = await done(store, clock, 6)
        for _ in range(3):
            await one_round(postman)
    (received,) = receiver.received
    assert told(received) == {
        "type": "match_job.done",
        "timestamp": clock.now.isoformat().replace("+00:00", "Z"),
        "data": {
            "match_job": job.id,
            "state": "done",
            "horses": 6,
            "answered": 5,
            "refused": 1,
            "catalog_release": NEW.release.id,
            "results": f"/v1/match-jobs/{job.id}/results",
        },
    }
    assert b"Sable" not in received.body


async def test_a_job_that_fails_or_is_cancelled_is_told_with_what_was_answered(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url)
        catalog = Laid()
        clerk = clerk_of(store, clock=clock, catalog=catalog)
        ended = await start_job(store, 9)
        await clerk.take_turn()
        await store.match_jobs.cancel(ended.id, tenant=SHOP, keep_for=KEEP_FOR, by=BY)
        failing = await start_job(store, 4)
        catalog.gone.add(NEW.release.id)
        await all_done(clerk)
        await one_round(postman)
    found = {told(one)["type"]: told(one)["data"] for one in receiver.received}
    assert set(found) == {"match_job.cancelled", "match_job.failed"}
    of_ended, of_failing = found["match_job.cancelled"], found["match_job.failed"]
    assert (of_ended["match_job"], of_ended["state"], of_ended["answered"]) == (ended.id, "cancelled", 3)
    assert (of_failing["match_job"], of_failing["state"], of_failing["answered"]) == (failing.id, "failed", 0)


async def test_a_job_whose_every_turn_ends_with_its_process_is_told_to_have_failed(
    store: Store, clock: HandClock
) -> None:
    hook = await a_hook(store)
    await start_job(store, 2)
    for _ in range(MOST_ATTEMPTS):
        assert await store.match_job_turns.take(now=clock.now, lease=LEASE)
        clock.move(LEASE)
    await all_done(clerk_of(store, clock=clock))
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == ["match_job.failed"]


async def test_cancelling_once_more_and_erasing_tell_nothing_more(store: Store, clock: HandClock) -> None:
    hook = await a_hook(store)
    job = await cancelled(store)
    await store.match_jobs.cancel(job.id, tenant=SHOP, keep_for=KEEP_FOR, by=BY)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    clock.move(KEEP_FOR)
    await all_done(clerk_of(store, clock=clock))
    await store.match_jobs.remove((await start_job(store, 1)).id, tenant=SHOP, by=BY)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == ["match_job.cancelled"]


async def test_a_job_that_is_erased_before_anybody_was_told_is_told_all_the_same(
    store: Store, clock: HandClock
) -> None:
    hook = await a_hook(store)
    job = await done(store, clock)
    await store.match_jobs.remove(job.id, tenant=SHOP, by=BY)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == ["match_job.done"]


async def test_a_client_is_told_of_its_own_jobs_alone(store: Store, postman: Postman, clock: HandClock) -> None:
    trying = TenantId(f"{SHOP}/test")
    await store.tenants.ensure(trying, now=NOW)
    async with receiving(OK) as receiver:
        for tenant in (SHOP, CLINIC, trying):
            await a_hook(store, f"{receiver.url}/{tenant}", tenant=tenant)
        jobs = {tenant: (await done(store, clock, tenant=tenant)).id for tenant in (SHOP, CLINIC, trying)}
        await one_round(postman)
    arrived = [(one.path.removeprefix("/told/"), told(one)["data"]["match_job"]) for one in receiver.received]
    assert sorted(arrived) == sorted(jobs.items())


async def test_a_hook_is_told_of_the_kinds_it_asked_for(store: Store, clock: HandClock) -> None:
    wanted = [
        (await a_hook(store, events=events), events)
        for events in (("match_job.cancelled",), ("match_job.done", "match_job.failed"), BEFORE_JOBS)
    ]
    everything = await a_hook(store, events=list(EventKind))
    await done(store, clock)
    await cancelled(store)
    await publish(store, a_release())
    for _ in range(2):
        await tell_hooks(store, tenant=SHOP, now=NOW)
    happened = ["match_job.done", "match_job.cancelled", "catalog_release.published"]
    for hook, events in wanted:
        assert sorted(await on_its_way(store, hook)) == sorted(set(happened) & set(events))
    assert sorted(await on_its_way(store, everything)) == sorted(happened)


async def test_a_new_hook_is_told_of_no_job_that_was_over_before(store: Store, clock: HandClock) -> None:
    await done(store, clock)
    hook = await a_hook(store)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == []
    await done(store, clock)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == ["match_job.done"]


async def test_several_processes_tell_each_end_once(store: Store, clock: HandClock) -> None:
    hooks = [await a_hook(store) for _ in range(2)]
    for _ in range(4):
        await start_job(store, 1)
    clerks = [clerk_of(store, clock=clock) for _ in range(3)]

    async def work(clerk: Clerk) -> None:
        for _ in range(4):
            await clerk.take_turn()
            await tell_hooks(store, tenant=SHOP, now=NOW)

    await asyncio.gather(*map(work, clerks))
    await tell_hooks(store, tenant=SHOP, now=NOW)
    ends = await store.match_job_ends.after(0, tenant=SHOP)
    assert [end.number for end in ends] == [1, 2, 3, 4]
    for hook in hooks:
        ids = [one.event.id for one in await store.hook_deliveries.page(hook=hook)]
        assert sorted(ids) == sorted(end.event_id for end in ends)


async def test_more_ends_than_are_told_together_are_told_after_one_another(store: Store, clock: HandClock) -> None:
    hook = await a_hook(store)
    for _ in range(3):
        await cancelled(store)
    first = await store.match_job_ends.after(0, tenant=SHOP, limit=2)
    assert [end.number for end in first] == [1, 2]
    assert await store.hook_deliveries.tell_of_jobs(hook, [], told_to=2, now=NOW)
    await tell_hooks(store, tenant=SHOP, now=NOW)
    assert await on_its_way(store, hook) == ["match_job.cancelled"]


async def test_who_is_enabled_again_is_told_of_the_jobs_it_missed(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(answer(410), OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await done(store, clock)
        await one_round(postman)
        missed = await done(store, clock)
        await one_round(postman)
        assert len(await on_its_way(store, hook)) == 1
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
    found = {told(one)["type"]: told(one)["data"] for one in receiver.received[1:]}
    assert found["match_job.done"]["match_job"] == missed.id


async def test_a_replay_tells_the_same_under_the_same_id_among_what_else_happened(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(OK) as receiver:
        hook = await a_hook(store, receiver.url, events=list(EventKind))
        await publish(store, a_release())
        await done(store, clock)
        await cancelled(store)
        await one_round(postman)
        late = await a_hook(store, events=("match_job.cancelled",))
        every = await repeat_since(NOW - KEPT_FOR, hook_id=hook.id, store=store, tenant=SHOP, now=NOW)
        some = await repeat_since(NOW - KEPT_FOR, hook_id=late.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
    assert (len(every.deliveries), len(some.deliveries)) == (3, 1)
    assert await on_its_way(store, late) == ["match_job.cancelled"]
    both = [(one.headers["webhook-id"], one.body) for one in receiver.received]
    assert sorted(both[:3]) == sorted(both[3:])


async def test_a_replay_goes_on_where_it_broke_off(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("hooflast.jobs.keeping.MOST_REPEATED", 2)
    assert MOST_REPEATED > 2
    for place in range(5):
        await cancelled(store, at=NOW + place * SECOND)
    hook = await a_hook(store)
    first = await repeat_since(NOW + SECOND, hook_id=hook.id, store=store, tenant=SHOP, now=NOW)
    assert (len(first.deliveries), first.go_on_from) == (2, NOW + 3 * SECOND)
    second = await repeat_since(NOW + 3 * SECOND, hook_id=hook.id, store=store, tenant=SHOP, now=NOW)
    assert (len(second.deliveries), second.go_on_from) == (2, None)
    assert set(first.deliveries).isdisjoint(second.deliveries)


async def test_ends_are_kept_for_a_while_and_their_numbers_go_on(store: Store) -> None:
    await cancelled(store)
    await cancelled(store, at=NOW + KEPT_FOR)
    assert [end.number for end in await store.match_job_ends.after(0, tenant=SHOP)] == [1, 2]
    await cancelled(store, at=NOW + KEPT_FOR + SECOND)
    assert [end.number for end in await store.match_job_ends.after(0, tenant=SHOP)] == [2, 3]
    assert await store.match_job_ends.after(0, tenant=CLINIC) == ()
    assert await store.match_job_ends.since(NOW, tenant=CLINIC, states=list(JobState)) == ()


def test_an_event_has_its_own_id_which_is_the_same_for_the_same_end() -> None:
    def end(job: str, **more: Any) -> JobEnd:
        plain = {"number": 1, "state": JobState.DONE, "catalog_release": "r", "at": NOW}
        return JobEnd(job=job, horses=1, answered=1, refused=0, **{**plain, **more})  # type: ignore[arg-type]

    assert end("j1").event_id == end("j1", number=7).event_id
    assert len({end("j1").event_id, end("j2").event_id, end("j1", state=JobState.FAILED).event_id}) == 3


def test_every_kind_that_can_be_told_can_be_asked_for() -> None:
    assert tuple(EventKind) == (*BEFORE_JOBS, *OF_JOBS)
