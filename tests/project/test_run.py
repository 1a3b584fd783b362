"""The two commands: an environment is made once, and made anew when it is stale, half-made or somebody else's."""

import ast
import importlib.util
import json
from pathlib import Path
from typing import Any

import pytest

Script = Any
SCRIPT = Path(__file__).resolve().parents[2] / "deploy" / "run.py"
PYPROJECT = '[project]\nname = "sample"\nversion = "1"\n\n[tool.ruff]\nline-length = 100\n'


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Script:
    """The script on a small checkout, with every command it runs noted in `run.commands` instead."""
    spec = importlib.util.spec_from_file_location("hooflast_run", SCRIPT)
    assert spec is not None
    assert spec.loader is not None
    module: Script = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    module.commands = []
    module.fail = None

    def note(command: list[str], *, trouble: str) -> None:
        if module.fail is not None and module.fail in command:
            raise module.CannotGoOn(trouble)
        module.commands.append(command)
        if "venv" in command:
            python = Path(command[-1]) / "bin" / "python"
            python.parent.mkdir(parents=True)
            python.touch()

    (tmp_path / "locks").mkdir()
    (tmp_path / "locks" / "serve.txt").write_text("boot==1\n")
    (tmp_path / "pyproject.toml").write_text(PYPROJECT)
    monkeypatch.setattr(module, "ROOT", tmp_path)
    monkeypatch.setattr(module, "LOCKS", tmp_path / "locks")
    monkeypatch.setattr(module, "PROJECTS", (tmp_path,))
    monkeypatch.setattr(module, "run", note)
    return module


def made(run: Script) -> list[str]:
    """What one more `prepare` runs, in short."""
    run.commands.clear()
    run.prepare("serve")
    return [
        "venv" if "venv" in command else "lock" if "--require-hashes" in command else "project"
        for command in run.commands
    ]


ANEW = ["venv", "lock", "project"]


def test_an_environment_is_made_once(run: Script) -> None:
    assert made(run) == ANEW
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


@pytest.mark.parametrize("failing", ["venv", "--require-hashes"])
def test_an_environment_that_could_not_be_made_is_not_taken_for_ready(run: Script, failing: str) -> None:
    run.fail = failing
    with pytest.raises(run.CannotGoOn):
        made(run)
    run.fail = None
    assert made(run) == ANEW


def test_a_project_that_could_not_be_installed_is_tried_again_alone(run: Script) -> None:
    run.fail = "--editable"
    with pytest.raises(run.CannotGoOn):
        made(run)
    run.fail = None
    assert made(run) == ["project"]


def test_another_python_makes_it_anew(run: Script, monkeypatch: pytest.MonkeyPatch) -> None:
    made(run)
    monkeypatch.setattr("sys.version", "3.99.0 (sample)")
    assert made(run) == ANEW


def test_new_project_metadata_installs_the_project_alone(run: Script) -> None:
    made(run)
    (run.ROOT / "pyproject.toml").write_text(PYPROJECT.replace('"1"', '"2"'))
    assert made(run) == ["project"]


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
