"""Signing keys: one first key for all processes, retired ones still verify, secrets never show."""

import asyncio
from datetime import timedelta

import pytest
from tests.store.samples import NOW

from hooflast.store import SigningKey, SigningKeyUnknown, open_store

pytestmark = pytest.mark.anyio


async def test_a_new_store_has_no_key(database_url: str) -> None:
    async with open_store(database_url) as store:
        assert await store.signing_keys.newest() is None


async def test_the_first_key_is_made_once(database_url: str) -> None:
    async with open_store(database_url) as store:
        made = await store.signing_keys.ensure_first(now=NOW)
        assert await store.signing_keys.ensure_first(now=NOW + timedelta(days=1)) == made
        assert await store.signing_keys.newest() == made
        assert await store.signing_keys.by_kid(made.kid) == made
        assert (made.created_at, made.retired_at, len(made.secret)) == (NOW, None, 32)


async def test_all_who_ask_for_the_first_key_at_once_get_the_same(database_url: str) -> None:
    stores = [open_store(database_url) for _ in range(6)]
    keys = await asyncio.gather(*(store.signing_keys.ensure_first(now=NOW) for store in stores))
    assert len({key.kid for key in keys}) == 1
    for store in stores:
        await store.stop()


async def test_a_renewed_key_signs_and_the_one_before_still_verifies(database_url: str) -> None:
    async with open_store(database_url) as store:
        before = await store.signing_keys.ensure_first(now=NOW)
        later = NOW + timedelta(days=30)
        renewed = await store.signing_keys.renew(now=later)
        assert renewed.secret != before.secret
        assert await store.signing_keys.newest() == renewed
        assert await store.signing_keys.ensure_first(now=later) == renewed
        retired = await store.signing_keys.by_kid(before.kid)
        assert (retired.secret, retired.retired_at) == (before.secret, later)


async def test_renewals_at_once_leave_one_key_to_sign_with(database_url: str) -> None:
    stores = [open_store(database_url) for _ in range(4)]
    made = await asyncio.gather(*(store.signing_keys.renew(now=NOW) for store in stores))
    found = [await stores[0].signing_keys.by_kid(key.kid) for key in made]
    in_use = [key for key in found if key.retired_at is None]
    assert len({key.kid for key in made}) == 4
    assert [await stores[0].signing_keys.newest()] == in_use
    for store in stores:
        await store.stop()


async def test_a_key_nobody_made_is_unknown_by_name(database_url: str) -> None:
    async with open_store(database_url) as store:
        with pytest.raises(SigningKeyUnknown) as refusal:
            await store.signing_keys.by_kid("stray")
        assert refusal.value.kid == "stray"


def test_a_secret_never_shows() -> None:
    key = SigningKey(kid="k", secret=b"tarn-and-tether", created_at=NOW)
    assert "tarn" not in repr(key)


def test_a_key_needs_moments_with_their_zone() -> None:
    with pytest.raises(ValueError, match="time zone"):
        SigningKey(kid="k", secret=b"", created_at=NOW.replace(tzinfo=None))
    with pytest.raises(ValueError, match="time zone"):
        SigningKey(kid="k", secret=b"", created_at=NOW, retired_at=NOW.replace(tzinfo=None))
