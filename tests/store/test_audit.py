"""The audit log: who did what, noted together with what was done, and shown to its tenant alone."""

import pytest
from tests.store.samples import CLINIC, NOW, SHOP, SOMEBODY, an_answer

from hooflast.store import Store, answers, new_id
from hooflast.store.audit import LARGEST_PAGE, Actor, AuditEntry, Deed

pytestmark = pytest.mark.anyio


async def test_erasing_a_match_is_noted(store: Store, kid: str) -> None:
    answer = an_answer(signing_key=kid)
    await store.answers.keep(answer)
    assert await store.answers.erase(answer.id, tenant=SHOP, by=SOMEBODY)
    (entry,) = await store.audit.page(tenant=SHOP)
    assert (entry.deed, entry.subject, entry.actor) == (Deed.MATCH_ERASED, answer.id, SOMEBODY)


async def test_what_was_not_there_to_erase_is_not_noted(store: Store, kid: str) -> None:
    theirs = an_answer(tenant=CLINIC, signing_key=kid)
    await store.answers.keep(theirs)
    assert not await store.answers.erase(new_id(), tenant=SHOP, by=SOMEBODY)
    assert not await store.answers.erase(theirs.id, tenant=SHOP, by=SOMEBODY)
    for tenant in (SHOP, CLINIC):
        assert await store.audit.page(tenant=tenant) == ()


async def test_a_match_is_erased_with_its_note_or_not_at_all(
    store: Store, kid: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def fail(*_: object, **__: object) -> None:
        raise RuntimeError("no ink")

    answer = an_answer(signing_key=kid)
    await store.answers.keep(answer)
    monkeypatch.setattr(answers, "note", fail)
    with pytest.raises(RuntimeError, match="no ink"):
        await store.answers.erase(answer.id, tenant=SHOP, by=SOMEBODY)
    assert await store.answers.find(answer.id, tenant=SHOP) == answer


async def test_it_is_read_from_the_newest_on_page_by_page(store: Store, kid: str) -> None:
    erased = []
    for number in range(7):
        answer = an_answer(signing_key=kid)
        await store.answers.keep(answer)
        actor = Actor(who=f"key:{number}", at=NOW)
        await store.answers.erase(answer.id, tenant=SHOP, by=actor)
        erased.append((answer.id, actor))
    found: list[AuditEntry] = []
    before: str | None = None
    while page := await store.audit.page(tenant=SHOP, before=before, limit=3):
        found += page
        before = page[-1].id
    assert [(entry.subject, entry.actor) for entry in found] == erased[::-1]
    assert len({entry.id for entry in found}) == 7
    assert len(await store.audit.page(tenant=SHOP, limit=LARGEST_PAGE * 2)) == 7
    assert await store.audit.page(tenant=SHOP, limit=-1) == ()
