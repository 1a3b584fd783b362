"""What every room's tests share: how examples are tried, the event loop, and an empty database for whoever asks.

The same examples are tried each time, so that no change is held up by what it has no part in. To look for others:
`python3 deploy/run.py test -- --hypothesis-profile=explore tests/fit`.
"""

import shutil
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path
from typing import Final

import pytest
from hypothesis import HealthCheck, settings
from tests import databases
from tests.databases import NoPostgresql, Run
from tests.postgresql_server import Server

from hooflast.matching import trial_sets
from hooflast.store import migrations

ON_ANY_MACHINE: Final = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.register_profile("explore", ON_ANY_MACHINE, derandomize=False)
settings.register_profile("hooflast", ON_ANY_MACHINE, derandomize=True)
settings.load_profile("hooflast")

_RUN: Final = pytest.StashKey[Run]()
_BOTH: Final = ["sqlite", pytest.param("postgresql", marks=pytest.mark.full)]


def pytest_configure(config: pytest.Config) -> None:
    is_worker = hasattr(config, "workerinput")
    config.stash[_RUN] = databases.join_run() if is_worker else databases.begin_run()


def pytest_unconfigure(config: pytest.Config) -> None:
    run = config.stash.get(_RUN, None)
    if run is not None and not hasattr(config, "workerinput"):
        databases.end_run(run)


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter, config: pytest.Config) -> None:
    run = config.stash[_RUN]
    if run.why_no_postgresql:
        outcome = "FAILED" if run.is_required else "SKIPPED"
        terminalreporter.section(
            f"{outcome}: whatever needs PostgreSQL, as no server could be used", red=True, bold=True
        )
        terminalreporter.write_line(run.why_no_postgresql)


@pytest.fixture(autouse=True, scope="session")
def no_haste() -> Iterator[None]:
    """A trial set is looked for until the work is done, and not until the clock ends it, however busy the machine."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(trial_sets, "EFFORT", replace(trial_sets.EFFORT, seconds=600.0))
        yield


@pytest.fixture
def anyio_backend() -> str:
    return "asyncio"


@pytest.fixture(params=_BOTH)
def database_url(request: pytest.FixtureRequest) -> str:
    """An empty, migrated database of the test's own: once on SQLite, once on PostgreSQL."""
    url: str = request.getfixturevalue(f"{request.param}_url")
    return url


@pytest.fixture(params=_BOTH)
def bare_database_url(request: pytest.FixtureRequest) -> str:
    """A database of the test's own without a table in it: once on SQLite, once on PostgreSQL."""
    url: str = request.getfixturevalue(f"bare_{request.param}_url")
    return url


@pytest.fixture
def sqlite_url(tmp_path: Path, migrated_sqlite_file: Path) -> str:
    return _sqlite_at(Path(shutil.copy(migrated_sqlite_file, tmp_path / "hooflast.sqlite3")))


@pytest.fixture
def bare_sqlite_url(tmp_path: Path) -> str:
    return _sqlite_at(tmp_path / "hooflast.sqlite3")


@pytest.fixture
def postgresql_url(database_run: Run, postgresql_server: Server) -> Iterator[str]:
    with databases.postgresql_database(database_run, server=postgresql_server, migrated=True) as url:
        yield url


@pytest.fixture
def bare_postgresql_url(database_run: Run, postgresql_server: Server) -> Iterator[str]:
    with databases.postgresql_database(database_run, server=postgresql_server, migrated=False) as url:
        yield url


@pytest.fixture(scope="session")
def database_run(pytestconfig: pytest.Config) -> Run:
    return pytestconfig.stash[_RUN]


@pytest.fixture(scope="session")
def postgresql_server(database_run: Run) -> Server:
    """The server that all tests of this run share. Tests that use it by itself are to be marked `full`."""
    try:
        return databases.postgresql_server(database_run)
    except NoPostgresql as error:
        if database_run.is_required:
            pytest.fail(f"PostgreSQL is required, and there is none: {error}", pytrace=False)
        pytest.skip(f"no PostgreSQL: {error}")


@pytest.fixture(scope="session")
def migrated_sqlite_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    file = tmp_path_factory.mktemp("migrated") / "hooflast.sqlite3"
    databases.complete(migrations.upgrade(_sqlite_at(file)))
    return file


def _sqlite_at(file: Path) -> str:
    return f"sqlite+aiosqlite:///{file}"
