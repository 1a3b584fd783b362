"""Migrations go up, down and up again with rows in place, whole or not at all, and make what the table classes say."""

import ast
import asyncio
import re
from pathlib import Path
from typing import Any

import pytest
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.operations import Operations
from sqlalchemy import Connection, MetaData, inspect, text
from sqlalchemy.ext.asyncio import AsyncEngine
from tests.databases import engine_at
from tests.store.samples import NOW, SHOP

from hooflast.errors import NotFound
from hooflast.store import SchemaNotCurrent, StoreUnavailable, migrations
from hooflast.store.engine import make_migration_engine
from hooflast.store.locks import Lock, wait_for
from hooflast.store.sessions import set_tenant
from hooflast.store.tables import METADATA

anyio = pytest.mark.anyio
FILES = sorted((Path(migrations.__file__).parent / "versions").glob("*.py"))
REVISIONS = [file.stem[: len("2026_11_25_01")] for file in FILES]

ROWS: dict[str, dict[str, Any]] = {
    "tenants": {"id": SHOP, "created_at": NOW},
    "signing_keys": {"kid": "k1", "secret": b"oats", "created_at": NOW, "retired_at": None},
    "match_receipts": {
        "tenant_id": SHOP, "id": "r1", "created_at": NOW, "catalog_release": "sha256-00", "engine": "0.1.0",
        "calibration": "none", "question": b"{}", "answer_head": b"{", "answer_packed": b"\x00\xff",
        "signing_key_id": "k1",
    },
    "catalog_releases": {
        "id": "sha256-00", "edition": "2026-03-01", "released_on": NOW.date(), "note": "Spring.", "status": "published",
        "digest": "00", "written_bytes": 2, "makers": 1, "boots": 2, "sizes": 3, "accessories": 4,
    },
    "catalog_release_contents": {"release_id": "sha256-00", "packed": b"\x00\xff"},
    "catalog_release_steps": {
        "number": 1, "release_id": "sha256-00", "step": "publish", "taken_by": "tarn-and-tether", "taken_at": NOW,
        "note": "", "report": None,
    },
    "seal_keys": {"kid": "s1", "private": b"oats", "created_at": NOW, "retired_at": None},
    "catalog_release_seals": {"release_id": "sha256-00", "digest": "00", "kid": "s1", "token": "a.b.c"},
    "active_catalog_release": {"place": 1, "release_id": "sha256-00", "revision": 1},
    "hook_tenants": {"tenant": SHOP},
    "hooks": {
        "tenant_id": SHOP, "id": "h1", "url": "https://harrowmere.example/", "events": "catalog_release.published",
        "secret": b"oats", "former_secret": None, "former_until": None, "told_to": 1, "created_at": NOW,
        "disabled_at": None, "disabled_why": None,
    },
    "hook_deliveries": {
        "tenant_id": SHOP, "id": "d1", "hook_id": "h1", "event_id": "e1", "event_type": "catalog_release.published",
        "happened_at": NOW, "body": b"{}", "created_at": NOW, "status": "pending", "attempts": 0, "next_at": NOW,
        "settled_at": None, "last_status": None, "last_failure": None,
    },
    "client_keys": {
        "id": "c1", "tenant_id": SHOP, "name": "webshop", "kind": "server", "mode": "live", "scopes": "match read",
        "origins": "", "per_minute": 600, "per_day": 1000, "per_visitor_minute": 60, "digest": b"oats",
        "digest_before": None, "before_until": None, "created_at": NOW, "created_by": "user:tarn", "expires_at": None,
        "revoked_at": None, "fixed_release": None, "fixed_day": None,
    },
    "request_counts": {
        "whom": "c1", "limit_name": "minute", "window_began": NOW, "window_ends": NOW, "taken": 30,
    },
    "audit_entries": {
        "tenant_id": SHOP, "id": "a1", "at": NOW, "actor": "key:c1", "deed": "match-erased", "subject": "r1",
        "request_id": None,
    },
    "idempotency_keys": {
        "tenant_id": SHOP, "asker": "key:c1", "key": "k", "claim": "c", "fingerprint": b"\x00", "gone_at": NOW,
        "status": 201, "fields": b"{}", "body": b"\x00",
    },
    "assortments": {
        "tenant_id": SHOP, "id": "s1", "name": "Webshop", "currency": "EUR", "revision": 1, "created_at": NOW,
        "as_of": NOW,
    },
    "assortment_items": {
        "tenant_id": SHOP, "assortment_id": "s1", "sku": "A-1", "gtin": None, "product": "vellory-sedge",
        "size": "fern", "side": None, "sold_as": "single", "price_minor": 4990, "stock": 3, "lead_days": None,
    },
    "match_jobs": {
        "tenant_id": SHOP, "id": "j1", "answers": "short", "has_receipts": False, "catalog_release": "sha256-00",
        "compared_with": None, "is_fixed": False, "language": "en", "day": NOW.date(), "written_as": "ndjson",
        "heading": "", "input_bytes": 2, "input_digest": "00", "created_at": NOW, "received_at": NOW,
        "started_at": None, "finished_at": None, "kept_until": None, "state": "queued", "failure": None, "horses": 1,
        "answered": 0, "refused": 0, "answered_to": 0, "totals": "{}",
    },
    "match_job_ends": {
        "tenant_id": SHOP, "number": 1, "job_id": "j0", "state": "done", "catalog_release": "sha256-00", "horses": 1,
        "answered": 1, "refused": 0, "ended_at": NOW,
    },
    "match_job_lines": {"tenant_id": SHOP, "job_id": "j1", "line": 1, "body": b"{}"},
    "match_job_results": {
        "tenant_id": SHOP, "job_id": "j1", "line": 1, "outcome": "refused", "packed": b"\x00\xff",
    },
    "match_job_turns": {
        "tenant": SHOP, "job_id": "j1", "task": "answer", "due_at": NOW, "lease": None, "attempts": 0,
    },
    "plugin_fetches": {"plugin": "feed", "source": "boots.json", "version": "1", "packed": b"\x00\xff"},
    "plugin_reports": {"plugin": "demo", "asked_at": NOW, "report": b"{}"},
}  # fmt: skip
"""One row for each table, in an order that their foreign keys allow."""


