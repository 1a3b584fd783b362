"""The two commands: an environment is made once, and made anew when it is stale, half-made or somebody else's."""

import ast
import json
from pathlib import Path
from subprocess import CompletedProcess

import pytest
from tests.project.checkout import SCRIPT, Script, load_script

PYPROJECT = '[project]\nname = "sample"\nversion = "1"\n\n[tool.ruff]\nline-length = 100\n'


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Script:
    """The script on a small checkout; each command it runs is noted in `commands`, or fails if `fails` says so."""
    module = load_script()
    module.commands = []
    module.fails = lambda command: False

    def note(command: list[str], *, trouble: str) -> None:
        module.commands.append(command)
        if module.fails(command):
            raise module.CannotGoOn(trouble)
        if "venv" in command:
            python = Path(command[-1]) / "bin" / "python"
            python.parent.mkdir(parents=True)
            python.touch()

    (tmp_path / "locks").mkdir()
    for word in ("serve", "tools"):
        (tmp_path / "locks" / f"{word}.txt").write_text("boot==1\n")
    (tmp_path / "pyproject.toml").write_text(PYPROJECT)
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "LOCKS", tmp_path / "locks")
    monkeypatch.setattr(module, "PROJECTS", (tmp_path,))
    monkeypatch.setattr(module, "run", note)
    module.pip_settings = ""
    monkeypatch.setattr(
        module.subprocess, "run", lambda command, **_: CompletedProcess(command, 0, stdout=module.pip_settings)
    )
    return module


def made(run: Script) -> list[str]:
    """What one more `prepare` does, in short."""
    run.commands.clear()
    run.prepare("serve")
    return [in_short(command) for command in run.commands]


def in_short(command: list[str]) -> str:
    if "venv" in command:
        return f"make {Path(command[-1]).name}"
    what = Path(command[-1]).stem if "--require-hashes" in command else "project"
    return f"{'uv' if 'uv' in command else 'pip'} {what}"


FIRST = ["make tools", "pip tools"]
ANEW = ["make serve", "uv serve", "uv project"]


def test_an_environment_is_made_once(run: Script) -> None:
    assert made(run) == FIRST + ANEW
    assert made(run) == []


def test_another_lock_makes_it_anew(run: Script) -> None:
    made(run)
    (run.LOCKS / "serve.txt").write_text("boot==2\n")
    assert made(run) == ANEW


@pytest.mark.parametrize("missing", ["bin/python", "ready.json"])
def test_a_half_made_environment_is_made_anew(run: Script, missing: str) -> None:
    made(run)
    (run.ROOT / ".venv" / "serve" / missing).unlink()
    assert made(run) == ANEW


@pytest.mark.parametrize("failing", [["make serve"], ["uv serve", "pip serve"]])
def test_an_environment_that_could_not_be_made_is_not_taken_for_ready(run: Script, failing: list[str]) -> None:
    run.fails = lambda command: in_short(command) in failing
    with pytest.raises(run.CannotGoOn):
        made(run)
    run.fails = lambda command: False
    assert made(run) == ANEW


def test_a_project_that_could_not_be_installed_is_tried_again_alone(run: Script) -> None:
    run.fails = lambda command: "--editable" in command
    with pytest.raises(run.CannotGoOn):
        made(run)
    run.fails = lambda command: False
    assert made(run) == ["uv project"]


def test_pip_installs_where_uv_does_not_run(run: Script) -> None:
    run.fails = lambda command: "uv" in command
    assert made(run) == [*FIRST, "make serve", "uv serve", "pip serve", "uv project", "pip project"]


def test_pip_installs_where_uv_is_not_to_be_had(run: Script) -> None:
    run.fails = lambda command: "uv" in command or in_short(command) == "pip tools"
    made(run)
    assert made(run) == []


@pytest.mark.parametrize(
    ("setting", "installers"),
    [
        ("global.index-url='file:///srv/boots'", {"pip"}),
        (":env:.no-index='1'", {"pip"}),
        ("global.extra-index-url='file:///srv/boots'", {"uv"}),
        ("", {"uv"}),
    ],
)
def test_pip_installs_where_it_has_a_registry_of_its_own(run: Script, setting: str, installers: set[str]) -> None:
    made(run)
    (run.LOCKS / "serve.txt").write_text("boot==2\n")
    run.pip_settings = f"global.timeout='60'\n{setting}\n"
    assert {step.split()[0] for step in made(run)} - {"make"} == installers


def test_another_python_makes_it_anew(run: Script, monkeypatch: pytest.MonkeyPatch) -> None:
    made(run)
    monkeypatch.setattr("sys.version", "3.99.0 (sample)")
    assert made(run) == FIRST + ANEW


def test_new_project_metadata_installs_the_project_alone(run: Script) -> None:
    made(run)
    (run.ROOT / "pyproject.toml").write_text(PYPROJECT.replace('"1"', '"2"'))
    assert made(run) == ["uv project"]


def test_a_tools_setting_installs_nothing(run: Script) -> None:
    made(run)
    (run.ROOT / "pyproject.toml").write_text(PYPROJECT.replace("100", "120"))
    assert made(run) == []


def test_a_stamp_holds_what_was_wanted(run: Script) -> None:
    made(run)
    stamp = json.loads((run.ROOT / ".venv" / "serve" / "ready.json").read_text())
    assert set(stamp) == {"environment", "projects"}


def test_an_old_python_is_told_what_is_missing(
    run: Script, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr("sys.version_info", (3, 9, 2, "final", 0))
    assert run.main(["serve"]) == 1
    assert "Python 3.11 or newer" in capsys.readouterr().err
    assert run.commands == []


def test_an_old_python_can_read_the_script() -> None:
    ast.parse(SCRIPT.read_text("utf-8"), feature_version=(3, 7))


@pytest.mark.parametrize("module", ["venv", "ensurepip"])
def test_a_python_that_makes_no_environments_is_told_so(
    run: Script, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], module: str
) -> None:
    monkeypatch.setattr("importlib.util.find_spec", lambda name: None if name == module else object())
    assert run.main(["serve"]) == 1
    assert f"comes without {module}" in capsys.readouterr().err


def test_an_unknown_word_shows_the_words(run: Script, capsys: pytest.CaptureFixture[str]) -> None:
    assert run.main(["sevre"]) == 2
    assert "deploy/run.py serve" in capsys.readouterr().err
