"""Match jobs come to the same answers however they are interrupted, take turns, and stay apart by client."""

import asyncio
import json
from collections.abc import AsyncIterator
from datetime import datetime, timedelta
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from tests.jobs.conftest import HandClock
from tests.jobs.job_samples import KEEP_FOR, NEW, OLD, Laid, a_wish, clerk_of, file_of, in_pieces, results_of, start_job
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.errors import NotFound
from hooflast.jobs import answering_lines
from hooflast.jobs.match_jobs import LEASE, MOST_ATTEMPTS, RENEW_AFTER, Clerk, working_on_jobs
from hooflast.jobs.receiving import Bounds, receive_job, take_in
from hooflast.jobs.telling_results import READ_TOGETHER, pages_of
from hooflast.matching.match_horse import match_horse
from hooflast.matching.question import MatchQuestion
from hooflast.matching.shelf import Shelf
from hooflast.matching.shop_shelves import ShopShelves
from hooflast.store import JobOver, Store, StoreUnavailable, TooManyJobs, match_jobs, new_id
from hooflast.store.audit import Actor, Deed
from hooflast.store.match_job_values import JobAnswers, JobFailure, JobOutcome, JobState, MatchJob
from hooflast.store.match_jobs import LONGEST_UPLOAD, MOST_OPEN

pytestmark = pytest.mark.anyio
SECOND = timedelta(seconds=1)


async def to_the_end(clerk: Clerk, job: MatchJob) -> MatchJob:
    while not (found := await clerk.store.match_jobs.find(job.id, tenant=job.tenant)).state.is_over:
        assert await clerk.take_turn()
    return found


async def is_over(store: Store, job: MatchJob) -> bool:
    return (await store.match_jobs.find(job.id, tenant=job.tenant)).state.is_over


async def bodies_of(store: Store, job: MatchJob) -> list[bytes]:
    return [one.body for one in await results_of(store, job)]


async def test_horses_are_answered_in_order_and_bad_lines_stop_nothing(store: Store, clock: HandClock) -> None:
    job = await to_the_end(clerk_of(store, clock=clock), await start_job(store, 11))
    assert (job.state, job.answered, job.refused, job.answered_to) == (JobState.DONE, 9, 2, 11)
    found = await results_of(store, job)
    assert [one.line for one in found] == list(range(1, 12))
    assert [one.line for one in found if one.outcome == "refused"] == [5, 10]
    assert (job.finished_at, job.kept_until) == (clock.now, clock.now + KEEP_FOR)


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=12)
@given(
    steps=st.lists(st.sampled_from(["turn", "die", "lose", "stop", "wait"]), max_size=12),
    at_a_turn=st.integers(1, 4),
)
async def test_interrupted_however_often_the_results_are_those_of_an_uninterrupted_run(
    store: Store, steps: list[str], at_a_turn: int
) -> None:
    clock = HandClock()
    calm = clerk_of(store, clock=clock, at_a_turn=7)
    whole = await bodies_of(store, await to_the_end(calm, await start_job(store, 9)))
    job = await start_job(store, 9)
    clerk = clerk_of(store, clock=clock, at_a_turn=at_a_turn)
    turns = store.match_job_turns
    for step in steps:
        before = await bodies_of(store, job)
        assert before == whole[: len(before)]
        clock.move(SECOND)
        if step == "turn":
            await clerk.take_turn(only=job.id)
        elif step == "wait":
            clock.move(LEASE)
        elif (turn := await turns.take(now=clock.now, lease=LEASE, only=job.id)) is None:
            continue
        elif step == "stop":
            await turns.give_back(turn, now=clock.now)
        elif step == "lose":
            clock.move(LEASE)
            await clerk.take_turn(only=job.id)
            late = await store.match_jobs.find(job.id, tenant=SHOP)
            assert await turns.write(turn, (), job=late, keep_for=KEEP_FOR, now=clock.now) is None
    clock.move(2 * LEASE)
    assert (await to_the_end(clerk_of(store, clock=clock, most_attempts=99), job)).state is JobState.DONE
    assert await bodies_of(store, job) == whole
    await store.match_jobs.remove(job.id, tenant=SHOP, by=Actor(who="key:k1", at=NOW))


async def test_a_turn_that_is_taken_is_nobody_elses_until_its_lease_ends(store: Store, clock: HandClock) -> None:
    await start_job(store, 9)
    turn = await store.match_job_turns.take(now=clock.now, lease=LEASE)
    assert turn is not None
    clerk = clerk_of(store, clock=clock)
    clock.move(LEASE - SECOND)
    assert not await clerk.take_turn()
    assert await store.match_job_turns.renew(turn, until=clock.now + LEASE)
    clock.move(2 * SECOND)
    assert not await clerk.take_turn()
    clock.move(LEASE)
    assert await clerk.take_turn()
    assert not await store.match_job_turns.renew(turn, until=clock.now + LEASE)


