"""Answers come back byte for byte, are kept once, and once erased are gone for every process."""

import asyncio
from dataclasses import replace
from datetime import datetime

import anyio
import pytest
from hypothesis import HealthCheck, given, settings
from tests.store.samples import NOW, SHOP, SOMEBODY, an_answer, moments, payloads, words

from hooflast.catalog.values import ReleaseId
from hooflast.errors import NotFound
from hooflast.store import (
    AnswerAlreadyKept,
    KeptAnswer,
    Sent,
    SigningKeyUnknown,
    Store,
    StoreClosed,
    TenantId,
    TenantUnknown,
    new_id,
    open_store,
)

pytestmark = pytest.mark.anyio
on_one_database = settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=50)


@on_one_database
@given(question=payloads, answer=payloads, head=payloads, created_at=moments, version=words)
async def test_an_answer_comes_back_byte_for_byte(
    store: Store, kid: str, question: bytes, answer: bytes, head: bytes, created_at: datetime, version: str
) -> None:
    kept = replace(
        an_answer(signing_key=kid),
        question=question,
        answer=Sent.of(answer, head=head),
        created_at=created_at,
        catalog_release=ReleaseId(version),
        engine=version,
        calibration=version,
    )
    await store.answers.keep(kept)
    found = await store.answers.find(kept.id, tenant=SHOP)
    assert found == kept
    assert found.answer.whole == head + answer
    assert str(found.created_at.tzinfo) == "UTC"


async def test_keeping_an_answer_twice_is_keeping_it_once(store: Store, kid: str) -> None:
    kept = an_answer(signing_key=kid)
    await store.answers.keep(kept)
    await store.answers.keep(kept)
    await asyncio.gather(*(store.answers.keep(kept) for _ in range(5)))
    assert await store.answers.page(tenant=SHOP) == (kept,)


async def test_a_kept_answer_never_changes(store: Store, kid: str) -> None:
    kept = an_answer(signing_key=kid)
    await store.answers.keep(kept)
    with pytest.raises(AnswerAlreadyKept) as refusal:
        await store.answers.keep(replace(kept, answer=Sent.of(b"another")))
    assert refusal.value.id == kept.id
    assert await store.answers.find(kept.id, tenant=SHOP) == kept


async def test_an_answer_for_nobody_is_refused_by_name(store: Store, kid: str) -> None:
    with pytest.raises(TenantUnknown) as refusal:
        await store.answers.keep(an_answer(signing_key=kid, tenant=TenantId("nobody")))
    assert refusal.value.tenant == "nobody"


async def test_an_answer_signed_with_no_key_of_ours_is_refused_by_name(store: Store) -> None:
    with pytest.raises(SigningKeyUnknown) as refusal:
        await store.answers.keep(an_answer(signing_key="stray"))
    assert refusal.value.kid == "stray"


async def test_one_bad_answer_does_not_fail_those_it_was_kept_with(store: Store, kid: str) -> None:
    good = [an_answer(signing_key=kid) for _ in range(20)]
    bad = an_answer(signing_key="stray")
    *fine, refused = await asyncio.gather(
        *(store.answers.keep(answer) for answer in [*good, bad]), return_exceptions=True
    )
    assert set(fine) == {None}
    assert isinstance(refused, SigningKeyUnknown)
    assert await store.answers.page(tenant=SHOP) == tuple(good)


async def test_whoever_has_kept_an_answer_finds_it_from_another_process(
    store: Store, kid: str, database_url: str
) -> None:
    kept = an_answer(signing_key=kid)
    await store.answers.keep(kept)
    async with open_store(database_url) as other:
        assert await other.answers.find(kept.id, tenant=SHOP) == kept


async def test_stopping_keeps_every_answer_that_was_handed_over(database_url: str, store: Store, kid: str) -> None:
    handed_over = [an_answer(signing_key=kid) for _ in range(100)]
    other = open_store(database_url)
    await other.start()
    keeps = [asyncio.create_task(other.answers.keep(answer)) for answer in handed_over]
    await asyncio.sleep(0)
    await other.stop()
    await asyncio.gather(*keeps)
    assert await store.answers.page(tenant=SHOP, limit=200) == tuple(handed_over)


async def test_a_store_that_was_not_started_keeps_nothing(database_url: str) -> None:
    closed = open_store(database_url)
    with pytest.raises(StoreClosed):
        await closed.answers.keep(an_answer(signing_key="any"))
    await closed.stop()


async def test_what_was_never_kept_is_not_found(store: Store) -> None:
    unknown = new_id()
    with pytest.raises(NotFound) as refusal:
        await store.answers.find(unknown, tenant=SHOP)
    assert (refusal.value.resource, refusal.value.name) == ("match", unknown)


async def test_erasure_wins_over_replay_in_every_process(store: Store, kid: str, database_url: str) -> None:
    erased, beside = an_answer(signing_key=kid), an_answer(signing_key=kid)
    await store.answers.keep(erased)
    await store.answers.keep(beside)
    async with open_store(database_url) as other:
        assert await other.answers.find(erased.id, tenant=SHOP) == erased
        assert await store.answers.erase(erased.id, tenant=SHOP, by=SOMEBODY)
        for process in (store, other):
            with pytest.raises(NotFound):
                await process.answers.find(erased.id, tenant=SHOP)
            assert await process.answers.page(tenant=SHOP) == (beside,)


async def test_erasing_what_is_not_there_says_so(store: Store) -> None:
    assert not await store.answers.erase(new_id(), tenant=SHOP, by=SOMEBODY)


async def test_an_erased_answer_leaves_no_trace_in_an_sqlite_file(sqlite_url: str) -> None:
    secret = b"Bramble has tender feet " * 200
    async with open_store(sqlite_url) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        key = await store.signing_keys.ensure_first(now=NOW)
        kept = an_answer(signing_key=key.kid, answer=secret)
        await store.answers.keep(kept)
        await store.answers.erase(kept.id, tenant=SHOP, by=SOMEBODY)
    file = sqlite_url.removeprefix("sqlite+aiosqlite:///")
    assert b"tender feet" not in await anyio.Path(file).read_bytes()


async def test_pages_show_every_answer_once_in_the_order_of_ids(store: Store, kid: str) -> None:
    kept = [an_answer(signing_key=kid) for _ in range(23)]
    for answer in reversed(kept):
        await store.answers.keep(answer)
    seen: list[KeptAnswer] = []
    while page := await store.answers.page(tenant=SHOP, after=seen[-1].id if seen else "", limit=5):
        assert len(page) <= 5
        seen.extend(page)
    assert seen == kept


async def test_a_page_has_an_upper_bound(store: Store, kid: str) -> None:
    await asyncio.gather(*(store.answers.keep(an_answer(signing_key=kid)) for _ in range(201)))
    assert len(await store.answers.page(tenant=SHOP, limit=10_000)) == 200
    assert await store.answers.page(tenant=SHOP, limit=0) == ()


def test_an_answer_needs_an_id_of_version_7_and_a_moment_with_its_zone() -> None:
    answer = an_answer(signing_key="any")
    with pytest.raises(ValueError, match="version 7"):
        replace(answer, id="bramble")
    with pytest.raises(ValueError, match="time zone"):
        replace(answer, created_at=NOW.replace(tzinfo=None))


def test_neither_question_nor_answer_shows_in_a_log_line() -> None:
    assert "Bramble" not in repr(an_answer(signing_key="any", answer=b"Bramble"))
