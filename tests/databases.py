"""Databases for tests: an empty one for each test, migrated, on SQLite and on a real PostgreSQL.

A run of the tests has one folder, made by its first process and shared with its workers. The first test that asks for
PostgreSQL starts a server there; the process that made the folder stops it. A run that was killed leaves its folder
behind; the next run clears it away.

HOOFLAST_TEST_POSTGRESQL      URL of a server to use; its role must be allowed to make databases and roles
HOOFLAST_REQUIRE_POSTGRESQL   1: tests that need PostgreSQL fail where there is none, instead of being skipped

Both are taken out of the environment, so that no service under test mistakes them for settings of its own.
"""

import asyncio
import json
import os
import shutil
import sys
import tempfile
import uuid
from collections.abc import AsyncIterator, Coroutine, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager, contextmanager, suppress
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import IO, Any, Final, TypeVar

from sqlalchemy import text
from sqlalchemy.ext.asyncio import AsyncEngine
from tests.postgresql_server import WAYS, CannotStart, Server, running_at

from hooflast.store import migrations, read_database_url
from hooflast.store.engine import make_engine, make_migration_engine

if sys.platform != "win32":
    import fcntl

FOLDER: Final = "PYTEST_HOOFLAST_FOLDER"
SERVER_URL: Final = "HOOFLAST_TEST_POSTGRESQL"
REQUIRED: Final = "HOOFLAST_REQUIRE_POSTGRESQL"
_PREFIX: Final = "hooflast-tests-"
_LONGEST_TEMPORARY_FOLDER: Final = 60

Answer = TypeVar("Answer")


class NoPostgresql(Exception):
    """No server could be started, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Run:
    """One run of the tests: its folder, and what it was asked for. `alive` is locked while the run goes on."""

    folder: Path
    server_url: str
    is_required: bool
    alive: IO[str] | None = None

    @property
    def token(self) -> str:
        """What the names of this run's databases and roles begin with."""
        return self.folder.name.replace("-", "_").lower()

    @property
    def why_no_postgresql(self) -> str:
        """Why there is no server; empty if there is one, or nobody has asked."""
        return str(_read(self.folder / "server.json").get("trouble", ""))


def begin_run() -> Run:
    """Make this run's folder. To be called once, before workers are started."""
    wishes: dict[str, Any] = {
        "server_url": os.environ.pop(SERVER_URL, ""),
        "is_required": os.environ.pop(REQUIRED, "") not in ("", "0"),
    }
    if around := os.environ.get(FOLDER):  # a run within a run
        wishes |= _read(Path(around) / "wishes.json") | {name: wish for name, wish in wishes.items() if wish}
    for written in _temporary_folder().glob(f"{_PREFIX}*/wishes.json"):
        if (lock := _lock(written.with_name("alive"), waits=False)) is not None:
            _clear_away(written.parent)
            lock.close()
    folder = Path(tempfile.mkdtemp(prefix=_PREFIX, dir=_temporary_folder()))
    alive = _lock(folder / "alive", waits=True)
    _write(folder / "wishes.json", wishes)
    folder.chmod(0o711)  # a server of another user has to reach its own folder in it
    os.environ[FOLDER] = str(folder)
    return Run(folder=folder, alive=alive, **wishes)


def join_run() -> Run:
    """The run that this worker belongs to."""
    folder = Path(os.environ[FOLDER])
    return Run(folder=folder, **_read(folder / "wishes.json"))


def end_run(run: Run) -> None:
    """Stop the server and clear everything away. To be called once, after the workers have ended."""
    _clear_away(run.folder)
    if run.alive:
        run.alive.close()


def postgresql_server(run: Run) -> Server:
    """This run's server, with a migrated template in it; the first who asks starts it. Raises NoPostgresql."""
    lock = _lock(run.folder / "starting", waits=True)
    try:
        state = _read(run.folder / "server.json")
        if not state:
            state = _start(run)
            _write(run.folder / "server.json", state)
    finally:
        if lock:
            lock.close()
    if "trouble" in state:
        raise NoPostgresql(state["trouble"])
    return Server(**state)


@contextmanager
def postgresql_database(run: Run, *, server: Server, migrated: bool) -> Iterator[str]:
    """The URL of a new database, which is dropped in the end."""
    name = f"{run.token}_{uuid.uuid4().hex[:12]}"
    template = f"{run.token}_template" if migrated else "template0"
    administer(server.url, f'CREATE DATABASE "{name}" TEMPLATE "{template}"')
    try:
        yield database_at(server.url, name=name)
    finally:
        administer(server.url, f'DROP DATABASE "{name}" WITH (FORCE)')


