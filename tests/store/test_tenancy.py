"""A tenant never reaches another's rows, whatever is done in whatever order, and every query says whose it is."""

import asyncio
import sqlite3
from dataclasses import dataclass, field, replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from sqlalchemy import event
from tests.store.samples import CLINIC, NOW, SHOP, SOMEBODY, an_answer

from hooflast.errors import NotFound
from hooflast.store import KeptAnswer, Store, TenantId, answers, make_engine, new_id
from hooflast.store.engine import sqlite_connection

pytestmark = pytest.mark.anyio
TENANTS = ("shop", "clinic", "shop'; drop table tenants; --")
steps = st.lists(
    st.tuples(st.sampled_from(["keep", "find", "erase", "page"]), st.sampled_from(TENANTS), st.integers(0, 5)),
    max_size=25,
)


@dataclass
class World:
    """What the store should hold: for each tenant its answers by id."""

    held: dict[TenantId, dict[str, KeptAnswer]] = field(default_factory=dict)
    ids: list[str] = field(default_factory=lambda: [new_id() for _ in range(6)])


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], deadline=None, max_examples=40)
@given(steps=steps)
async def test_a_tenant_never_sees_changes_or_erases_anothers_rows(
    store: Store, kid: str, steps: list[tuple[str, str, int]]
) -> None:
    world = World()
    mine = {name: TenantId(f"{name} {new_id()}") for name in TENANTS}
    for tenant in mine.values():
        world.held[tenant] = {}
        await store.tenants.ensure(tenant, now=NOW)
    for step, name, number in steps:
        await _take(step, store=store, world=world, tenant=mine[name], answer_id=world.ids[number], kid=kid)
    for tenant, held in world.held.items():
        assert await store.answers.page(tenant=tenant) == tuple(held[each] for each in sorted(held))


async def _take(step: str, *, store: Store, world: World, tenant: TenantId, answer_id: str, kid: str) -> None:
    own = world.held[tenant]
    if step == "keep":
        # Two tenants may well use the same id, and still have an answer each.
        answer = replace(an_answer(tenant=tenant, signing_key=kid, answer=tenant.encode()), id=answer_id)
        await store.answers.keep(answer)
        own[answer_id] = answer
    elif step == "erase":
        assert await store.answers.erase(answer_id, tenant=tenant, by=SOMEBODY) == (
            own.pop(answer_id, None) is not None
        )
    elif step == "page":
        assert await store.answers.page(tenant=tenant) == tuple(own[each] for each in sorted(own))
    elif answer_id in own:
        assert await store.answers.find(answer_id, tenant=tenant) == own[answer_id]
    else:
        with pytest.raises(NotFound):
            await store.answers.find(answer_id, tenant=tenant)


async def test_every_query_says_whose_rows_it_means(database_url: str, monkeypatch: pytest.MonkeyPatch) -> None:
    said: list[str] = []

    def connect_traced(file: str) -> sqlite3.Connection:
        connection = sqlite_connection(file)
        connection.set_trace_callback(said.append)
        return connection

    monkeypatch.setattr(answers, "sqlite_connection", connect_traced)

    def note(_connection: Any, _cursor: Any, statement: str, *_rest: Any) -> None:
        said.append(statement)

    engine = make_engine(database_url)
    event.listen(engine.sync_engine, "before_cursor_execute", note)
    async with Store(engine) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        key = await store.signing_keys.ensure_first(now=NOW)
        kept = an_answer(signing_key=key.kid)
        await store.answers.keep(kept)
        await store.answers.keep(kept)
        await store.answers.find(kept.id, tenant=SHOP)
        await store.answers.page(tenant=SHOP)
        await store.answers.erase(kept.id, tenant=SHOP, by=SOMEBODY)

    about_answers = [statement for statement in said if "match_receipts" in statement]
    about_tenants = [statement for statement in said if "tenants" in statement]
    assert {statement.split()[0] for statement in about_answers} == {"INSERT", "SELECT", "DELETE"}
    assert {statement.split()[0] for statement in about_tenants} == {"INSERT", "SELECT"}
    for statement in about_answers:
        assert "INSERT INTO match_receipts (tenant_id," in statement or "WHERE match_receipts.tenant_id = " in statement
    for statement in about_tenants:
        assert "INSERT INTO tenants (id," in statement or "WHERE tenants.id = " in statement


async def test_a_tenant_is_made_once_however_often_it_is_asked_for(store: Store) -> None:
    quendle = TenantId("quendle")
    assert not await store.tenants.is_known(quendle)
    for _ in range(3):
        await store.tenants.ensure(quendle, now=NOW)
    assert await store.tenants.is_known(quendle)


async def test_the_empty_name_is_no_tenant(store: Store) -> None:
    with pytest.raises(ValueError, match="name"):
        await store.tenants.ensure(TenantId(""), now=NOW)


async def test_answers_of_several_tenants_may_share_one_commit(store: Store, kid: str) -> None:
    answers = [an_answer(tenant=tenant, signing_key=kid) for tenant in (SHOP, CLINIC) * 10]
    await asyncio.gather(*(store.answers.keep(answer) for answer in answers))
    for tenant in (SHOP, CLINIC):
        mine = tuple(answer for answer in answers if answer.tenant == tenant)
        assert await store.answers.page(tenant=tenant) == mine
