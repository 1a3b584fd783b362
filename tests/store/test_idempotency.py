"""Idempotency keys: one request is claimed once, and given one answer, however many ask at the same time."""

import asyncio
from dataclasses import replace
from datetime import timedelta

import pytest
from tests.store.samples import CLINIC, NOW, SHOP

from hooflast.store import Store
from hooflast.store.errors import IdempotencyKeyInUse, IdempotencyKeyReused
from hooflast.store.idempotency import CLAIM_SECONDS, KEPT_FOR, AnsweredBefore, Asking

pytestmark = pytest.mark.anyio
ASKING = Asking(tenant=SHOP, asker="k1", key="one", fingerprint=b"\x00\x01")
ANSWER = AnsweredBefore(status=201, fields={"location": "/v1/matches/1"}, body=b'{"id":1}')


async def test_what_was_answered_once_is_answered_the_same_again(store: Store) -> None:
    claim = await store.idempotency_keys.claim(ASKING, now=NOW)
    assert isinstance(claim, str)
    await store.idempotency_keys.keep(ASKING, claim=claim, answer=ANSWER, now=NOW)
    assert await store.idempotency_keys.claim(ASKING, now=NOW) == ANSWER


async def test_while_it_is_answered_it_is_in_use(store: Store) -> None:
    await store.idempotency_keys.claim(ASKING, now=NOW)
    with pytest.raises(IdempotencyKeyInUse):
        await store.idempotency_keys.claim(ASKING, now=NOW)


@pytest.mark.parametrize("is_answered", [True, False])
async def test_another_request_under_the_same_key_is_refused(store: Store, *, is_answered: bool) -> None:
    claim = await store.idempotency_keys.claim(ASKING, now=NOW)
    assert isinstance(claim, str)
    if is_answered:
        await store.idempotency_keys.keep(ASKING, claim=claim, answer=ANSWER, now=NOW)
    with pytest.raises(IdempotencyKeyReused):
        await store.idempotency_keys.claim(replace(ASKING, fingerprint=b"\x02"), now=NOW)


async def test_of_many_who_ask_at_once_one_gets_the_claim(store: Store) -> None:
    outcomes = await asyncio.gather(
        *(store.idempotency_keys.claim(ASKING, now=NOW) for _ in range(8)), return_exceptions=True
    )
    assert sum(isinstance(one, str) for one in outcomes) == 1
    assert sum(isinstance(one, IdempotencyKeyInUse) for one in outcomes) == 7


@pytest.mark.parametrize("other", [{"tenant": CLINIC}, {"asker": "k2"}, {"key": "two"}])
async def test_tenants_askers_and_keys_are_apart(store: Store, other: dict[str, str]) -> None:
    await store.idempotency_keys.claim(ASKING, now=NOW)
    assert isinstance(await store.idempotency_keys.claim(replace(ASKING, **other), now=NOW), str)


async def test_a_claim_given_back_can_be_claimed_again(store: Store) -> None:
    claim = await store.idempotency_keys.claim(ASKING, now=NOW)
    assert isinstance(claim, str)
    await store.idempotency_keys.let_go(ASKING, claim=claim)
    assert isinstance(await store.idempotency_keys.claim(ASKING, now=NOW), str)


async def test_a_claim_whose_process_was_killed_lapses_and_its_late_answer_is_not_kept(store: Store) -> None:
    lost = await store.idempotency_keys.claim(ASKING, now=NOW)
    later = NOW + timedelta(seconds=CLAIM_SECONDS)
    claim = await store.idempotency_keys.claim(ASKING, now=later)
    assert isinstance(lost, str)
    assert isinstance(claim, str)
    await store.idempotency_keys.keep(ASKING, claim=lost, answer=ANSWER, now=later)
    with pytest.raises(IdempotencyKeyInUse):
        await store.idempotency_keys.claim(ASKING, now=later)


async def test_an_answer_is_kept_for_a_day(store: Store) -> None:
    claim = await store.idempotency_keys.claim(ASKING, now=NOW)
    assert isinstance(claim, str)
    await store.idempotency_keys.keep(ASKING, claim=claim, answer=ANSWER, now=NOW)
    almost = NOW + KEPT_FOR - timedelta(seconds=1)
    assert await store.idempotency_keys.claim(ASKING, now=almost) == ANSWER
    assert isinstance(await store.idempotency_keys.claim(ASKING, now=NOW + KEPT_FOR), str)
