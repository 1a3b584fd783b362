"""Row-level security: on PostgreSQL a plain role sees one tenant's rows alone, even without a filter in the query."""

import secrets
from collections.abc import AsyncIterator, Iterator
from dataclasses import replace
from datetime import timedelta

import pytest
from sqlalchemy import text
from sqlalchemy.exc import DBAPIError
from sqlalchemy.ext.asyncio import AsyncConnection, AsyncEngine
from tests import databases
from tests.access.samples import SHOP_PAGES, issued_for_pages
from tests.databases import Run, engine_at
from tests.jobs.job_samples import KEEP_FOR, clerk_of, results_of, start_job
from tests.postgresql_server import Server
from tests.store.hook_samples import a_hook, an_event
from tests.store.release_samples import BUYER, a_release, publish, stage_and_check
from tests.store.samples import CLINIC, NOW, SHOP, SOMEBODY, an_answer

from hooflast.access.key import Key
from hooflast.access.meter import Asked, Counted
from hooflast.store import (
    DatabaseUrlRefused,
    Store,
    StoreUnavailable,
    TenantId,
    grant_serving_rights,
    migrations,
    new_id,
    open_store,
    read_database_url,
)
from hooflast.store.hook_values import DeliveryStatus, Settlement, WhyDisabled
from hooflast.store.seal_values import Seal, SealKey
from hooflast.store.serving_role import SERVING_RIGHTS
from hooflast.store.tables import METADATA

pytestmark = [pytest.mark.anyio, pytest.mark.full]
CLINIC_PAGES = "https://mossgate.example"
TENANT_TABLES = sorted(
    table.name for table in METADATA.tables.values() if table.name == "tenants" or "tenant_id" in table.c
)


@pytest.fixture
def plain_url(postgresql_url: str, database_run: Run) -> Iterator[str]:
    """The test's database as a plain role that was given serving rights and nothing else."""
    role, password = f"{database_run.token}_{secrets.token_hex(4)}", secrets.token_hex(8)
    name = read_database_url(postgresql_url).database or ""
    databases.administer(
        postgresql_url, f"CREATE ROLE \"{role}\" LOGIN PASSWORD '{password}' NOSUPERUSER NOBYPASSRLS NOCREATEROLE"
    )
    databases.complete(grant_serving_rights(postgresql_url, role=role))
    yield databases.database_at(postgresql_url, name=name, user=role, password=password)
    databases.administer(postgresql_url, f'DROP OWNED BY "{role}"', f'DROP ROLE "{role}"')


@pytest.fixture
async def plain(anyio_backend: str, plain_url: str) -> AsyncIterator[Store]:
    """A store that serves as the plain role, with one answer of each of two tenants."""
    async with open_store(plain_url) as store:
        key = await store.signing_keys.ensure_first(now=NOW)
        for tenant in (SHOP, CLINIC):
            await store.tenants.ensure(tenant, now=NOW)
            await store.answers.keep(an_answer(tenant=tenant, signing_key=key.kid))
        yield store


@pytest.fixture
async def engine(anyio_backend: str, plain: Store, plain_url: str) -> AsyncIterator[AsyncEngine]:
    """Connections of the plain role that have no repository between them and the tables."""
    async with engine_at(plain_url, pool_size=1, max_overflow=0) as engine:
        yield engine


async def test_the_role_of_these_tests_is_plain(plain: Store, engine: AsyncEngine) -> None:
    async with engine.connect() as connection:
        name = await connection.scalar(text("select current_user"))
        powers = text("select rolsuper or rolbypassrls from pg_roles where rolname = current_user")
        assert await connection.scalar(powers) is False
        owners = text("select distinct tableowner from pg_tables where schemaname = 'public'")
        assert name not in (await connection.scalars(owners)).all()
    role = await plain.role()
    assert role is not None
    assert (role.name, role.is_plain) == (name, True)


async def test_an_administrator_and_an_owner_are_no_plain_roles(postgresql_url: str) -> None:
    async with open_store(postgresql_url) as store:
        role = await store.role()
    assert role is not None
    assert (role.is_superuser, role.owns_tables, role.is_plain) == (True, True, False)


