"""Engine: URLs are read with care, every connection is set up alike, and what cannot work says so."""

import socket
from contextlib import AsyncExitStack
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import event, text
from tests.databases import administer, database_at, engine_at
from tests.store.samples import NOW, SHOP, an_answer

from hooflast.store import (
    DatabaseFolderMissing,
    DatabaseUrlRefused,
    Store,
    StoreUnavailable,
    make_engine,
    open_store,
    read_database_url,
)

anyio = pytest.mark.anyio


@pytest.mark.parametrize(
    ("written", "read"),
    [
        ("sqlite:///hooflast.sqlite3", "sqlite+aiosqlite:///hooflast.sqlite3"),
        ("sqlite+aiosqlite:////var/hooflast.sqlite3", "sqlite+aiosqlite:////var/hooflast.sqlite3"),
        ("postgresql://bramble:oats@db/hooflast", "postgresql+asyncpg://bramble:oats@db/hooflast"),
        ("postgres://bramble@db:5433/hooflast", "postgresql+asyncpg://bramble@db:5433/hooflast"),
        ("postgresql+asyncpg://b@/h?host=/run/postgresql", "postgresql+asyncpg://b@/h?host=%2Frun%2Fpostgresql"),
    ],
)
def test_short_urls_get_their_driver_and_full_ones_stay(written: str, read: str) -> None:
    assert read_database_url(written).render_as_string(hide_password=False) == read


@pytest.mark.parametrize(
    ("written", "part"),
    [
        ("mysql://bramble:oats@db/hooflast", "scheme"),
        ("postgresql+psycopg://bramble:oats@db/hooflast", "scheme"),
        ("postgresql://bramble:oats@db/hooflast?colour=bay", "option"),
        ("postgresql://bramble:oats@db/hooflast?password=oats", "option"),
        ("sqlite:///hooflast.sqlite3?mode=ro", "option"),
        ("sqlite://", "file"),
        ("sqlite:///:memory:", "file"),
        ("sqlite:///file:hooflast", "file"),
        ("bramble:oats", "form"),
        ("postgresql://bramble:oats@db:hay/hooflast", "form"),
        ("", "form"),
    ],
)
def test_a_url_that_cannot_work_is_refused_by_its_faulty_part_and_shows_no_password(written: str, part: str) -> None:
    with pytest.raises(DatabaseUrlRefused) as refusal:
        read_database_url(written)
    assert refusal.value.part == part
    assert "oats" not in str(refusal.value)


def test_a_missing_folder_is_named_with_what_to_do(tmp_path: Path) -> None:
    with pytest.raises(DatabaseFolderMissing) as refusal:
        make_engine(f"sqlite:///{tmp_path}/stable/hooflast.sqlite3")
    assert (refusal.value.folder, refusal.value.file) == (f"{tmp_path}/stable", "hooflast.sqlite3")
    assert "make the folder" in str(refusal.value)


@anyio
async def test_every_sqlite_connection_is_set_up_alike(sqlite_url: str) -> None:
    wanted = {"foreign_keys": 1, "journal_mode": "wal", "synchronous": 1, "busy_timeout": 10_000, "secure_delete": 1}
    async with engine_at(sqlite_url) as engine, AsyncExitStack() as held:
        for _ in range(4):
            connection = await held.enter_async_context(engine.connect())
            found = {name: await connection.scalar(text(f"PRAGMA {name}")) for name in wanted}
            assert found == wanted


@anyio
async def test_a_transaction_on_sqlite_takes_back_even_a_table(bare_sqlite_url: str) -> None:
    async with engine_at(bare_sqlite_url) as engine, engine.connect() as connection:
        await connection.execute(text("create table half (id text)"))
        await connection.rollback()
        assert await connection.scalar(text("select count(*) from sqlite_master")) == 0


def test_the_pool_is_as_large_as_asked() -> None:
    pool: Any = make_engine("postgresql://db/hooflast", pool_size=3, max_overflow=2).pool
    assert (pool.size(), pool._max_overflow) == (3, 2)


class _Asked(Exception):
    pass


async def _connect_arguments(url: str) -> dict[str, Any]:
    asked: dict[str, Any] = {}
    engine = make_engine(url)

    @event.listens_for(engine.sync_engine, "do_connect")
    def note(_dialect: object, _record: object, _args: object, arguments: dict[str, Any]) -> None:
        asked.update(arguments)
        raise _Asked

    with pytest.raises(_Asked):
        await engine.connect()
    return asked


@anyio
async def test_options_of_a_postgresql_url_reach_the_driver_in_its_own_words() -> None:
    url = "postgresql://bramble:oats@db:5433/hooflast?sslmode=require&application_name=stable&connect_timeout=7"
    asked = await _connect_arguments(url)
    assert asked["ssl"] == "require"
    assert asked["server_settings"] == {"application_name": "stable"}
    assert asked["timeout"] == 7.0
    assert (asked["host"], asked["port"], asked["user"], asked["database"]) == ("db", 5433, "bramble", "hooflast")
    assert not asked.keys() & {"sslmode", "application_name", "connect_timeout"}


@anyio
async def test_a_socket_folder_may_stand_for_the_host() -> None:
    asked = await _connect_arguments("postgresql://bramble@/hooflast?host=/run/postgresql&port=5433")
    assert (asked["host"], asked["port"]) == ("/run/postgresql", 5433)


def test_a_connect_timeout_is_a_number() -> None:
    with pytest.raises(DatabaseUrlRefused):
        make_engine("postgresql://db/hooflast?connect_timeout=soon")


async def _reason(store: Store) -> str:
    try:
        with pytest.raises(StoreUnavailable) as refusal:
            await store.require_ready()
        with pytest.raises(StoreUnavailable):
            await store.signing_keys.newest()
    finally:
        await store.stop()
    return refusal.value.reason


@anyio
async def test_a_server_that_is_not_there_is_unavailable() -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))  # bound and not listening: every connection is refused
        reason = await _reason(open_store(f"postgresql://bramble@127.0.0.1:{taken.getsockname()[1]}/hooflast"))
    assert "\n" not in reason


@anyio
@pytest.mark.full
async def test_a_database_or_role_that_is_not_there_is_unavailable(postgresql_url: str) -> None:
    name = read_database_url(postgresql_url).database or ""
    assert "nowhere" in await _reason(open_store(database_at(postgresql_url, name="nowhere")))
    assert "stranger" in await _reason(open_store(database_at(postgresql_url, name=name, user="stranger")))


@anyio
@pytest.mark.full
async def test_connections_that_the_server_has_cut_are_replaced(postgresql_url: str) -> None:
    cut = (
        "select pg_terminate_backend(pid) from pg_stat_activity"
        " where datname = current_database() and pid <> pg_backend_pid()"
    )
    async with open_store(postgresql_url) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        key = await store.signing_keys.ensure_first(now=NOW)
        administer(postgresql_url, cut)
        kept = an_answer(signing_key=key.kid)
        await store.answers.keep(kept)
        administer(postgresql_url, cut)
        assert await store.answers.find(kept.id, tenant=SHOP) == kept


@anyio
async def test_a_file_that_is_no_database_is_unavailable(tmp_path: Path) -> None:
    (tmp_path / "hay.sqlite3").write_text("hay " * 1000)
    assert "not a database" in await _reason(open_store(f"sqlite:///{tmp_path}/hay.sqlite3"))
