"""Inserts of SQLite on a connection of their own: all rows or none, and the same values as through the engine."""

import sqlite3
from pathlib import Path

import pytest
from sqlalchemy import insert
from sqlalchemy.exc import IntegrityError
from tests.store.samples import NOW, SHOP, an_answer

from hooflast.store import Store, make_engine, open_store
from hooflast.store.engine import sqlite_connection
from hooflast.store.errors import StoreUnavailable
from hooflast.store.sqlite_inserts import SqliteInserts
from hooflast.store.tables import Tenant

pytestmark = pytest.mark.anyio


def inserts(url: str) -> SqliteInserts:
    engine = make_engine(url)
    file = engine.url.database or ""
    return SqliteInserts(insert(Tenant), connect=lambda: sqlite_connection(file), dialect=engine.dialect)


def bytes_in_log(url: str) -> int:
    return Path(f"{make_engine(url).url.database}-wal").stat().st_size


def row(name: str) -> dict[str, object]:
    return {"id": name, "created_at": NOW}


async def test_a_row_is_the_same_as_through_the_engine(sqlite_url: str) -> None:
    made = inserts(sqlite_url)
    await made.insert([row("by-inserts")])
    await made.close()
    async with open_store(sqlite_url) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        assert await store.tenants.is_known(SHOP)
    with sqlite3.connect(make_engine(sqlite_url).url.database or "") as connection:
        rows = dict(connection.execute("SELECT id, created_at FROM tenants").fetchall())
    assert rows["by-inserts"] == rows[SHOP]


async def test_of_rows_that_clash_none_is_there_and_the_next_are_kept(sqlite_url: str) -> None:
    made = inserts(sqlite_url)
    with pytest.raises(IntegrityError):
        await made.insert([row("one"), row("two"), row("one")])
    await made.insert([row("two")])
    await made.close()
    async with open_store(sqlite_url) as store:
        assert [await store.tenants.is_known(name) for name in ("one", "two")] == [False, True]


async def test_after_closing_it_connects_again(sqlite_url: str) -> None:
    made = inserts(sqlite_url)
    for name in ("one", "two"):
        await made.insert([row(name)])
        await made.close()
    await made.close()


async def test_a_file_that_is_no_database_is_a_store_that_does_not_answer(tmp_path: Path) -> None:
    file = tmp_path / "letter.sqlite3"
    file.write_text("Dear Harrowmere, " * 100, encoding="ascii")
    made = inserts(f"sqlite:///{file}")
    with pytest.raises(StoreUnavailable):
        await made.insert([row("one")])
    await made.close()


async def test_an_answer_that_was_kept_is_committed(sqlite_url: str) -> None:
    """Another connection sees it before anything is closed."""
    async with Store(make_engine(sqlite_url)) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        key = await store.signing_keys.ensure_first(now=NOW)
        await store.answers.keep(an_answer(signing_key=key.kid))
        with sqlite3.connect(make_engine(sqlite_url).url.database or "") as connection:
            assert connection.execute("SELECT count(*) FROM match_receipts").fetchone() == (1,)


async def test_what_is_kept_comes_into_the_database_file_a_little_at_a_time(sqlite_url: str) -> None:
    """So that no commit has much to take back from the write-ahead log, which whoever waits for it would feel."""
    made = inserts(sqlite_url)
    for number in range(40):
        await made.insert([row(f"{number}-{place}-{'x' * 90}") for place in range(300)])
    log = bytes_in_log(sqlite_url)
    await made.close()
    assert log < 1 << 20
