"""Client keys: found by whoever shows one, changed by nobody else at the same time, and every change noted."""

import asyncio
from dataclasses import replace
from datetime import timedelta
from typing import Any

import pytest
from tests.access.samples import SHOP_PAGES, issued, issued_for_pages
from tests.store.release_samples import a_release, publish
from tests.store.samples import CLINIC, NOW, SHOP, SOMEBODY

from hooflast.access.errors import KeyRevoked
from hooflast.access.key import FixedWorld, Key, KeyLimits, KeyMode, Scope
from hooflast.access.secret import digest_of
from hooflast.errors import NotFound
from hooflast.store import Store, TenantId, client_keys, new_id
from hooflast.store.audit import Deed

pytestmark = pytest.mark.anyio
A_DAY = timedelta(days=1)


def a_key(*, tenant: TenantId = SHOP, **changes: Any) -> Key:
    return replace(issued().key, **({"id": new_id(), "tenant": tenant} | changes))


def a_page_key(*origins: str, **changes: Any) -> Key:
    return replace(issued_for_pages(origins=origins or (SHOP_PAGES,)).key, **({"id": new_id()} | changes))


async def test_a_key_is_found_as_it_was_made(store: Store) -> None:
    release = a_release()
    await publish(store, release)
    tried = FixedWorld(catalog_release=release.id, day=NOW.date())
    keys = (
        a_key(scopes=frozenset({Scope.ERASE, Scope.READ}), expires_at=NOW + A_DAY, limits=KeyLimits(per_minute=1)),
        a_key(mode=KeyMode.TEST, fixed=tried),
        a_page_key(SHOP_PAGES, "http://localhost:5173"),
    )
    for key in keys:
        await store.client_keys.add(key, by=SOMEBODY)
        assert await store.client_keys.shown(key.id) == key
    assert await store.client_keys.of_tenant(SHOP) == tuple(sorted(keys, key=lambda key: key.id))
    assert await store.client_keys.of_tenant(CLINIC) == ()


async def test_what_is_no_key_is_not_found(store: Store) -> None:
    await store.client_keys.add(a_key(), by=SOMEBODY)
    for name in (new_id(), "", "%", "' or 1=1 --"):
        assert await store.client_keys.shown(name) is None


async def test_keys_that_many_show_are_found_together(store: Store) -> None:
    keys = [a_key(), a_key(tenant=CLINIC), a_page_key(SHOP_PAGES)]
    for key in keys:
        await store.client_keys.add(key, by=SOMEBODY)
    made_up = [new_id() for _ in range(500)]
    shown = [made_up[0], keys[0].id, *made_up[1:], keys[1].id]
    assert await store.client_keys.shown_together(shown) == {key.id: key for key in keys[:2]}
    assert await store.client_keys.shown_together(["", "%", f"{keys[0].id} {keys[1].id}"]) == {}


async def test_a_rotated_key_has_the_new_secret_and_for_a_while_the_one_before(store: Store) -> None:
    key = a_key()
    await store.client_keys.add(key, by=SOMEBODY)
    before = key.secrets[0].digest
    for letter in ("b", "c"):
        digest = digest_of(letter * 52)
        rotated = await store.client_keys.rotate(key.id, tenant=SHOP, digest=digest, old_until=NOW + A_DAY, by=SOMEBODY)
        assert [(secret.digest, secret.until) for secret in rotated.secrets] == [(digest, None), (before, NOW + A_DAY)]
        assert await store.client_keys.shown(key.id) == rotated
        before = digest


async def test_of_two_rotations_at_once_none_is_lost(store: Store) -> None:
    key = a_key()
    await store.client_keys.add(key, by=SOMEBODY)
    digests = [digest_of(letter * 52) for letter in "bc"]
    await asyncio.gather(
        *(
            store.client_keys.rotate(key.id, tenant=SHOP, digest=digest, old_until=NOW + A_DAY, by=SOMEBODY)
            for digest in digests
        )
    )
    now = await store.client_keys.shown(key.id)
    assert now is not None
    assert {secret.digest for secret in now.secrets} == set(digests)


async def test_a_revoked_key_is_revoked_once_and_is_given_no_new_secret(store: Store) -> None:
    key = a_key()
    await store.client_keys.add(key, by=SOMEBODY)
    revoked = await store.client_keys.revoke(key.id, tenant=SHOP, by=SOMEBODY)
    assert revoked == replace(key, revoked_at=NOW)
    later = replace(SOMEBODY, at=NOW + A_DAY)
    assert await store.client_keys.revoke(key.id, tenant=SHOP, by=later) == revoked
    with pytest.raises(KeyRevoked):
        await store.client_keys.rotate(key.id, tenant=SHOP, digest=b"", old_until=NOW, by=later)
    assert [entry.deed for entry in await store.audit.page(tenant=SHOP)] == [Deed.KEY_REVOKED, Deed.KEY_CREATED]


async def test_nobody_changes_the_key_of_another(store: Store) -> None:
    key = a_key()
    await store.client_keys.add(key, by=SOMEBODY)
    with pytest.raises(NotFound):
        await store.client_keys.revoke(key.id, tenant=CLINIC, by=SOMEBODY)
    with pytest.raises(NotFound):
        await store.client_keys.rotate(key.id, tenant=CLINIC, digest=b"", old_until=NOW, by=SOMEBODY)
    assert await store.client_keys.shown(key.id) == key
    assert await store.audit.page(tenant=CLINIC) == ()


async def test_an_origin_is_known_while_a_key_is_for_its_pages(store: Store) -> None:
    key = a_page_key(SHOP_PAGES, "https://second.example")
    assert not await store.client_keys.is_origin_known(SHOP_PAGES)
    await store.client_keys.add(key, by=SOMEBODY)
    for origin in key.origins:
        assert await store.client_keys.is_origin_known(origin)
    await store.client_keys.revoke(key.id, tenant=SHOP, by=SOMEBODY)
    assert not await store.client_keys.is_origin_known(SHOP_PAGES)


@pytest.mark.parametrize(
    "origin",
    [
        *("", "null", "*", "https://", "https://%", "https://tarn-and-tether", "https://tarn_and_tether.example"),
        f"{SHOP_PAGES}:8443",
    ],
)
async def test_no_origin_is_known_that_is_not_written_the_same(store: Store, origin: str) -> None:
    await store.client_keys.add(a_page_key(), by=SOMEBODY)
    assert not await store.client_keys.is_origin_known(origin)


async def test_a_change_is_there_with_its_note_or_not_at_all(store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
    key = a_key()
    await store.client_keys.add(key, by=SOMEBODY)

    async def fail(*_: object, **__: object) -> None:
        raise RuntimeError("no ink")

    monkeypatch.setattr(client_keys, "note", fail)
    for attempt in (
        store.client_keys.add(a_key(), by=SOMEBODY),
        store.client_keys.revoke(key.id, tenant=SHOP, by=SOMEBODY),
        store.client_keys.rotate(key.id, tenant=SHOP, digest=b"", old_until=NOW, by=SOMEBODY),
    ):
        with pytest.raises(RuntimeError, match="no ink"):
            await attempt
    assert await store.client_keys.of_tenant(SHOP) == (key,)