async def test_jobs_take_turns(store: Store, clock: HandClock) -> None:
    large = await start_job(store, 30, now=clock.now)
    clock.move(SECOND)
    small = [await start_job(store, 4, tenant=tenant, now=clock.now) for tenant in (SHOP, CLINIC)]
    clerk = clerk_of(store, clock=clock)
    for _ in range(6):
        clock.move(SECOND)
        assert await clerk.take_turn()
    assert [await is_over(store, one) for one in small] == [True, True]
    assert (await store.match_jobs.find(large.id, tenant=SHOP)).answered_to == 6


async def test_two_workers_share_the_jobs_and_no_line(store: Store) -> None:
    clock = HandClock()
    jobs = [await start_job(store, 8) for _ in range(3)]

    async def work() -> None:
        clerk = clerk_of(store, clock=clock)
        while not all([await is_over(store, job) for job in jobs]):
            await clerk.take_turn()

    await asyncio.gather(work(), work(), work())
    first, *others = [await bodies_of(store, job) for job in jobs]
    assert len(first) == 8
    assert all(other == first for other in others)


async def test_a_lease_is_renewed_while_a_turn_takes_long(store: Store) -> None:
    clock = HandClock()

    def ticking() -> datetime:
        clock.move(RENEW_AFTER)
        return clock.now

    clerk = clerk_of(store, clock=ticking, at_a_turn=20)
    job = await to_the_end(clerk, await start_job(store, 12))
    assert (job.state, job.answered + job.refused) == (JobState.DONE, 12)


async def test_a_cancelled_job_is_answered_no_further(store: Store, clock: HandClock) -> None:
    by = Actor(who="key:k1", at=clock.now)
    job = await start_job(store, 9)
    clerk = clerk_of(store, clock=clock)
    await clerk.take_turn()
    turn = await store.match_job_turns.take(now=clock.now, lease=LEASE)
    assert turn is not None
    running = await store.match_job_turns.start(turn, now=clock.now)
    cancelled = await store.match_jobs.cancel(job.id, tenant=SHOP, keep_for=KEEP_FOR, by=by)
    assert (cancelled.state, cancelled.answered_to) == (JobState.CANCELLED, 3)
    assert await store.match_job_turns.write(turn, (), job=running, keep_for=KEEP_FOR, now=clock.now) is None
    assert not await store.match_job_turns.renew(turn, until=clock.now + LEASE)
    assert not await clerk.take_turn()
    assert len(await results_of(store, job)) == 3
    assert await store.match_jobs.cancel(job.id, tenant=SHOP, keep_for=KEEP_FOR, by=by) == cancelled


async def test_what_was_done_to_a_job_stands_in_the_audit_log(store: Store, clock: HandClock) -> None:
    by = Actor(who="key:k1", at=clock.now)
    job = await start_job(store, 2)
    await store.match_jobs.cancel(job.id, tenant=SHOP, keep_for=KEEP_FOR, by=by)
    await store.match_jobs.remove(job.id, tenant=SHOP, by=by)
    done = await to_the_end(clerk_of(store, clock=clock), await start_job(store, 2))
    with pytest.raises(JobOver):
        await store.match_jobs.cancel(done.id, tenant=SHOP, keep_for=KEEP_FOR, by=by)
    entries = [(entry.deed, entry.subject) for entry in await store.audit.page(tenant=SHOP)]
    assert entries == [
        (Deed.JOB_STARTED, done.id),
        (Deed.JOB_REMOVED, job.id),
        (Deed.JOB_CANCELLED, job.id),
        (Deed.JOB_STARTED, job.id),
    ]


async def test_a_job_is_erased_when_its_time_is_over(store: Store, clock: HandClock) -> None:
    clerk = clerk_of(store, clock=clock)
    job = await to_the_end(clerk, await start_job(store, 2))
    clock.move(KEEP_FOR - SECOND)
    assert not await clerk.take_turn()
    clock.move(SECOND)
    assert await clerk.take_turn()
    with pytest.raises(NotFound):
        await store.match_jobs.find(job.id, tenant=SHOP)
    assert (await store.audit.page(tenant=SHOP))[0].actor.who == "service"
    assert not await clerk.take_turn()