def database_at(url: str, *, name: str, user: str | None = None, password: str | None = None) -> str:
    """The URL of the database `name` on the server of `url`, for another user if one is named."""
    other = read_database_url(url).set(database=name)
    if user is not None:
        other = other.set(username=user, password=password)
    return other.render_as_string(hide_password=False)


@asynccontextmanager
async def engine_at(url: str, *, pool_size: int = 8, max_overflow: int = 8) -> AsyncIterator[AsyncEngine]:
    """An engine as the service makes it, closed in the end whatever happens."""
    engine = make_engine(url, pool_size=pool_size, max_overflow=max_overflow)
    try:
        yield engine
    finally:
        await engine.dispose()


def administer(url: str, *statements: str) -> None:
    """Run statements one by one, outside of any transaction."""

    async def run() -> None:
        engine = make_migration_engine(url)
        try:
            async with engine.connect() as connection:
                alone = await connection.execution_options(isolation_level="AUTOCOMMIT")
                for statement in statements:
                    await alone.execute(text(statement))
        finally:
            await engine.dispose()

    complete(run())


def complete(work: Coroutine[Any, Any, Answer]) -> Answer:
    """Run `work` to its end in a loop of its own, whether or not a loop runs here."""
    with ThreadPoolExecutor(max_workers=1) as thread:
        return thread.submit(asyncio.run, work).result()


def _start(run: Run) -> dict[str, Any]:
    if run.server_url:
        try:
            return _with_template(run, running_at(run.server_url))
        except Exception as error:
            return {"trouble": f"{SERVER_URL}: {error}"}
    troubles = []
    for way in WAYS:
        try:
            return _with_template(run, way(run.folder))
        except CannotStart as error:
            troubles.append(f"{way.__name__}: {error}")
    return {"trouble": "\n".join(troubles)}


def _with_template(run: Run, server: Server) -> dict[str, Any]:
    name = f"{run.token}_template"
    try:
        administer(server.url, f'CREATE DATABASE "{name}" TEMPLATE template0')
        complete(migrations.upgrade(database_at(server.url, name=name)))
    except Exception:
        server.stop()
        raise
    return asdict(server)


def _clear_away(folder: Path) -> None:
    """Stop what a run has left running, and remove its folder."""
    state = _read(folder / "server.json")
    if "url" in state:
        server = Server(**state)
        with suppress(CannotStart):
            if server.data:
                server.stop()
            else:
                _drop_all(server.url, prefix=folder.name.replace("-", "_").lower())
    shutil.rmtree(folder, ignore_errors=True)


def _drop_all(url: str, *, prefix: str) -> None:
    async def names(query: str) -> list[str]:
        engine = make_migration_engine(url)
        try:
            async with engine.connect() as connection:
                return list((await connection.scalars(text(query), {"prefix": prefix})).all())
        finally:
            await engine.dispose()

    try:
        for name in complete(names("select datname from pg_database where starts_with(datname, :prefix)")):
            administer(url, f'DROP DATABASE "{name}" WITH (FORCE)')
        for name in complete(names("select rolname from pg_roles where starts_with(rolname, :prefix)")):
            administer(url, f'DROP ROLE "{name}"')
    except Exception as error:
        raise CannotStart(f"the databases of {prefix} are still there: {error}") from error


def _temporary_folder() -> Path:
    """Where the folders of runs lie; a Unix socket's path must stay under about a hundred characters."""
    usual = tempfile.gettempdir()
    return Path(usual if len(usual) <= _LONGEST_TEMPORARY_FOLDER else "/tmp")


def _lock(file: Path, *, waits: bool) -> IO[str] | None:
    """Hold `file` until it is closed or this process ends; None if another holds it, or the system cannot lock."""
    if sys.platform == "win32":
        return None
    try:
        held = file.open("a", encoding="utf-8")
    except OSError:
        return None
    try:
        fcntl.flock(held, fcntl.LOCK_EX | (0 if waits else fcntl.LOCK_NB))
    except OSError:
        held.close()
        return None
    return held


def _read(file: Path) -> dict[str, Any]:
    try:
        content: dict[str, Any] = json.loads(file.read_text("utf-8"))
    except FileNotFoundError:
        return {}
    return content


def _write(file: Path, content: dict[str, Any]) -> None:
    new = file.with_suffix(".new")
    new.touch(mode=0o600)
    new.write_text(json.dumps(content), "utf-8")
    new.replace(file)