async def test_sqlite_has_no_roles(sqlite_url: str) -> None:
    async with open_store(sqlite_url) as store:
        assert await store.role() is None
    with pytest.raises(DatabaseUrlRefused):
        await grant_serving_rights(sqlite_url, role="hooflast_serve")


async def _become(connection: AsyncConnection, tenant: str) -> None:
    await connection.execute(text("select set_config('app.tenant', :tenant, true)"), {"tenant": tenant})


async def _tenants_seen(connection: AsyncConnection) -> dict[str, set[str]]:
    answers = await connection.scalars(text("select tenant_id from match_receipts"))
    tenants = await connection.scalars(text("select id from tenants"))
    return {"match_receipts": set(answers.all()), "tenants": set(tenants.all())}


@pytest.mark.parametrize("tenant", [SHOP, CLINIC])
async def test_a_query_without_a_filter_shows_ones_own_rows_alone(engine: AsyncEngine, tenant: TenantId) -> None:
    async with engine.begin() as connection:
        await _become(connection, tenant)
        assert await _tenants_seen(connection) == {"match_receipts": {tenant}, "tenants": {tenant}}


@pytest.mark.parametrize("tenant", ["", "nobody", "%", f"{SHOP} "])
async def test_whoever_is_no_tenant_sees_nothing(engine: AsyncEngine, tenant: str) -> None:
    async with engine.begin() as connection:
        assert await _tenants_seen(connection) == {"match_receipts": set(), "tenants": set()}
        await _become(connection, tenant)
        assert await _tenants_seen(connection) == {"match_receipts": set(), "tenants": set()}


async def test_a_row_cannot_be_written_for_another_tenant(engine: AsyncEngine) -> None:
    forged = text(
        "insert into match_receipts (tenant_id, id, created_at, catalog_release, engine, calibration, question,"
        " answer_head, answer_packed, signing_key_id)"
        " select :other, 'forged', now(), '', '', '', '', '', '', kid from signing_keys"
    )
    async with engine.begin() as connection:
        await _become(connection, SHOP)
        with pytest.raises(DBAPIError, match="row-level security"):
            await connection.execute(forged, {"other": CLINIC})
        await connection.rollback()


async def test_erasing_without_a_filter_erases_ones_own_rows_alone(engine: AsyncEngine, plain: Store) -> None:
    async with engine.begin() as connection:
        await _become(connection, SHOP)
        await connection.execute(text("delete from match_receipts"))
    assert await plain.answers.page(tenant=SHOP) == ()
    assert len(await plain.answers.page(tenant=CLINIC)) == 1


async def test_whose_transaction_it_was_does_not_leak_through_the_pool(engine: AsyncEngine) -> None:
    store = Store(engine)
    async with engine.connect() as connection:
        session = await connection.scalar(text("select pg_backend_pid()"))
    assert len(await store.answers.page(tenant=SHOP)) == 1
    async with engine.connect() as connection:
        assert await connection.scalar(text("select pg_backend_pid()")) == session
        assert await connection.scalar(text("select coalesce(current_setting('app.tenant', true), '')")) == ""
        assert await _tenants_seen(connection) == {"match_receipts": set(), "tenants": set()}


async def test_a_plain_role_can_do_all_that_serving_needs(plain: Store, plain_url: str) -> None:
    await plain.require_ready()
    await migrations.upgrade(plain_url)
    await plain.signing_keys.renew(now=NOW)
    (kept,) = await plain.answers.page(tenant=SHOP)
    await plain.answers.keep(kept)
    assert await plain.answers.find(kept.id, tenant=SHOP) == kept
    assert await plain.answers.erase(kept.id, tenant=SHOP, by=SOMEBODY)


