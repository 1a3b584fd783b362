"""Wheels: what is built installs and works outside the tree, with the lock's versions and nothing else."""

import json
import os
import subprocess
import sys
from collections.abc import Callable, Mapping
from pathlib import Path

import pytest
from tests.project.checkout import PAGES, ROOT, load_script

HORSE = {
    "horse": {"name": "Bramble", "animal_type": "horse"},
    "hooves": [{"limb": "LF", "width": 124, "length": 128}],
    "uses": ["hacking"],
}
Stranger = Callable[..., str]
pytestmark = [pytest.mark.full, pytest.mark.xdist_group("wheels")]


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of an environment's programs, with every wheel and the lock in it."""
    place = tmp_path_factory.mktemp("elsewhere")
    script = load_script()
    for project in [one for one in script.PROJECTS if one not in script.ONLY_TO_TEST]:
        build = [sys.executable, "-m", "hatchling", "build", "--target", "wheel", "--directory", str(place / "dist")]
        said(build, folder=project)
    script.make(place / "venv", "--without-pip")
    python: Path = script.python_of(place / "venv")
    wheels = ["--no-deps", *map(str, (place / "dist").glob("*.whl"))]
    for arguments in (script.locked("serve"), wheels):
        script.install(arguments, python=python, tools=script.prepare_tools(), doing="Installing")
    return python.parent


def said(command: list[str], *, folder: Path, environment: Mapping[str, str] | None = None) -> str:
    """What `command` printed, run in `folder`, or a failure with all it said."""
    done = subprocess.run(command, cwd=folder, env=environment, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture
def stranger(installed: Path, tmp_path: Path) -> Stranger:
    """Runs a program of the environment in an empty folder, with nothing but PATH set."""
    return lambda name, *arguments: said(
        [str(installed / name), *arguments], folder=tmp_path, environment={"PATH": os.environ["PATH"]}
    )


def test_nothing_is_taken_from_the_tree(stranger: Stranger) -> None:
    where = "import hooflast, hooflast_demo; print(hooflast.__file__, hooflast_demo.__file__)"
    assert str(ROOT) not in stranger("python", "-c", where)


def test_the_catalog_can_be_shown(stranger: Stranger) -> None:
    assert "Vellory" in stranger("hooflast", "catalog", "show")


def test_a_horse_can_be_matched(stranger: Stranger, tmp_path: Path) -> None:
    (tmp_path / "bramble.json").write_text(json.dumps(HORSE))
    answer = json.loads(stranger("hooflast", "match", "bramble.json", "--json"))
    (hoof,) = answer["hooves"]
    assert hoof["limb"] == "LF"
    assert hoof["boots"]


def test_the_pages_come_along(stranger: Stranger) -> None:
    names = (
        "from importlib.resources import files; print(*(page.name for page in (files('hooflast') / 'pages').iterdir()))"
    )
    assert {page.name for page in PAGES} <= set(stranger("python", "-c", names).split())
