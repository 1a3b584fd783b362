"""Deliveries arrive, the same bytes under the same id however often they are tried, and none is lost with a process."""

import json
from datetime import timedelta

import pytest
from standardwebhooks import Webhook
from tests.jobs.conftest import HandClock
from tests.jobs.receivers import NEVER, Received, answer, receiving
from tests.store.release_samples import BUYER, a_release, publish, stage_and_check
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.exchange.hook_form import HookWish
from hooflast.jobs.addresses import PrivateAddresses
from hooflast.jobs.delivering import KEPT_FOR, LEASE, MOST_AT_ONCE, Postman, Round
from hooflast.jobs.keeping import make_hook, renew_secret, repeat_one, repeat_since, try_hook
from hooflast.jobs.retrying import MOST_ATTEMPTS, WAITS
from hooflast.jobs.signing import written_secret
from hooflast.store import Store, TenantId
from hooflast.store.hook_values import Delivery, DeliveryStatus, Failure, Hook, WhyDisabled

pytestmark = pytest.mark.anyio
ALL = ("catalog_release.published", "catalog_release.rolled_back", "catalog_release.withdrawn")
OK = answer(204)


async def a_hook(store: Store, url: str, *, events: tuple[str, ...] = ALL, tenant: TenantId = SHOP) -> Hook:
    wish = HookWish(url=url, events=events)
    return await make_hook(wish, store=store, tenant=tenant, private=PrivateAddresses.ALLOW, now=NOW)


async def one_round(postman: Postman) -> None:
    going = Round(postman)
    await going.look()
    await going.finished()


async def delivery_of(store: Store, hook: Hook) -> Delivery:
    (delivery,) = await store.hook_deliveries.page(hook=hook)
    return delivery


def kind_and_release(received: Received) -> tuple[str, str]:
    told = json.loads(received.body)
    return told["type"], told["data"]["catalog_release"]


async def test_what_happens_to_catalog_releases_is_told_once_each(store: Store, postman: Postman) -> None:
    older, newer = a_release(1), a_release(2)
    await publish(store, older)
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url)
        await publish(store, newer)
        await store.releases.roll_back(signature=BUYER)
        await store.releases.withdraw(newer.id, signature=BUYER)
        for _ in range(3):
            await one_round(postman)
    assert sorted(map(kind_and_release, receiver.received)) == [
        ("catalog_release.published", newer.id),
        ("catalog_release.rolled_back", older.id),
        ("catalog_release.withdrawn", newer.id),
    ]
    told = {kind_and_release(one)[0]: json.loads(one.body) for one in receiver.received}
    published = told["catalog_release.published"]
    assert published["timestamp"] == BUYER.at.isoformat().replace("+00:00", "Z")
    assert (published["data"]["before"], published["data"]["active"]) == (older.id, newer.id)
    assert published["data"]["changes"][0] == {"kind": "maker", "added": 0, "removed": 0, "changed": 0}
    assert published["data"]["edition"] == newer.edition