async def test_a_plain_role_can_take_every_step_with_a_catalog_release(plain: Store) -> None:
    older, newer = a_release(1), a_release(2)
    for release in (older, newer):
        await publish(plain, release)
    key = SealKey(kid="k1", private=b"oats", created_at=NOW)
    assert await plain.seal_keys.ensure_first(make=lambda: key) == key
    third = a_release(3)
    await stage_and_check(plain, third)
    digest = (await plain.releases.find(third.id)).digest
    seal = Seal(release=third.id, digest=digest, kid=key.kid, token="a.b.c")
    async with plain.publisher_lock.held():
        await plain.releases.publish(third.id, signature=BUYER, seal=seal)
    assert await plain.releases.seal(third.id) == seal
    await plain.releases.withdraw(third.id, signature=BUYER, instead=newer.id)
    await plain.releases.roll_back(signature=BUYER)
    await plain.releases.withdraw(newer.id, signature=BUYER)
    await plain.releases.purge(newer.id, signature=BUYER)
    await stage_and_check(plain, newer)
    assert await plain.releases.read((await plain.releases.active()).release) == older


async def test_a_plain_role_works_on_the_match_jobs_of_every_tenant(plain: Store, engine: AsyncEngine) -> None:
    jobs = [await start_job(plain, 4, tenant=tenant) for tenant in (SHOP, CLINIC)]
    clerk = clerk_of(plain, clock=lambda: NOW)
    while await clerk.take_turn():
        pass
    for job in jobs:
        assert len(await results_of(plain, job)) == 4
    for table in ("match_jobs", "match_job_lines", "match_job_results", "match_job_ends"):
        async with engine.begin() as connection:
            await _become(connection, SHOP)
            assert set(await connection.scalars(text(f"select tenant_id from {table}"))) == {SHOP}
    late = clerk_of(plain, clock=lambda: NOW + KEEP_FOR)
    while await late.take_turn():
        pass
    assert [await plain.match_jobs.page(tenant=job.tenant) for job in jobs] == [(), ()]


@pytest.mark.parametrize(
    "overreach",
    [
        "update seal_keys set private = ''",
        "delete from seal_keys",
        "update catalog_release_seals set token = ''",
        "update catalog_release_steps set taken_by = 'somebody else'",
        "delete from catalog_release_steps",
        "update catalog_release_contents set packed = ''",
        "delete from catalog_releases",
        "update catalog_releases set id = 'sha256-00'",
        "update match_receipts set answer_head = ''",
        "update signing_keys set secret = ''",
        "delete from signing_keys",
        "delete from tenants",
        "update client_keys set tenant_id = 'mossgate'",
        "update client_keys set scopes = 'erase'",
        "update client_keys set origins = ''",
        "delete from client_keys",
        "update audit_entries set actor = 'somebody else'",
        "delete from audit_entries",
        "update alembic_version set version_num = ''",
        "alter table match_receipts disable row level security",
        "drop table match_receipts",
        "create table hay (id text)",
    ],
)
async def test_a_plain_role_can_do_no_more(engine: AsyncEngine, overreach: str) -> None:
    async with engine.begin() as connection:
        await _become(connection, SHOP)
        with pytest.raises(DBAPIError, match=r"permission denied|must be owner"):
            await connection.execute(text(overreach))
        await connection.rollback()


async def test_a_plain_role_cannot_migrate(plain_url: str) -> None:
    with pytest.raises(StoreUnavailable):
        await migrations.downgrade(plain_url, migrations.BASE)


async def test_rights_for_a_role_that_is_not_there_are_refused(postgresql_url: str) -> None:
    with pytest.raises(StoreUnavailable, match="stranger"):
        await grant_serving_rights(postgresql_url, role='stranger"; drop table tenants; --')