async def _tables(engine: AsyncEngine) -> dict[str, list[dict[str, Any]]]:
    """Every table there is, with its rows, read without the table classes."""

    def read(connection: Connection) -> dict[str, list[dict[str, Any]]]:
        set_tenant(connection, SHOP)
        there = MetaData()
        there.reflect(connection)
        return {
            name: [dict(row) for row in connection.execute(table.select()).mappings()]
            for name, table in there.tables.items()
            if name != "alembic_version"
        }

    async with engine.connect() as connection:
        return await connection.run_sync(read)


async def _put_a_row_into_each_empty_table(engine: AsyncEngine) -> None:
    there = await _tables(engine)
    async with engine.begin() as connection:
        await connection.run_sync(set_tenant, SHOP)
        for name, row in ROWS.items():
            if there.get(name) == []:
                await connection.execute(METADATA.tables[name].insert(), row)


def test_every_table_has_a_row_to_migrate_with() -> None:
    assert set(ROWS) == set(METADATA.tables)


@anyio
async def test_up_down_and_up_again_with_rows_in_place(bare_database_url: str) -> None:
    async with engine_at(bare_database_url) as engine:
        before = {migrations.BASE: await _tables(engine)}
        for revision in REVISIONS:
            await migrations.upgrade(bare_database_url, revision)
            await _put_a_row_into_each_empty_table(engine)
            before[revision] = await _tables(engine)
        assert all(len(rows) == 1 for rows in before[REVISIONS[-1]].values())

        for revision in [*reversed(REVISIONS[:-1]), migrations.BASE]:
            await migrations.downgrade(bare_database_url, revision)
            assert await _tables(engine) == before[revision]

        await migrations.upgrade(bare_database_url)
        assert await migrations.current(bare_database_url) == migrations.head()
        await _put_a_row_into_each_empty_table(engine)
        assert await _tables(engine) == before[REVISIONS[-1]]


@anyio
async def test_all_the_way_down_and_up_keeps_nothing_and_breaks_nothing(database_url: str) -> None:
    async with engine_at(database_url) as engine:
        await _put_a_row_into_each_empty_table(engine)
        await migrations.downgrade(database_url, migrations.BASE)
        assert await _tables(engine) == {}
        assert await migrations.current(database_url) is None
        await migrations.upgrade(database_url)
        assert await _tables(engine) == {name: [] for name in METADATA.tables}


@anyio
async def test_the_migrations_make_what_the_table_classes_say(database_url: str) -> None:
    def differences(connection: Connection) -> object:
        context = MigrationContext.configure(connection, opts={"compare_type": True, "compare_server_default": True})
        return compare_metadata(context, METADATA)

    async with engine_at(database_url) as engine, engine.connect() as connection:
        assert await connection.run_sync(differences) == []


@anyio
async def test_keys_checks_and_collations_are_those_of_the_table_classes(bare_database_url: str) -> None:
    """What the comparison above does not look at."""

    def details(connection: Connection) -> dict[str, Any]:
        there = inspect(connection)
        return {
            name: (
                there.get_pk_constraint(name),
                sorted(there.get_foreign_keys(name), key=str),
                there.get_check_constraints(name),
                [(column["name"], getattr(column["type"], "collation", None)) for column in there.get_columns(name)],
            )
            for name in METADATA.tables
        }

    async with engine_at(bare_database_url) as engine:
        async with engine.begin() as connection:
            await connection.run_sync(METADATA.create_all)
            by_classes = await connection.run_sync(details)
            await connection.run_sync(METADATA.drop_all)
        await migrations.upgrade(bare_database_url)
        async with engine.connect() as connection:
            assert await connection.run_sync(details) == by_classes