async def test_an_attempt_that_fails_is_made_again_with_the_same_id_and_bytes(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(answer(500), answer(503), OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await publish(store, a_release())
        for wait in WAITS[:3]:
            await one_round(postman)
            await one_round(postman)  # nothing is due before its time
            clock.move(wait)
    assert len(receiver.received) == 3
    assert len({(one.headers["webhook-id"], one.body) for one in receiver.received}) == 1
    stamps = [int(one.headers["webhook-timestamp"]) for one in receiver.received]
    assert [late - stamps[0] for late in stamps] == [0, 5, 305]
    delivery = await delivery_of(store, hook)
    assert (delivery.status, delivery.attempts, delivery.last_status) == (DeliveryStatus.DELIVERED, 3, 204)
    assert (delivery.last_failure, delivery.settled_at) == (None, NOW + timedelta(seconds=305))


async def test_what_a_killed_process_began_is_brought_by_another(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await publish(store, a_release())
        await one_round(postman)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        (lost,) = await postman.claim(SHOP, limit=1)
        await one_round(postman)
        assert await postman.claim(SHOP, limit=10) == ()
        clock.move(LEASE)
        await one_round(postman)
    again = await store.hook_deliveries.find(lost.delivery.id, hook=hook)
    assert (again.status, again.attempts) == (DeliveryStatus.DELIVERED, 2)
    assert lost.delivery.event.id in {one.headers["webhook-id"] for one in receiver.received}


async def test_who_settles_too_late_changes_nothing(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(answer(500), OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        (late,) = await postman.claim(SHOP, limit=1)
        clock.move(LEASE)
        (second,) = await postman.claim(SHOP, limit=1)
        await postman.attempt(late)
        assert (await delivery_of(store, hook)).last_status is None
        await postman.attempt(second)
    assert (await delivery_of(store, hook)).status is DeliveryStatus.DELIVERED


async def test_several_processes_bring_each_delivery_once(store: Store, postman: Postman) -> None:
    async with receiving(OK) as receiver:
        hook = await a_hook(store, receiver.url)
        for _ in range(2 * MOST_AT_ONCE):
            await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        rounds = [Round(postman) for _ in range(3)]
        for going in rounds:
            await going.look()
        for going in rounds:
            await going.finished()
    ids = [one.headers["webhook-id"] for one in receiver.received]
    assert len(ids) == len(set(ids)) == 2 * MOST_AT_ONCE


async def test_who_is_slow_holds_up_nobody_else(store: Store, postman: Postman) -> None:
    async with receiving(NEVER) as slow, receiving(OK) as quick:
        await a_hook(store, slow.url)
        told = await a_hook(store, quick.url)
        await publish(store, a_release())
        going = Round(postman)
        await going.look()
        while not quick.received or (await delivery_of(store, told)).status is DeliveryStatus.PENDING:
            await going.look()
        await going.stop()
    assert len(quick.received) == 1


async def test_who_answers_410_is_told_nothing_more(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(answer(410)) as receiver:
        hook = await a_hook(store, receiver.url)
        await publish(store, a_release(1))
        await one_round(postman)
        await publish(store, a_release(2))
        clock.move(timedelta(days=1))
        await one_round(postman)
    assert len(receiver.received) == 1
    found = await store.hooks.find(hook.id, tenant=SHOP)
    assert (found.disabled_at, found.disabled_why) == (NOW, WhyDisabled.GONE)
    assert (await delivery_of(store, hook)).status is DeliveryStatus.GIVEN_UP


async def test_after_days_in_vain_a_delivery_is_given_up_and_the_hook_disabled(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(answer(500)) as receiver:
        hook = await a_hook(store, receiver.url)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        for wait in (*WAITS, timedelta(days=30)):
            await one_round(postman)
            clock.move(wait)
        await one_round(postman)
    assert len(receiver.received) == MOST_ATTEMPTS
    delivery = await delivery_of(store, hook)
    assert (delivery.status, delivery.last_failure) == (DeliveryStatus.GIVEN_UP, Failure.STATUS)
    assert (await store.hooks.find(hook.id, tenant=SHOP)).disabled_why is WhyDisabled.FAILING


async def test_who_took_something_else_meanwhile_is_not_disabled(
    store: Store, postman: Postman, clock: HandClock
) -> None:
    async with receiving(*([answer(500)] * (MOST_ATTEMPTS - 1)), OK, answer(500)) as receiver:
        hook = await a_hook(store, receiver.url)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        for wait in WAITS:
            await one_round(postman)
            clock.move(wait)
        first = await delivery_of(store, hook)
        second = await try_hook(hook.id, store=store, tenant=SHOP, now=NOW - timedelta(days=1))
        for claim in await postman.claim(SHOP, limit=1, only=second):
            await postman.attempt(claim)
        await one_round(postman)
    assert (await store.hook_deliveries.find(first.id, hook=hook)).status is DeliveryStatus.GIVEN_UP
    assert (await store.hooks.find(hook.id, tenant=SHOP)).disabled_why is None


async def test_who_is_enabled_again_is_told_of_what_it_missed(store: Store, postman: Postman) -> None:
    async with receiving(answer(410), OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await publish(store, a_release(1))
        await one_round(postman)
        missed = a_release(2)
        await publish(store, missed)
        await one_round(postman)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
    told = [json.loads(one.body) for one in receiver.received[1:]]
    assert sorted(one["type"] for one in told) == ["catalog_release.published", "hook.test"]
    assert missed.id in {one["data"].get("catalog_release") for one in told}


async def test_what_the_receiver_asks_to_wait_is_waited(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(answer(429, retry_after="3600"), OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
        clock.move(timedelta(minutes=59))
        await one_round(postman)
        assert len(receiver.received) == 1
        clock.move(timedelta(minutes=1))
        await one_round(postman)
    assert (await delivery_of(store, hook)).status is DeliveryStatus.DELIVERED


async def test_a_hook_is_told_only_of_what_it_asked_for(store: Store, postman: Postman) -> None:
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url, events=("catalog_release.rolled_back",))
        older, newer = a_release(1), a_release(2)
        await publish(store, older)
        await publish(store, newer)
        await store.releases.roll_back(signature=BUYER)
        await one_round(postman)
    assert [kind_and_release(one) for one in receiver.received] == [("catalog_release.rolled_back", older.id)]


async def test_steps_that_change_nothing_for_clients_are_not_told(store: Store, postman: Postman) -> None:
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url)
        release = a_release()
        await stage_and_check(store, release)
        await store.releases.withdraw(release.id, signature=BUYER)
        await store.releases.purge(release.id, signature=BUYER)
        await one_round(postman)
    assert receiver.received == []


async def test_what_cannot_be_compared_any_more_is_told_without_changes(store: Store, postman: Postman) -> None:
    older, newer = a_release(1), a_release(2)
    await publish(store, older)
    async with receiving(OK) as receiver:
        await a_hook(store, receiver.url)
        await publish(store, newer)
        await store.releases.withdraw(older.id, signature=BUYER)
        await store.releases.purge(older.id, signature=BUYER)
        await one_round(postman)
    told = {json.loads(one.body)["type"]: json.loads(one.body)["data"] for one in receiver.received}
    assert told["catalog_release.published"]["changes"] is None
    assert told["catalog_release.withdrawn"]["active"] == newer.id


async def test_both_secrets_sign_for_a_day_after_a_rotation(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(OK) as receiver:
        before = await a_hook(store, receiver.url)
        after = await renew_secret(before.id, store=store, tenant=SHOP, now=clock())
        for wait in (timedelta(hours=23), timedelta(hours=1)):
            clock.move(wait)
            await try_hook(before.id, store=store, tenant=SHOP, now=clock())
            await one_round(postman)
    both, one = receiver.received
    assert _signed(after.secret, both) in both.headers["webhook-signature"].split()
    assert _signed(before.secret, both) in both.headers["webhook-signature"].split()
    assert one.headers["webhook-signature"] == _signed(after.secret, one)


def _signed(secret: bytes, received: Received) -> str:
    """The signature by the standard's own library."""
    at = NOW.fromtimestamp(int(received.headers["webhook-timestamp"]), NOW.tzinfo)
    return Webhook(written_secret(secret)).sign(
        msg_id=received.headers["webhook-id"], timestamp=at, data=received.body.decode()
    )


async def test_a_replay_delivers_the_same_under_the_same_id(store: Store, postman: Postman) -> None:
    async with receiving(OK) as receiver:
        hook = await a_hook(store, receiver.url)
        await publish(store, a_release(1))
        await publish(store, a_release(2))
        await one_round(postman)
        every = await repeat_since(BUYER.at, hook_id=hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
        one = await repeat_one(every.deliveries[0], hook_id=hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
    assert one.deliveries == every.deliveries[:1]
    told = [(one.headers["webhook-id"], one.body) for one in receiver.received]
    assert sorted(told[:2]) == sorted(told[2:4])
    assert len(told) == 5
    assert len(set(told)) == 2
    assert len(await store.hook_deliveries.page(hook=hook)) == 2


async def test_a_replay_goes_no_further_back_than_asked(store: Store) -> None:
    hook = await a_hook(store, "http://harrowmere.example/")
    await publish(store, a_release())
    later = BUYER.at + timedelta(seconds=1)
    assert (await repeat_since(later, hook_id=hook.id, store=store, tenant=SHOP, now=NOW)).deliveries == ()


async def test_every_client_is_told_at_its_own_address(store: Store, postman: Postman) -> None:
    async with receiving(OK) as shop, receiving(OK) as clinic:
        await a_hook(store, shop.url)
        await a_hook(store, clinic.url, tenant=CLINIC)
        await publish(store, a_release())
        await one_round(postman)
    assert len(shop.received) == len(clinic.received) == 1
    assert shop.received[0].headers["webhook-signature"] != clinic.received[0].headers["webhook-signature"]


async def test_what_was_settled_long_ago_is_forgotten(store: Store, postman: Postman, clock: HandClock) -> None:
    async with receiving(OK, answer(500)) as receiver:
        hook = await a_hook(store, receiver.url)
        await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
        waiting = await try_hook(hook.id, store=store, tenant=SHOP, now=NOW)
        await one_round(postman)
        clock.move(KEPT_FOR)
        await Round(postman).forget()
        assert len(await store.hook_deliveries.page(hook=hook)) == 2
        clock.move(timedelta(seconds=1))
        await Round(postman).forget()
    assert [one.id for one in await store.hook_deliveries.page(hook=hook)] == [waiting]
