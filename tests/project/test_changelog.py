"""Changelog: each change is one fragment, one sentence for the person who uses Hooflast."""

import re
import tomllib
from pathlib import Path

import pytest
from tests.project.checkout import ROOT

TOWNCRIER = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["towncrier"]
TYPES = [kind["directory"] for kind in TOWNCRIER["type"]]
FRAGMENTS = sorted(path for path in (ROOT / TOWNCRIER["directory"]).iterdir() if path.name != ".gitignore")


def test_the_types_are_the_six_of_the_house_rules() -> None:
    assert TYPES == ["added", "changed", "fixed", "deprecated", "removed", "catalog"]


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda path: path.name)
def test_a_fragment_names_its_change_and_a_known_type(fragment: Path) -> None:
    assert re.fullmatch(rf"\+[a-z0-9-]+\.({'|'.join(TYPES)})\.md", fragment.name)


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda path: path.name)
def test_a_fragment_is_one_sentence(fragment: Path) -> None:
    text = fragment.read_text("utf-8").strip()
    assert re.fullmatch(r"[A-Z`][^\n]*[^.\n]\.", text)
    assert not re.search(r"[.!?] +[A-Z`]", text)
