"""Deliveries arrive, the same bytes under the same id however often they are tried, and none is lost with a process."""

import json
from dataclasses import replace
from datetime import timedelta

import pytest
from tests.jobs.conftest import HandClock
from tests.jobs.receivers import NEVER, Received, answer, receiving
from tests.store.release_samples import BUYER, a_release, publish, stage_and_check
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.exchange.hook_form import HookWish
from hooflast.jobs.addresses import PrivateAddresses
from hooflast.jobs.delivering import LEASE, Postman, Round
from hooflast.jobs.keeping import make_hook, renew_secret, repeat_one, repeat_since, try_hook
from hooflast.jobs.retrying import MOST_ATTEMPTS, WAITS
from hooflast.jobs.sending import Sender
from hooflast.store import Store, open_store
from hooflast.store.hook_values import Delivery, DeliveryStatus, Failure, Hook, WhyDisabled

pytestmark = pytest.mark.anyio
ALL = ("catalog_release.published", "catalog_release.rolled_back", "catalog_release.withdrawn")
OK = answer(204)


async def a_hook(store: Store, url: str, *events: str) -> Hook:
    wish = HookWish(url=url, events=events or ALL)
    return await make_hook(wish, store=store, tenant=SHOP, private=PrivateAddresses.ALLOW, now=NOW)


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
