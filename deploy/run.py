"""Run Hooflast from a checkout: `serve` starts the service, `test` runs every test, `lock` renews the lock files.

    python3 deploy/run.py serve [-- options of `hooflast serve`]
    python3 deploy/run.py test  [-- options of `pytest`]
    python3 deploy/run.py lock  [-- options of `uv pip compile`, such as --upgrade]

Each word first sets up a virtual environment of its own under .venv/ from a lock file in deploy/locks/, and finds it
ready the next time. Python 3.11 or newer and a package registry are all it needs. What is missing is installed by uv,
which takes a third of the time, or by pip where uv does not run or pip is set up with a registry of its own. The
syntax of this file stays readable to older Pythons, so that they can be told what is missing.
"""

from __future__ import annotations

import contextlib
import hashlib
import importlib.util
import json
import os
import re
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
PROJECTS = (ROOT, *sorted(project.parent for project in ROOT.glob("plugins/*/pyproject.toml")))
ONLY_TO_TEST = (ROOT / "plugins" / "author_kit",)
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
    resolve = [str(prepare_tools()), "-m", "uv", "pip", "compile", "--no-config", "--system-certs", "--quiet"]
    resolve += ["--universal", "--python-version", "3.11", "--only-binary", ":all:"]
    resolve += ["--generate-hashes", "--no-header", "--no-annotate", *options]
    for name, sources in (
        ("test", ["pyproject.toml", "--group", "build", "--group", "plugins", "--group", "test"]),
        (
            "serve",
            ["pyproject.toml", "--group", "build", "--group", "plugins", "--constraint", "deploy/locks/test.txt"],
        ),
        ("tools", ["--group", "tools"]),
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
    tools = prepare_tools()
    place = ROOT / ".venv" / word
    with one_at_a_time(place):
        if not is_whole(place):
            make(place, "--without-pip")
            install(locked(word), python=python_of(place), tools=tools, doing=f"Installing deploy/locks/{word}.txt")
            remember(place, environment=identity(place))
        wanted = [project for project in PROJECTS if word == "test" or project not in ONLY_TO_TEST]
        projects = digest(*(metadata(project) for project in wanted))
        if remembered(place).get("projects") != projects:
            editable = [part for project in wanted for part in ("--editable", str(project))]
            alone = ["--no-deps", "--no-build-isolation", *editable]
            install(alone, python=python_of(place), tools=tools, doing="Installing Hooflast itself")
            remember(place, environment=identity(place), projects=projects)
    return python_of(place)


def prepare_tools() -> Path:
    """The Python of the environment that holds what installs the others: pip, and uv where there is one."""
    place = ROOT / ".venv" / "tools"
    with one_at_a_time(place):
        if not is_whole(place):
            with step("Making .venv/tools"):
                make(place)
                with contextlib.suppress(CannotGoOn):
                    run(
                        [*pip(python_of(place), python=python_of(place)), *locked("tools")],
                        trouble="uv is not to be had.",
                    )
            remember(place, environment=identity(place))
    return python_of(place)


def is_whole(place: Path) -> bool:
    """Whether the environment there was finished, with this Python, this lock, and in this place."""
    return python_of(place).exists() and remembered(place).get("environment") == identity(place)


def make(place: Path, *options: str) -> None:
    """An empty environment; a stale or half-made one goes first."""
    if place.exists():
        shutil.rmtree(place)
    run([sys.executable, "-m", "venv", *options, str(place)], trouble=f"{place} could not be made.")


def install(arguments: Sequence[str], *, python: Path, tools: Path, doing: str) -> None:
    """Install into the environment of `python`. Bytecode is written when a module is first used, which is sooner."""
    with step(doing):
        if not pip_has_its_own_registry(tools):
            uv = [str(tools), "-m", "uv", "pip", "install", "--quiet", "--system-certs", "--python", str(python)]
            with contextlib.suppress(CannotGoOn):
                run([*uv, *arguments], trouble="uv does not run here.")
                return
        run([*pip(tools, python=python), *arguments], trouble=f"{doing} failed. Is the package registry within reach?")


def pip(tools: Path, *, python: Path) -> Sequence[str]:
    """How to install into the environment of `python` with pip."""
    quietly = ["--quiet", "--no-input", "--disable-pip-version-check", "--no-compile"]
    return [str(tools), "-m", "pip", "--python", str(python), "install", *quietly]


def pip_has_its_own_registry(tools: Path) -> bool:
    """Whether pip is set up to look elsewhere than by default, of which uv would know nothing."""
    listed = subprocess.run(
        [str(tools), "-m", "pip", "config", "list"], env=environment(), capture_output=True, check=False, text=True
    )
    return re.search(r"\.(index-url|no-index)=", listed.stdout) is not None


def locked(word: str) -> Sequence[str]:
    """What installs a lock file, and nothing that is not in it."""
    return ["--require-hashes", "--only-binary", ":all:", "--requirement", str(LOCKS / f"{word}.txt")]


def python_of(place: Path) -> Path:
    """The Python of the environment at `place`."""
    return place / ("Scripts/python.exe" if os.name == "nt" else "bin/python")


def identity(place: Path) -> str:
    """What an environment must have been made from, and where, to be of use."""
    return digest(sys.version, sys.base_prefix, str(place), (LOCKS / f"{place.name}.txt").read_text("utf-8"))


def metadata(project: Path) -> str:
    """What an installation of `project` depends on; tools' settings in the same file do not count."""
    import tomllib

    document = tomllib.loads((project / "pyproject.toml").read_text("utf-8"))
    parts = [document.get("build-system"), document.get("project"), document.get("tool", {}).get("hatch")]
    return json.dumps(parts, sort_keys=True)


def digest(*parts: str) -> str:
    """One short name for all of `parts`."""
    return hashlib.sha256("\0".join(parts).encode()).hexdigest()


def remembered(place: Path) -> dict[str, str]:
    """What was noted when the environment was finished; nothing if it never was."""
    stamp = place / "ready.json"
    return json.loads(stamp.read_text("utf-8")) if stamp.exists() else {}


def remember(place: Path, **content: str) -> None:
    """Note it in one go, so that it is there only when what it says is true."""
    written = place / "ready.new"
    written.write_text(json.dumps(content), "utf-8")
    written.replace(place / "ready.json")


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
def one_at_a_time(place: Path) -> Iterator[None]:
    """Two starts at once take turns, where the system can lock a file."""
    place.parent.mkdir(exist_ok=True)
    with place.with_suffix(".lock").open("w") as held:
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