async def test_an_input_that_broke_off_with_its_process_is_erased(store: Store, clock: HandClock) -> None:
    wish = (await start_job(store, 1)).wish
    broken = await store.match_jobs.begin(wish, tenant=SHOP, now=clock.now)
    assert [job.id for job in await store.match_jobs.page(tenant=SHOP)] != [broken]
    with pytest.raises(NotFound):
        await store.match_jobs.find(broken, tenant=SHOP)
    clerk = clerk_of(store, clock=clock)
    while await clerk.take_turn():
        pass
    clock.move(LONGEST_UPLOAD)
    assert await clerk.take_turn()
    with pytest.raises(NotFound):
        await store.match_jobs.add(
            broken, await store.match_jobs.lines(await start_job(store, 1), limit=1), tenant=SHOP
        )


async def test_an_input_whose_client_leaves_is_erased_at_once(store: Store, clock: HandClock) -> None:
    async def broken() -> AsyncIterator[bytes]:
        yield file_of(500)
        raise ConnectionError

    with pytest.raises(ConnectionError):
        await take_in(a_wish(), broken(), store=store, tenant=SHOP, now=clock.now, bounds=Bounds(most_horses=1000))
    assert await store.match_jobs.page(tenant=SHOP) == ()
    clock.move(LONGEST_UPLOAD)
    assert not await clerk_of(store, clock=clock).take_turn()


async def test_results_that_are_erased_while_they_are_read_do_not_end_as_if_they_were_whole(
    store: Store, clock: HandClock
) -> None:
    job = await to_the_end(clerk_of(store, clock=clock, at_a_turn=60), await start_job(store, 2 * READ_TOGETHER))
    pages = pages_of(job, store=store, after=0)
    assert len(await anext(pages)) == READ_TOGETHER
    await store.match_jobs.remove(job.id, tenant=SHOP, by=Actor(who="key:k1", at=clock.now))
    with pytest.raises(NotFound):
        await anext(pages)


