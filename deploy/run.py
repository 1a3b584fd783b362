"""Run Hooflast from a checkout: `serve` starts the service, `test` runs every test, `lock` renews the lock files.

    python3 deploy/run.py serve [-- options of `hooflast serve`]
    python3 deploy/run.py test  [-- options of `pytest`]
    python3 deploy/run.py lock  [-- options of `uv pip compile`, such as --upgrade]

Each word first sets up a virtual environment of its own under .venv/ from a lock file in deploy/locks/, and finds it
ready the next time. Python 3.11 or newer and a package registry are all it needs; it uses the registry that pip is
set up with. The syntax of this file stays readable to older Pythons, so that they can be told what is missing.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import shutil
import subprocess
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING

try:
    import fcntl
except ImportError:  # Windows
    fcntl = None  # type: ignore[assignment]

if TYPE_CHECKING:
    from collections.abc import Iterator, Sequence

OLDEST_PYTHON = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
LOCKS = ROOT / "deploy" / "locks"
PROJECTS = (ROOT, ROOT / "plugins" / "demo")
NOT_FOR_US = ("PYTHONHOME", "PYTHONPATH", "PYTHONDONTWRITEBYTECODE", "PIP_TARGET", "PIP_PREFIX", "PIP_ROOT", "PIP_USER")
"""Variables that would lead an environment of ours elsewhere, or make each start compile everything again."""


class CannotGoOn(Exception):
    """What is missing or went wrong, and what to do about it, for the person at the terminal."""


def main(arguments: Sequence[str]) -> int:
    """Do what the first argument asks for; the rest is handed on."""
    words = {"serve": serve, "test": test, "lock": lock}
    word, *options = arguments or ("",)
    if word not in words:
        print(__doc__, file=sys.stderr)
        return 0 if word in ("-h", "--help") else 2
    try:
        require_python()
        return words[word](options[1:] if options[:1] == ["--"] else options)
    except CannotGoOn as refusal:
        print(f"\n{refusal}", file=sys.stderr)
        return 1
    except KeyboardInterrupt:
        return 130


def serve(options: Sequence[str]) -> int:
    """Start the service."""
    return become(prepare("serve").with_name("hooflast"), ["serve", *options])


def test(options: Sequence[str]) -> int:
    """Run every test, on all cores."""
    python = prepare("test")
    os.chdir(ROOT)
    return become(python, ["-m", "pytest", "-n", "logical", "--dist", "loadgroup", *options])


def lock(options: Sequence[str]) -> int:
    """Resolve pyproject.toml anew. Pins that still serve stay as they are, unless --upgrade is given."""
    python = prepare("lock")
    resolve = [str(python), "-m", "uv", "pip", "compile", "--no-config", "--system-certs", "--quiet"]
    resolve += ["--universal", "--python-version", "3.11", "--only-binary", ":all:"]
    resolve += ["--generate-hashes", "--no-header", "--no-annotate", *options]
    for name, sources in (
        ("test", ["pyproject.toml", "--group", "build", "--group", "test"]),
        ("serve", ["pyproject.toml", "--group", "build", "--constraint", "deploy/locks/test.txt"]),
        ("lock", ["--group", "lock"]),
    ):
        run([*resolve, *sources, "--output-file", f"deploy/locks/{name}.txt"], trouble="The lock could not be renewed.")
        say(f"deploy/locks/{name}.txt is up to date.")
    return 0


def require_python() -> None:
    """Refuse a Python that is too old, or that cannot make a virtual environment."""
    if sys.version_info < OLDEST_PYTHON:
        newer = next(filter(shutil.which, (f"python3.{minor}" for minor in range(20, 10, -1))), "python3.11")
        raise CannotGoOn(
            f"Hooflast needs Python 3.11 or newer, and this is {sys.version.split()[0]} ({sys.executable}).\n"
            f"Run it with a newer one: {newer} {' '.join(sys.argv)}"
        )
    for module in ("venv", "ensurepip"):
        if importlib.util.find_spec(module) is None:
            raise CannotGoOn(
                f"This Python ({sys.executable}) comes without {module}, so it cannot make a virtual environment.\n"
                f"On Debian and Ubuntu: apt install python3-venv. Elsewhere: install a full Python."
            )


def prepare(word: str) -> Path:
    """The Python of the environment for `word`, which is made, or brought up to date, if need be."""
    place = ROOT / ".venv" / word
    stamp = place / "ready.json"
    python = place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")
    lock_file = LOCKS / f"{word}.txt"
    wanted = {
        "environment": digest(sys.version, sys.base_prefix, str(place), lock_file.read_text("utf-8")),
        "projects": digest(*(metadata(project) for project in PROJECTS)),
    }
    place.parent.mkdir(exist_ok=True)
    with one_at_a_time(place.with_suffix(".making")):
        ready = json.loads(stamp.read_text("utf-8")) if stamp.exists() and python.exists() else {}
        if ready.get("environment") != wanted["environment"]:
            make(place, python=python, lock_file=lock_file)
            ready = {"environment": wanted["environment"]}
            note(stamp, ready)
        if word != "lock" and ready.get("projects") != wanted["projects"]:
            editable = [part for project in PROJECTS for part in ("--editable", str(project))]
            pip(
                python,
                ["--no-deps", "--no-build-isolation", *editable],
                doing="Installing Hooflast itself",
            )
            note(stamp, wanted)
    return python


def make(place: Path, *, python: Path, lock_file: Path) -> None:
    """A new environment at `place` with what the lock names; a stale or half-made one goes first."""
    if place.exists():
        shutil.rmtree(place)
    here = place.relative_to(ROOT)
    with step(f"Making {here}"):
        run([sys.executable, "-m", "venv", str(place)], trouble=f"{here} could not be made.")
    locked = ["--require-hashes", "--only-binary", ":all:", "--requirement", str(lock_file)]
    pip(python, locked, doing=f"Installing what {lock_file.relative_to(ROOT)} names")


def pip(python: Path, arguments: Sequence[str], *, doing: str) -> None:
    """Install into the environment of `python`. Bytecode is written when a module is first used, which is sooner."""
    install = [str(python), "-m", "pip", "install", "--quiet", "--no-input", "--disable-pip-version-check"]
    with step(doing):
        run([*install, "--no-compile", *arguments], trouble=f"{doing} failed. Is the package registry within reach?")


def metadata(project: Path) -> str:
    """What an installation of `project` depends on; tools' settings in the same file do not count."""
    import tomllib

    document = tomllib.loads((project / "pyproject.toml").read_text("utf-8"))
    parts = [document.get("build-system"), document.get("project"), document.get("tool", {}).get("hatch")]
    return json.dumps(parts, sort_keys=True)


