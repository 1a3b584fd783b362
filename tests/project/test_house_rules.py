"""House rules: lint, format, types, imports, and modules that each hold one idea."""

import subprocess
import sysconfig
from pathlib import Path

import pytest
from tests.project.checkout import ROOT

PROGRAMS = Path(sysconfig.get_path("scripts"))
MODULES = sorted(path for room in ("service/hooflast", "plugins", "deploy") for path in (ROOT / room).rglob("*.py"))


@pytest.mark.parametrize(
    "command",
    [
        pytest.param(["ruff", "check", "--no-fix", "."], id="lint"),
        pytest.param(["ruff", "format", "--check", "."], id="format"),
        pytest.param(["mypy"], id="types"),
        pytest.param(["lint-imports"], id="imports"),
    ],
)
def test_nothing_is_found_in(command: list[str]) -> None:
    program, *options = command
    done = subprocess.run([PROGRAMS / program, *options], cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout + done.stderr


def test_no_module_is_longer_than_400_lines() -> None:
    lengths = {path.relative_to(ROOT): len(path.read_text("utf-8").splitlines()) for path in MODULES}
    assert {path: length for path, length in lengths.items() if length > 400} == {}


def test_a_module_is_named_after_its_idea() -> None:
    nameless = {"utils", "util", "helpers", "helper", "common", "misc"}
    assert [path.relative_to(ROOT) for path in MODULES if path.stem in nameless] == []