async def test_results_of_several_jobs_read_together_are_those_of_each(
    store: Store, clock: HandClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(match_jobs, "MOST_TOGETHER", 2)
    begun = [await start_job(store, count) for count in (1, 7, 12)]
    clerk = clerk_of(store, clock=clock)
    for _ in range(5):
        clock.move(SECOND)
        assert await clerk.take_turn()
    jobs = [await store.match_jobs.find(job.id, tenant=SHOP) for job in begun]
    stood = {job.id: job.answered_to for job in jobs}
    assert sorted(stood.values()) == [1, 6, 6]
    for after, limit, only in ((0, 4, None), (3, 200, None), (0, 1, JobOutcome.REFUSED), (9, 5, None)):
        together = await store.match_jobs.results_of_each(stood, tenant=SHOP, after=after, limit=limit, only=only)
        assert together == {
            job.id: list(await store.match_jobs.results(job, after=after, limit=limit, only=only)) for job in jobs
        }
    assert not any((await store.match_jobs.results_of_each(stood, tenant=CLINIC, after=0, limit=9)).values())
    assert await store.match_jobs.results_of_each({}, tenant=SHOP, after=0, limit=9) == {}
    assert {job.id for job in await store.match_jobs.some(list(stood), tenant=SHOP)} == set(stood)
    assert await store.match_jobs.some(list(stood), tenant=CLINIC) == ()


async def test_a_store_that_does_not_answer_costs_no_horse_its_turn(store: Store, clock: HandClock) -> None:
    class Shut(ShopShelves):
        async def for_question(self, *_: object, **__: object) -> Any:
            raise StoreUnavailable(reason="for a while")

    named = json.dumps({"hooves": [{"limb": "LF", "width": 120, "length": 124}], "assortment": {"id": new_id()}})
    job = await receive_job(
        a_wish(),
        in_pieces(named.encode()),
        store=store,
        tenant=SHOP,
        by=Actor(who="key:k1", at=clock.now),
        bounds=Bounds(most_horses=1),
    )
    with pytest.raises(StoreUnavailable):
        await clerk_of(store, clock=clock, shops=Shut(store.assortments)).take_turn()
    assert await results_of(store, job) == ()
    await to_the_end(clerk_of(store, clock=clock), job)
    (result,) = await results_of(store, job)
    assert [fault["code"] for fault in json.loads(result.body)["faults"]] == ["assortment-unknown"]


async def test_a_horse_that_cannot_be_answered_for_a_fault_of_ours_stops_no_other(
    store: Store, clock: HandClock, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fail_once(question: MatchQuestion, *rest: Any, **more: Any) -> Any:
        if question.horse_name == "Sable 2":
            raise ZeroDivisionError
        return match_horse(question, *rest, **more)

    monkeypatch.setattr(answering_lines, "match_horse", fail_once)
    job = await to_the_end(clerk_of(store, clock=clock), await start_job(store, 4))
    assert (job.state, job.answered, job.refused) == (JobState.DONE, 3, 1)
    (refused,) = [one for one in await results_of(store, job) if one.outcome == "refused"]
    assert [fault["code"] for fault in json.loads(refused.body)["faults"]] == ["horse-not-answered"]


@pytest.mark.parametrize("gone", [OLD, NEW], ids=["older", "newer"])
async def test_a_job_fails_when_a_catalog_release_that_it_needs_is_gone(
    store: Store, clock: HandClock, gone: object
) -> None:
    catalog = Laid()
    clerk = clerk_of(store, clock=clock, catalog=catalog)
    wished = {"answers": JobAnswers.CHANGES, "compared_with": OLD.release.id}
    job, fixed = await start_job(store, 9, **wished), await start_job(store, 9, is_fixed=True, **wished)
    await clerk.take_turn()
    catalog.gone.add((OLD if gone is OLD else NEW).release.id)
    failed = await to_the_end(clerk, job)
    assert (failed.state, failed.failure) == (JobState.FAILED, JobFailure.RELEASE_GONE)
    assert (await to_the_end(clerk, fixed)).state is JobState.DONE


async def test_a_job_whose_every_turn_ends_with_its_process_is_given_up(store: Store, clock: HandClock) -> None:
    job = await start_job(store, 2)
    for _ in range(MOST_ATTEMPTS):
        assert await store.match_job_turns.take(now=clock.now, lease=LEASE)
        clock.move(LEASE)
    failed = await to_the_end(clerk_of(store, clock=clock), job)
    assert (failed.state, failed.failure) == (JobState.FAILED, JobFailure.GIVEN_UP)


async def test_a_job_that_fails_as_nobody_foresaw_is_given_up_and_stops_no_other(
    store: Store, clock: HandClock
) -> None:
    class Broken(Laid):
        async def pinned(self, release_id: str | None) -> Shelf:
            if release_id == NEW.release.id:
                raise ZeroDivisionError
            return await super().pinned(release_id)

    broken, sound = [await start_job(store, 2, now=clock.now, catalog_release=shelf.release.id) for shelf in (NEW, OLD)]
    clerk = clerk_of(store, clock=clock, catalog=Broken())
    assert await clerk.take_turn()
    assert await clerk.take_turn()
    assert await is_over(store, sound)
    assert not await clerk.take_turn()
    for _ in range(MOST_ATTEMPTS):
        clock.move(LEASE)
        assert await clerk.take_turn()
    failed = await store.match_jobs.find(broken.id, tenant=SHOP)
    assert (failed.state, failed.failure) == (JobState.FAILED, JobFailure.GIVEN_UP)


async def test_a_client_has_so_many_jobs_open_and_no_more(store: Store, clock: HandClock) -> None:
    jobs = [await start_job(store, 1) for _ in range(MOST_OPEN)]
    with pytest.raises(TooManyJobs):
        await start_job(store, 1)
    await start_job(store, 1, tenant=CLINIC)
    await to_the_end(clerk_of(store, clock=clock), jobs[0])
    await start_job(store, 1)


async def test_a_client_reaches_its_own_jobs_alone(store: Store, clock: HandClock) -> None:
    by = Actor(who="key:k1", at=clock.now)
    job = await to_the_end(clerk_of(store, clock=clock), await start_job(store, 2))
    jobs = store.match_jobs
    for reach in (
        jobs.find(job.id, tenant=CLINIC),
        jobs.cancel(job.id, tenant=CLINIC, keep_for=KEEP_FOR, by=by),
        jobs.remove(job.id, tenant=CLINIC, by=by),
    ):
        with pytest.raises(NotFound):
            await reach
    assert await jobs.page(tenant=CLINIC) == ()
    await jobs.abandon(job.id, tenant=CLINIC)
    assert await jobs.find(job.id, tenant=SHOP) == job
    assert len(await results_of(store, job)) == 2


async def test_stopping_gives_the_turn_back(store: Store, clock: HandClock) -> None:
    job = await start_job(store, 9)
    clerk = clerk_of(store, clock=clock)
    async with clerk.working, working_on_jobs(clerk, every_seconds=60):  # as if live requests were working
        while (await store.match_jobs.find(job.id, tenant=SHOP)).state is not JobState.RUNNING:
            pass
    assert await store.match_job_turns.take(now=clock.now, lease=LEASE) is not None


async def test_work_is_done_in_the_background_once_there_is_some(store: Store, clock: HandClock) -> None:
    clerk = clerk_of(store, clock=clock)
    async with working_on_jobs(clerk, every_seconds=3600):
        job = await start_job(store, 4)
        clerk.wake()
        while not await is_over(store, job):
            pass
    assert len(await results_of(store, job)) == 4
