"""Hooks belong to their tenant, remember how far they were told, and are put down what happened exactly once."""

import asyncio
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from sqlalchemy import event
from tests.store.hook_samples import a_hook, an_event
from tests.store.release_samples import a_release, publish
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.errors import NotFound
from hooflast.store import Store, TooManyHooks, make_engine, new_id
from hooflast.store.hook_values import (
    DeliveryId,
    DeliveryStatus,
    Failure,
    Hook,
    Settlement,
    WhyDisabled,
)
from hooflast.store.hooks import MOST_HOOKS

pytestmark = pytest.mark.anyio
MINUTE = timedelta(minutes=1)
DONE = Settlement(status=DeliveryStatus.DELIVERED, next_at=NOW, last_status=204, last_failure=None)


async def test_what_is_kept_is_found_as_it_was(store: Store) -> None:
    hook = a_hook()
    assert await store.hooks.add(hook) == hook
    assert await store.hooks.find(hook.id, tenant=SHOP) == hook
    assert await store.hooks.all(tenant=SHOP) == (hook,)


async def test_a_new_hook_is_told_of_nothing_that_was_before(store: Store) -> None:
    await publish(store, a_release())
    assert (await store.hooks.add(a_hook())).told_to == await store.releases.last_step() == 3


async def test_a_tenant_reaches_no_hook_of_another(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    theirs = replace(hook, tenant=CLINIC)
    (delivery,) = await store.hook_deliveries.repeat(hook, [an_event()], now=NOW)
    for attempt in (
        store.hooks.find(hook.id, tenant=CLINIC),
        store.hooks.remove(hook.id, tenant=CLINIC),
        store.hooks.enable(hook.id, tenant=CLINIC),
        store.hooks.rotate(hook.id, tenant=CLINIC, secret=b"hay" * 8, until=NOW),
        store.hook_deliveries.find(delivery, hook=theirs),
    ):
        with pytest.raises(NotFound):
            await attempt
    assert await store.hooks.all(tenant=CLINIC) == ()
    assert await store.hook_deliveries.page(hook=theirs) == ()
    assert not await store.hook_deliveries.has_due(tenant=CLINIC, now=NOW)
    assert await store.hook_deliveries.claim(tenant=CLINIC, now=NOW, lease=MINUTE, limit=9) == ()
    assert not await store.hook_deliveries.tell(theirs, [an_event("evt_2")], told_to=9, now=NOW)
    (claim,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=9)
    assert not await store.hook_deliveries.settle(replace(claim, hook=theirs), DONE, now=NOW)
    await store.hook_deliveries.settle(claim, DONE, now=NOW)
    await store.hook_deliveries.forget(tenant=CLINIC, settled_before=NOW + MINUTE)
    assert len(await store.hook_deliveries.page(hook=hook)) == 1


async def test_the_service_knows_whom_to_tell(store: Store) -> None:
    assert await store.hooks.tenants() == ()
    for tenant in (SHOP, CLINIC, SHOP):
        await store.hooks.add(a_hook(tenant))
    assert set(await store.hooks.tenants()) == {SHOP, CLINIC}


async def test_a_tenant_has_so_many_hooks_even_if_they_are_made_at_once(store: Store) -> None:
    made = await asyncio.gather(*(store.hooks.add(a_hook()) for _ in range(MOST_HOOKS + 5)), return_exceptions=True)
    assert sum(isinstance(one, Hook) for one in made) == MOST_HOOKS
    assert all(isinstance(one, Hook | TooManyHooks) for one in made)
    await store.hooks.add(a_hook(CLINIC))


async def test_the_former_secret_is_valid_until_its_time_is_over(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    renewed = await store.hooks.rotate(hook.id, tenant=SHOP, secret=b"hay" * 8, until=NOW + MINUTE)
    assert renewed.secrets(now=NOW) == (b"hay" * 8, hook.secret)
    assert renewed.secrets(now=NOW + MINUTE) == (b"hay" * 8,)
    third = await store.hooks.rotate(hook.id, tenant=SHOP, secret=b"bran" * 8, until=NOW + 2 * MINUTE)
    assert third.secrets(now=NOW) == (b"bran" * 8, b"hay" * 8)


def test_no_secret_is_printed() -> None:
    assert "oats" not in repr(replace(a_hook(), former_secret=b"oats"))


async def test_of_many_who_tell_a_hook_the_same_one_does(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    events = [an_event("evt_1"), an_event("evt_2")]
    told = await asyncio.gather(*(store.hook_deliveries.tell(hook, events, told_to=7, now=NOW) for _ in range(5)))
    assert sorted(told) == [False] * 4 + [True]
    assert (await store.hooks.find(hook.id, tenant=SHOP)).told_to == 7
    assert {one.event.id for one in await store.hook_deliveries.page(hook=hook)} == {"evt_1", "evt_2"}


async def test_an_event_is_kept_as_it_is_to_be_sent(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    await store.hook_deliveries.tell(hook, [an_event()], told_to=1, now=NOW)
    (delivery,) = await store.hook_deliveries.page(hook=hook)
    assert (delivery.event, delivery.status, delivery.attempts) == (an_event(), DeliveryStatus.PENDING, 0)


async def test_of_many_who_claim_a_delivery_one_gets_it(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    await store.hook_deliveries.tell(hook, [an_event(f"evt_{n}") for n in range(9)], told_to=1, now=NOW)

    def claims(count: int) -> list[Any]:
        return [store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=3) for _ in range(count)]

    at_once = await asyncio.gather(*claims(6))
    later = [await one for one in claims(3)]
    claimed = [claim.delivery for some in (*at_once, *later) for claim in some]
    assert len({one.id for one in claimed}) == len(claimed) == 9
    assert all(one.attempts == 1 for one in claimed)


async def test_a_claim_comes_back_when_its_lease_ends(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    await store.hook_deliveries.tell(hook, [an_event()], told_to=1, now=NOW)
    (first,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=1)
    assert not await store.hook_deliveries.has_due(tenant=SHOP, now=NOW + MINUTE - timedelta(seconds=1))
    (second,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW + MINUTE, lease=MINUTE, limit=1)
    assert second.delivery.attempts == 2
    assert not await store.hook_deliveries.settle(first, DONE, now=NOW)
    assert await store.hook_deliveries.settle(second, DONE, now=NOW)
    assert not await store.hook_deliveries.settle(second, DONE, now=NOW)


async def test_a_hook_that_is_disabled_is_brought_nothing_until_it_is_enabled(store: Store) -> None:
    hook = await store.hooks.add(a_hook())
    await store.hook_deliveries.tell(hook, [an_event("evt_1"), an_event("evt_2")], told_to=1, now=NOW)
    (claim,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=1)
    gone = Settlement(
        status=DeliveryStatus.GIVEN_UP,
        next_at=NOW,
        last_status=410,
        last_failure=Failure.STATUS,
        disable=WhyDisabled.GONE,
    )
    await store.hook_deliveries.settle(claim, gone, now=NOW)
    assert (await store.hooks.find(hook.id, tenant=SHOP)).disabled_why is WhyDisabled.GONE
    assert await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=9) == ()
    assert (await store.hooks.enable(hook.id, tenant=SHOP)).disabled_at is None
    (other,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=9)
    assert other.delivery.id != claim.delivery.id


async def test_a_delivery_of_another_hook_is_not_found(store: Store) -> None:
    hook, other = await store.hooks.add(a_hook()), await store.hooks.add(a_hook())
    (delivery,) = await store.hook_deliveries.repeat(hook, [an_event()], now=NOW)
    assert (await store.hook_deliveries.find(delivery, hook=hook)).id == delivery
    with pytest.raises(NotFound):
        await store.hook_deliveries.find(delivery, hook=other)
    with pytest.raises(NotFound):
        await store.hook_deliveries.find(DeliveryId(new_id()), hook=hook)


async def test_every_query_says_whose_hooks_it_means(database_url: str) -> None:
    said: list[str] = []

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        said.append(" ".join(statement.split()))

    engine = make_engine(database_url)
    event.listen(engine.sync_engine, "before_cursor_execute", note)
    async with Store(engine) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        hook = await store.hooks.add(a_hook())
        await store.hooks.all(tenant=SHOP)
        await store.hooks.rotate(hook.id, tenant=SHOP, secret=b"hay" * 8, until=NOW)
        await store.hooks.enable(hook.id, tenant=SHOP)
        await store.hook_deliveries.tell(hook, [an_event()], told_to=1, now=NOW)
        (repeated,) = await store.hook_deliveries.repeat(hook, [an_event()], now=NOW)
        await store.hook_deliveries.has_due(tenant=SHOP, now=NOW)
        (claim,) = await store.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=MINUTE, limit=1, only=repeated)
        await store.hook_deliveries.settle(claim, replace(DONE, disable=WhyDisabled.GONE), now=NOW)
        await store.hook_deliveries.has_arrived_since(NOW, hook=hook)
        await store.hook_deliveries.page(hook=hook)
        await store.hook_deliveries.forget(tenant=SHOP, settled_before=NOW)
        await store.hooks.remove(hook.id, tenant=SHOP)
    for table in ("hooks", "hook_deliveries"):
        about = [one for one in said if f" {table} " in f"{one} "]
        assert {one.split()[0] for one in about} >= {"INSERT", "SELECT", "UPDATE", "DELETE"}
        for one in about:
            assert one.startswith(f"INSERT INTO {table} (tenant_id,") or f"{table}.tenant_id = " in one, one
