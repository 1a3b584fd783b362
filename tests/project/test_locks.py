"""Locks: every dependency is pinned by hash, and the lock files agree with pyproject.toml and with each other."""

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name
from tests.project.checkout import ROOT

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
LOCKS = {
    name: [entry for entry in re.split(r"\n(?=\S)", (ROOT / f"deploy/locks/{name}.txt").read_text("utf-8")) if entry]
    for name in ("serve", "test", "tools")
}
WANTED = {
    "serve": [
        *PROJECT["project"]["dependencies"],
        *PROJECT["dependency-groups"]["build"],
        *PROJECT["dependency-groups"]["plugins"],
    ],
    "test": [
        *PROJECT["project"]["dependencies"],
        *PROJECT["dependency-groups"]["build"],
        *PROJECT["dependency-groups"]["plugins"],
        *PROJECT["dependency-groups"]["test"],
    ],
    "tools": PROJECT["dependency-groups"]["tools"],
}


def pins(lock: str) -> dict[str, set[tuple[str, str]]]:
    """Each name with the versions it is pinned to and when."""
    found: dict[str, set[tuple[str, str]]] = {}
    for entry in LOCKS[lock]:
        requirement = Requirement(entry.split("\\", 1)[0].strip())
        (pin,) = requirement.specifier
        assert pin.operator == "=="
        found.setdefault(canonicalize_name(requirement.name), set()).add((pin.version, str(requirement.marker)))
    return found


@pytest.mark.parametrize("lock", LOCKS)
def test_every_pin_has_its_hashes_and_names_no_place(lock: str) -> None:
    assert [entry for entry in LOCKS[lock] if "--hash=sha256:" not in entry] == []
    assert [entry for entry in LOCKS[lock] if "://" in entry or entry.startswith("-")] == []


@pytest.mark.parametrize("lock", LOCKS)
def test_the_lock_answers_what_the_project_asks_for(lock: str) -> None:
    locked = pins(lock)
    for wanted in map(Requirement, WANTED[lock]):
        versions = {version for version, _ in locked[canonicalize_name(wanted.name)]}
        assert all(wanted.specifier.contains(version) for version in versions), str(wanted)


def test_what_is_tested_is_what_serves() -> None:
    serving, tested = ({name: versions_of(pins) for name, pins in pins(lock).items()} for lock in ("serve", "test"))
    assert {name: versions for name, versions in serving.items() if not versions <= tested.get(name, set())} == {}


def versions_of(pinned: set[tuple[str, str]]) -> set[str]:
    return {version for version, _ in pinned}


@pytest.mark.parametrize("plugin", sorted(ROOT.glob("plugins/*/pyproject.toml")), ids=lambda file: file.parent.name)
def test_what_a_plugin_asks_for_is_locked(plugin: Path) -> None:
    asked = set(tomllib.loads(plugin.read_text("utf-8"))["project"]["dependencies"]) - {"hooflast", "hooflast-fetching"}
    assert asked <= set(WANTED["test" if plugin.parent.name == "author_kit" else "serve"])