async def test_an_owner_who_is_no_superuser_is_walled_off_too(
    database_run: Run, postgresql_server: Server, postgresql_url: str
) -> None:
    owner, password = f"{database_run.token}_{secrets.token_hex(4)}", secrets.token_hex(8)
    databases.administer(postgresql_server.url, f"CREATE ROLE \"{owner}\" LOGIN PASSWORD '{password}'")
    with databases.postgresql_database(database_run, server=postgresql_server, migrated=False) as url:
        name = read_database_url(url).database or ""
        databases.administer(url, f'ALTER DATABASE "{name}" OWNER TO "{owner}"')
        owner_url = databases.database_at(url, name=name, user=owner, password=password)
        await migrations.upgrade(owner_url)
        async with engine_at(owner_url) as engine, Store(engine) as store:
            role = await store.role()
            assert role is not None
            assert (role.is_superuser, role.owns_tables) == (False, True)
            key = await store.signing_keys.ensure_first(now=NOW)
            await store.tenants.ensure(SHOP, now=NOW)
            await store.answers.keep(an_answer(signing_key=key.kid))
            async with engine.connect() as connection:
                assert await _tenants_seen(connection) == {"match_receipts": set(), "tenants": set()}
            assert len(await store.answers.page(tenant=SHOP)) == 1
        await migrations.downgrade(owner_url, migrations.BASE)
    databases.administer(postgresql_server.url, f'DROP ROLE "{owner}"')


@pytest.mark.parametrize("table", TENANT_TABLES)
async def test_every_table_of_tenants_rows_is_behind_the_wall(postgresql_url: str, table: str) -> None:
    walls = text(
        "select relrowsecurity, relforcerowsecurity, polcmd, polpermissive, polqual is not null,"
        " polwithcheck is not null from pg_class join pg_policy on polrelid = pg_class.oid where relname = :table"
    )
    async with engine_at(postgresql_url) as engine, engine.connect() as connection:
        rows = [tuple(row) for row in await connection.execute(walls, {"table": table})]
    shown_key = [(True, True, b"r", True, True, False)] if table == "client_keys" else []
    assert sorted(rows) == [(True, True, b"*", True, True, True), *shown_key]


class TestKeys:
    """A plain role sees the keys and the audit log of its tenant, and besides only keys that a request itself names."""

    @pytest.fixture
    async def keys(self, plain: Store) -> dict[TenantId, Key]:
        made = {
            SHOP: replace(issued_for_pages().key, id=new_id(), tenant=SHOP),
            CLINIC: replace(issued_for_pages(origins=(CLINIC_PAGES,)).key, id=new_id(), tenant=CLINIC),
        }
        for key in made.values():
            await plain.client_keys.add(key, by=SOMEBODY)
        return made

    async def _seen(self, connection: AsyncConnection, **named: str) -> set[str]:
        for name, value in named.items():
            await connection.execute(text(f"select set_config('app.{name}', :value, true)"), {"value": value})
        seen = set((await connection.scalars(text("select tenant_id from client_keys"))).all())
        await connection.rollback()
        return seen

    async def test_only_keys_that_are_named_are_seen_besides_ones_own(
        self, engine: AsyncEngine, keys: dict[TenantId, Key]
    ) -> None:
        async with engine.connect() as connection:
            assert await self._seen(connection) == set()
            assert await self._seen(connection, key="", origin="", tenant="") == set()
            assert await self._seen(connection, tenant=SHOP) == {SHOP}
            assert await self._seen(connection, key=keys[CLINIC].id) == {CLINIC}
            assert await self._seen(connection, tenant=SHOP, key=keys[CLINIC].id) == {SHOP, CLINIC}
            assert await self._seen(connection, key=f"{new_id()} {keys[CLINIC].id}") == {CLINIC}
            assert await self._seen(connection, key=f"{keys[SHOP].id} {keys[CLINIC].id}") == {SHOP, CLINIC}
            assert await self._seen(connection, key=" ") == set()
            assert await self._seen(connection, origin=CLINIC_PAGES) == {CLINIC}
            assert await self._seen(connection, origin=f"{SHOP_PAGES} {CLINIC_PAGES}") == set()
            assert await self._seen(connection, key="%", origin="%") == set()

    async def test_a_key_that_is_named_is_not_changed(self, engine: AsyncEngine, keys: dict[TenantId, Key]) -> None:
        async with engine.begin() as connection:
            await _become(connection, SHOP)
            await connection.execute(text("select set_config('app.key', :key, true)"), {"key": keys[CLINIC].id})
            changed = await connection.execute(text("update client_keys set revoked_at = now() returning tenant_id"))
            assert set(changed.scalars().all()) == {SHOP}
            await connection.rollback()

    async def test_a_note_is_seen_by_its_tenant_and_written_for_nobody_else(
        self, engine: AsyncEngine, keys: dict[TenantId, Key]
    ) -> None:
        every = text("select tenant_id from audit_entries")
        forged = text("insert into audit_entries values (:other, 'forged', now(), 'key:x', 'key-created', 'x', null)")
        async with engine.begin() as connection:
            assert (await connection.scalars(every)).all() == []
            await _become(connection, SHOP)
            assert (await connection.scalars(every)).all() == [SHOP]
            with pytest.raises(DBAPIError, match="row-level security"):
                await connection.execute(forged, {"other": CLINIC})
            await connection.rollback()

    async def test_a_plain_role_can_do_all_that_keys_need(self, plain: Store, keys: dict[TenantId, Key]) -> None:
        key = keys[SHOP]
        assert await plain.client_keys.shown(key.id) == key
        assert await plain.client_keys.shown_together([each.id for each in keys.values()]) == {
            each.id: each for each in keys.values()
        }
        assert await plain.client_keys.is_origin_known(CLINIC_PAGES)
        assert await plain.client_keys.of_tenant(SHOP) == (key,)
        await plain.client_keys.rotate(key.id, tenant=SHOP, digest=b"oats", old_until=NOW, by=SOMEBODY)
        await plain.client_keys.revoke(key.id, tenant=SHOP, by=SOMEBODY)
        assert len(await plain.audit.page(tenant=SHOP)) == 3
        later = NOW + timedelta(days=2)
        for now in (NOW, NOW, later):
            limit = next(key.counted_by())
            asked = Asked(counted=Counted(whom=key.id, limit=limit, window=limit.window(now)), requests=1)
            await plain.request_counts.take([asked])


