"""Known keys: the store is asked once for many, now and then, and never answers yesterday's no."""

import asyncio
from collections.abc import Sequence
from dataclasses import replace
from datetime import timedelta
from typing import Any, cast

import pytest
from tests.access.samples import NOW, SHOP_PAGES, issued

from hooflast.access.key import Key
from hooflast.access.secret import new_secret, read_key, write_key
from hooflast.api.known_keys import KEPT_SECONDS, MOST_KEPT, Asking, KnownKeys
from hooflast.store import Store, StoreUnavailable, new_id

pytestmark = pytest.mark.anyio


class FakeStore:
    """A store with one key, which counts how often it is asked, and fails as often as it is told to."""

    def __init__(self, key: Key | None = None) -> None:
        self.client_keys = self
        self.key = key
        self.origins: set[str] = set()
        self.asked: list[str] = []
        self.together: list[int] = []
        self.fails = 0
        self.seconds = 0.0

    async def shown(self, key_id: str) -> Key | None:
        await self._ask(key_id)
        return self.key if self.key is not None and self.key.id == key_id else None

    async def shown_together(self, key_ids: Sequence[str]) -> dict[str, Key]:
        self.together.append(len(key_ids))
        return {key_id: self.key for key_id in key_ids if self.key is not None and self.key.id == key_id}

    async def is_origin_known(self, origin: str) -> bool:
        await self._ask(origin)
        return origin in self.origins

    async def _ask(self, name: str) -> None:
        self.asked.append(name)
        await asyncio.sleep(0)
        if self.fails:
            self.fails -= 1
            raise StoreUnavailable(reason="the stable is on fire")

    def known(self) -> KnownKeys:
        return KnownKeys(cast(Store, self), timer=lambda: self.seconds, pause=self._pause)

    async def _pause(self) -> None:
        await asyncio.sleep(0)


ISSUED = issued()
KEY, SHOWN = ISSUED.key, read_key(ISSUED.written)


async def test_of_many_who_show_a_key_at_once_one_asks_the_store() -> None:
    store = FakeStore(KEY)
    known = store.known()
    assert await asyncio.gather(*(known.genuine(SHOWN, now=NOW) for _ in range(9))) == [KEY] * 9
    assert store.asked == [KEY.id]


async def test_a_key_is_kept_for_a_while_and_no_longer() -> None:
    store = FakeStore(KEY)
    known = store.known()
    await known.genuine(SHOWN, now=NOW)
    store.key = revoked = replace(KEY, revoked_at=NOW)
    store.seconds = KEPT_SECONDS - 0.001
    assert await known.genuine(SHOWN, now=NOW) == KEY
    store.seconds = KEPT_SECONDS
    assert await known.genuine(SHOWN, now=NOW) == revoked
    store.seconds, store.key = 2 * KEPT_SECONDS, None
    assert await known.genuine(SHOWN, now=NOW) is None


async def test_that_a_key_is_not_there_is_not_kept() -> None:
    store = FakeStore()
    known = store.known()
    assert await known.genuine(SHOWN, now=NOW) is None
    store.key = KEY
    assert await known.genuine(SHOWN, now=NOW) == KEY
    assert not await known.is_origin_known(SHOP_PAGES)
    store.origins.add(SHOP_PAGES)
    assert await known.is_origin_known(SHOP_PAGES)


async def test_a_secret_that_is_not_accepted_is_asked_for_again() -> None:
    store = FakeStore(KEY)
    known = store.known()
    await known.genuine(SHOWN, now=NOW)
    secret = new_secret()
    renewed = read_key(write_key(KEY.id, secret=secret))
    assert await known.genuine(renewed, now=NOW) is None
    store.key = replace(KEY, secrets=(replace(KEY.secrets[0], digest=renewed.digest),))
    assert await known.genuine(renewed, now=NOW) == store.key
    assert await known.genuine(SHOWN, now=NOW) is None


async def test_what_goes_wrong_is_told_to_all_who_wait_and_is_not_kept() -> None:
    store = FakeStore(KEY)
    known = store.known()
    store.fails = 1
    outcomes = await asyncio.gather(*(known.genuine(SHOWN, now=NOW) for _ in range(4)), return_exceptions=True)
    assert {type(each) for each in outcomes} == {StoreUnavailable}
    assert await known.genuine(SHOWN, now=NOW + timedelta()) == KEY


async def test_whoever_leaves_does_not_take_the_answer_along() -> None:
    store = FakeStore(KEY)
    known = store.known()
    tasks = [asyncio.create_task(known.genuine(SHOWN, now=NOW)) for _ in range(3)]
    await asyncio.sleep(0)
    tasks[0].cancel()
    outcomes: list[Any] = await asyncio.gather(*tasks, return_exceptions=True)
    assert isinstance(outcomes[0], asyncio.CancelledError)
    assert outcomes[1:] == [KEY, KEY]
    assert store.asked == [KEY.id]


async def test_made_up_ids_push_out_no_key_and_fill_no_memory() -> None:
    store = FakeStore(KEY)
    known = store.known()
    await known.genuine(SHOWN, now=NOW)
    secret = new_secret()
    for _ in range(MOST_KEPT + 1):
        assert await known.genuine(read_key(write_key(new_id(), secret=secret)), now=NOW) is None
    asked = len(store.asked)
    assert await known.genuine(SHOWN, now=NOW) == KEY
    assert len(store.asked) == asked


async def test_keys_asked_for_together_cost_one_look_and_a_genuine_one_is_found_among_them() -> None:
    store = FakeStore(KEY)
    known = store.known()
    secret = new_secret()
    made_up = [read_key(write_key(new_id(), secret=secret)) for _ in range(50)]
    found = await asyncio.gather(
        *(known.genuine(each, now=NOW, asking=Asking.TOGETHER) for each in (*made_up, SHOWN, *made_up))
    )
    assert [key for key in found if key is not None] == [KEY]
    assert (store.asked, store.together) == ([], [51])
    assert await known.genuine(SHOWN, now=NOW, asking=Asking.TOGETHER) == KEY
    assert store.together == [51], "what was found is kept"


@pytest.mark.parametrize("origin", ["null", "*", "", "https://SHOP.example", "https://a.example https://b.example"])
async def test_what_no_browser_writes_is_not_asked_for(origin: str) -> None:
    store = FakeStore()
    assert not await store.known().is_origin_known(origin)
    assert store.asked == []
