"""Backups: everything comes back as it was, on both databases, and what is no whole backup changes nothing."""

import os
import shutil
import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import pytest
from sqlalchemy import select
from tests.databases import engine_at
from tests.postgresql_server import Server
from tests.store.samples import NOW, SHOP, an_answer
from tests.store.test_migrations import ROWS

from hooflast.store import open_store
from hooflast.store.audit import Actor
from hooflast.store.backups import back_up, restore
from hooflast.store.errors import BackupDamaged, BackupFailed, BackupFileThere
from hooflast.store.tables import METADATA

anyio = pytest.mark.anyio


@pytest.fixture(autouse=True)
def programs(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """PostgreSQL's own programs are found where its server's are."""
    if "postgresql" in request.node.name:
        server: Server = request.getfixturevalue("postgresql_server")
        if server.binaries is not None:
            monkeypatch.setenv("PATH", f"{server.binaries}{os.pathsep}{os.environ['PATH']}")
        if shutil.which("pg_dump") is None:
            pytest.skip("no pg_dump beside this server")


async def everything(url: str) -> dict[str, list[Any]]:
    """All rows of all tables."""
    async with engine_at(url) as engine, engine.connect() as connection:
        return {
            name: sorted(map(tuple, await connection.execute(select(table))), key=repr)
            for name, table in METADATA.tables.items()
        }


async def fill(url: str) -> None:
    async with engine_at(url) as engine, engine.begin() as connection:
        for table in METADATA.sorted_tables:
            if not (await connection.execute(select(table).limit(1))).all():
                await connection.execute(table.insert(), ROWS[table.name])


@anyio
async def test_everything_comes_back_as_it_was(database_url: str, tmp_path: Path) -> None:
    await fill(database_url)
    before = await everything(database_url)
    assert all(before.values())
    file = tmp_path / "backup"
    assert back_up(database_url, to=file) == file.stat().st_size
    async with open_store(database_url) as store:
        key = await store.signing_keys.ensure_first(now=NOW)
        await store.answers.keep(an_answer(tenant=SHOP, signing_key=key.kid))
    assert await everything(database_url) != before
    restore(database_url, backup=file)
    assert await everything(database_url) == before


@anyio
async def test_a_backup_is_taken_while_the_database_is_served_from(database_url: str, tmp_path: Path) -> None:
    async with open_store(database_url) as store:
        await store.tenants.ensure(SHOP, now=NOW)
        key = await store.signing_keys.ensure_first(now=NOW)
        kept = an_answer(tenant=SHOP, signing_key=key.kid)
        await store.answers.keep(kept)
        back_up(database_url, to=tmp_path / "backup")
        await store.answers.erase(kept.id, tenant=SHOP, by=Actor(who="user:tarn", at=NOW))
    restore(database_url, backup=tmp_path / "backup")
    async with open_store(database_url) as store:
        assert await store.answers.find(kept.id, tenant=SHOP) == kept


@anyio
async def test_an_empty_file_of_sqlite_takes_a_backup_too(sqlite_url: str, tmp_path: Path) -> None:
    await fill(sqlite_url)
    back_up(sqlite_url, to=tmp_path / "backup")
    elsewhere = f"sqlite+aiosqlite:///{tmp_path / 'elsewhere.sqlite3'}"
    restore(elsewhere, backup=tmp_path / "backup")
    assert await everything(elsewhere) == await everything(sqlite_url)


@anyio
@pytest.mark.parametrize("harm", ["cut", "changed", "another file", "none"])
async def test_what_is_no_whole_backup_changes_nothing(database_url: str, tmp_path: Path, harm: str) -> None:
    await fill(database_url)
    before = await everything(database_url)
    file = tmp_path / "backup"
    back_up(database_url, to=file)
    content = file.read_bytes()
    match harm:
        case "cut":
            file.write_bytes(content[: len(content) // 3])
        case "changed":
            file.write_bytes(content[:1000] + b"\xff" * (len(content) - 1000))
        case "another file":
            file.write_bytes(b"not a backup")
        case _:
            file.unlink()
    with pytest.raises((BackupDamaged, BackupFailed)):
        restore(database_url, backup=file)
    assert await everything(database_url) == before


def test_no_file_is_written_over(sqlite_url: str, tmp_path: Path) -> None:
    file = tmp_path / "backup"
    file.write_text("precious")
    with pytest.raises(BackupFileThere):
        back_up(sqlite_url, to=file)
    assert file.read_text() == "precious"


def test_a_backup_that_fails_leaves_nothing_behind(tmp_path: Path) -> None:
    with pytest.raises(BackupFailed):
        back_up(f"sqlite+aiosqlite:///{tmp_path / 'nothing.sqlite3'}", to=tmp_path / "backup")
    with pytest.raises(BackupFailed):
        back_up(f"sqlite+aiosqlite:///{tmp_path / 'nothing.sqlite3'}", to=tmp_path / "no folder" / "backup")
    assert list(tmp_path.iterdir()) == []


def test_a_program_that_is_missing_is_named(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setenv("PATH", str(tmp_path))
    with pytest.raises(BackupFailed, match="pg_dump is not installed"):
        back_up("postgresql://hooflast@db.example/hooflast", to=tmp_path / "backup")


def test_a_backup_of_sqlite_is_a_database_by_itself(sqlite_url: str, tmp_path: Path) -> None:
    back_up(sqlite_url, to=tmp_path / "backup")
    with closing(sqlite3.connect(tmp_path / "backup")) as connection:
        assert connection.execute("pragma integrity_check").fetchone() == ("ok",)
    assert [file.name for file in tmp_path.glob("backup*")] == ["backup"]