def test_the_serving_role_has_rights_on_every_table() -> None:
    assert set(SERVING_RIGHTS) == {*METADATA.tables, "alembic_version"}


async def test_a_plain_role_sees_the_hooks_and_deliveries_of_one_tenant_alone(
    plain: Store, engine: AsyncEngine
) -> None:
    for tenant in (SHOP, CLINIC):
        hook = await plain.hooks.add(a_hook(tenant))
        await plain.hook_deliveries.repeat(hook, [an_event()], now=NOW)
    assert set(await plain.hooks.tenants()) == {SHOP, CLINIC}
    async with engine.begin() as connection:
        for name in (SHOP, CLINIC, "", "nobody"):
            await _become(connection, name)
            for table in ("hooks", "hook_deliveries"):
                seen = await connection.scalars(text(f"select tenant_id from {table}"))
                assert seen.all() == ([name] if name in {SHOP, CLINIC} else [])


async def test_a_plain_role_can_do_everything_with_hooks(plain: Store) -> None:
    hook = await plain.hooks.add(a_hook())
    await plain.hooks.rotate(hook.id, tenant=SHOP, secret=b"hay" * 8, until=NOW)
    await plain.hook_deliveries.tell(hook, [an_event()], told_to=1, now=NOW)
    await plain.hook_deliveries.tell_of_jobs(hook, [], told_to=1, now=NOW)
    (claim,) = await plain.hook_deliveries.claim(tenant=SHOP, now=NOW, lease=timedelta(minutes=1), limit=1)
    gone = Settlement(
        status=DeliveryStatus.GIVEN_UP, next_at=NOW, last_status=410, last_failure=None, disable=WhyDisabled.GONE
    )
    assert await plain.hook_deliveries.settle(claim, gone, now=NOW)
    await plain.hooks.enable(hook.id, tenant=SHOP)
    await plain.hook_deliveries.forget(tenant=SHOP, settled_before=NOW)
    await plain.hooks.remove(hook.id, tenant=SHOP)
    assert await plain.hooks.all(tenant=SHOP) == ()