def digest(*parts: str) -> str:
    """One short name for all of `parts`."""
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def note(stamp: Path, content: dict[str, str]) -> None:
    """Write the stamp in one go, so that it is there only when what it says is true."""
    written = stamp.with_suffix(".new")
    written.write_text(json.dumps(content), "utf-8")
    written.replace(stamp)


def environment() -> dict[str, str]:
    """The environment that is handed on."""
    return {name: value for name, value in os.environ.items() if name not in NOT_FOR_US}


def run(command: Sequence[str], *, trouble: str) -> None:
    """Run `command` in silence; what it said is shown only if it fails."""
    done = subprocess.run(
        command, cwd=ROOT, env=environment(), stdout=subprocess.PIPE, stderr=subprocess.STDOUT, check=False, text=True
    )
    if done.returncode:
        raise CannotGoOn(f"{done.stdout[-4000:]}\n{trouble}")


def become(program: Path, arguments: Sequence[str]) -> int:
    """Turn into `program`, so that signals and the exit status are its own."""
    command = [str(program), *arguments]
    if os.name != "nt":
        os.execve(command[0], command, environment())
    return subprocess.call(command, env=environment())


@contextlib.contextmanager
def one_at_a_time(marker: Path) -> Iterator[None]:
    """Two starts at once take turns, where the system can lock a file."""
    with marker.open("w") as held:
        if fcntl is not None:
            fcntl.flock(held, fcntl.LOCK_EX)
        yield


@contextlib.contextmanager
def step(name: str) -> Iterator[None]:
    """Say what is being done, and how long it took."""
    began = time.monotonic()
    print(f"{name} ...", end="", file=sys.stderr, flush=True)
    yield
    say(f" {time.monotonic() - began:.0f} s")


def say(sentence: str) -> None:
    """Tell the person at the terminal; standard output belongs to the command itself."""
    print(sentence, file=sys.stderr, flush=True)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