@anyio
async def test_upgrading_what_is_current_changes_nothing(database_url: str) -> None:
    async with engine_at(database_url) as engine:
        await _put_a_row_into_each_empty_table(engine)
        before = await _tables(engine)
        await migrations.upgrade(database_url)
        await migrations.upgrade(database_url, migrations.head())
        assert await _tables(engine) == before


@anyio
async def test_an_upgrade_that_fails_half_way_leaves_nothing_behind(bare_database_url: str) -> None:
    async with engine_at(bare_database_url) as engine:
        async with engine.begin() as connection:
            await connection.execute(text("create table match_receipts (id text)"))  # in the way of the last step
        with pytest.raises(StoreUnavailable):
            await migrations.upgrade(bare_database_url)
        assert await migrations.current(bare_database_url) is None
        assert await _tables(engine) == {"match_receipts": []}


@anyio
async def test_rebuilding_a_table_on_sqlite_keeps_the_rows_that_point_to_it(sqlite_url: str) -> None:
    def rebuild(connection: Connection) -> None:
        with Operations(MigrationContext.configure(connection)).batch_alter_table("tenants", recreate="always"):
            pass

    async with engine_at(sqlite_url) as engine:
        await _put_a_row_into_each_empty_table(engine)
        before = await _tables(engine)
        migrating = make_migration_engine(sqlite_url)
        async with migrating.begin() as connection:
            await connection.run_sync(rebuild)
        await migrating.dispose()
        assert await _tables(engine) == before


@anyio
async def test_tables_that_a_later_version_made_are_left_alone(database_url: str) -> None:
    async with engine_at(database_url) as engine:
        async with engine.begin() as connection:
            await connection.execute(text("update alembic_version set version_num = '2999_01_01_01'"))
        before = await _tables(engine)
        for step in (migrations.upgrade(database_url), migrations.downgrade(database_url, migrations.BASE)):
            with pytest.raises(SchemaNotCurrent) as refusal:
                await step
            assert (refusal.value.found, refusal.value.expected) == ("2999_01_01_01", migrations.head())
        assert await _tables(engine) == before


@anyio
@pytest.mark.parametrize("revision", ["2999_01_01_01", "-99", "oats"])
async def test_a_revision_that_nobody_made_is_not_found(database_url: str, revision: str) -> None:
    with pytest.raises(NotFound) as refusal:
        await migrations.downgrade(database_url, revision)
    assert refusal.value.name == revision
    assert await migrations.current(database_url) == migrations.head()


@anyio
@pytest.mark.full
async def test_a_migration_waits_for_the_one_before_it(bare_postgresql_url: str) -> None:
    waiting = text(
        "select count(*) from pg_locks join pg_database on pg_database.oid = pg_locks.database"
        " where locktype = 'advisory' and not granted and datname = current_database()"
    )
    async with engine_at(bare_postgresql_url) as engine, engine.connect() as first, engine.connect() as watch:
        await first.run_sync(lambda connection: wait_for(Lock.MIGRATION, connection=connection))
        second = asyncio.create_task(migrations.upgrade(bare_postgresql_url))
        async with asyncio.timeout(300):
            while not second.done() and not await watch.scalar(waiting):
                await watch.rollback()
        assert await migrations.current(bare_postgresql_url) is None
        await first.rollback()
        await second
    assert await migrations.current(bare_postgresql_url) == migrations.head()


def test_head_is_the_newest_file() -> None:
    assert migrations.head() == REVISIONS[-1]


@pytest.mark.parametrize("file", FILES, ids=lambda file: file.stem)
def test_a_migration_has_a_dated_name_one_purpose_and_stands_by_itself(file: Path) -> None:
    assert re.fullmatch(r"\d{4}_\d\d_\d\d_\d\d_[a-z_]+", file.stem)
    tree = ast.parse(file.read_text("utf-8"))
    assert ast.get_docstring(tree)
    settled = {
        node.targets[0].id: ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and isinstance(node.targets[0], ast.Name)
    }
    place = FILES.index(file)
    assert settled["revision"] == REVISIONS[place]
    assert settled["down_revision"] == (REVISIONS[place - 1] if place else None)
    steps = {node.name: ast.get_docstring(node) for node in tree.body if isinstance(node, ast.FunctionDef)}
    assert all(steps[name] for name in ("upgrade", "downgrade"))
    imported = {
        name
        for node in ast.walk(tree)
        if isinstance(node, ast.Import | ast.ImportFrom)
        for name in ([node.module or ""] if isinstance(node, ast.ImportFrom) else [each.name for each in node.names])
    }
    assert {name.split(".")[0] for name in imported} <= {"alembic", "sqlalchemy", "json", "datetime"}
