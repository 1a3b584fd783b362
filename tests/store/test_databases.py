"""The tests' own databases: each way to PostgreSQL works, and a run that was killed is cleared away by the next."""

import tempfile
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from sqlalchemy import text
from tests import databases
from tests.databases import NoPostgresql, Run, engine_at
from tests.postgresql_server import WAYS, CannotStart, Server


@pytest.fixture
def short_folder() -> Iterator[Path]:
    """A folder with a path short enough for a Unix socket."""
    with tempfile.TemporaryDirectory(prefix="hooflast-", ignore_cleanup_errors=True) as folder:
        Path(folder).chmod(0o711)
        yield Path(folder)


async def _answers(url: str) -> bool:
    async with engine_at(url) as engine, engine.connect() as connection:
        return bool(await connection.scalar(text("select 42")) == 42)


@pytest.mark.full
@pytest.mark.parametrize("way", WAYS)
def test_a_server_starts_answers_and_stops(way: Callable[[Path], Server], short_folder: Path) -> None:
    try:
        server = way(short_folder)
    except CannotStart as error:
        pytest.skip(f"not on this machine: {error}")
    assert databases.complete(_answers(server.url))
    server.stop()
    with pytest.raises(OSError):  # noqa: PT011
        databases.complete(_answers(server.url))


@pytest.fixture
def elsewhere(short_folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Runs that begin here leave the real one alone."""
    monkeypatch.setattr(databases, "_temporary_folder", lambda: short_folder)
    monkeypatch.delenv(databases.FOLDER)
    return short_folder


@pytest.mark.skipif("sys.platform == 'win32'", reason="without file locks nobody can tell if a run still goes on")
def test_a_run_that_was_killed_is_cleared_away_by_the_next_and_one_that_goes_on_is_not(elsewhere: Path) -> None:
    killed, alive = databases.begin_run(), databases.begin_run()
    assert killed.alive
    killed.alive.close()
    last = databases.begin_run()
    assert not killed.folder.exists()
    assert alive.folder.exists()
    databases.end_run(alive)
    databases.end_run(last)
    assert list(elsewhere.iterdir()) == []


def test_what_the_run_was_asked_for_leaves_the_environment_and_reaches_the_workers(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(databases.SERVER_URL, "postgresql://db/postgres")
    monkeypatch.setenv(databases.REQUIRED, "1")
    begun = databases.begin_run()
    inner = databases.begin_run()
    for run in (begun, inner, databases.join_run()):
        assert (run.server_url, run.is_required) == ("postgresql://db/postgres", True)
    for run in (begun, inner):
        databases.end_run(run)


def test_without_any_server_every_way_says_why(elsewhere: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(folder: Path) -> Server:
        raise CannotStart("out of hay")

    monkeypatch.setattr(databases, "WAYS", (broken, broken))
    run = databases.begin_run()
    for asker in (run, databases.join_run()):
        with pytest.raises(NoPostgresql, match=r"broken: out of hay\nbroken: out of hay"):
            databases.postgresql_server(asker)
    assert "out of hay" in run.why_no_postgresql
    databases.end_run(run)


def test_a_named_server_that_is_not_there_is_not_replaced_by_another(
    elsewhere: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(databases.SERVER_URL, f"postgresql://bramble@/postgres?host={elsewhere}")
    run = databases.begin_run()
    with pytest.raises(NoPostgresql, match=databases.SERVER_URL):
        databases.postgresql_server(run)
    databases.end_run(run)


def test_no_run_shares_a_name_with_another(elsewhere: Path) -> None:
    runs: list[Run] = [databases.begin_run() for _ in range(3)]
    assert len({run.token for run in runs}) == 3
    for run in runs:
        databases.end_run(run)
