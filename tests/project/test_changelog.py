"""Changelog: each change is one fragment, one sentence for the person who uses Hooflast."""

import re
from pathlib import Path

import pytest
from tests.project.changelog_page import PAGE, START, TOWNCRIER, page_as_it_should_be
from tests.project.checkout import ROOT

TYPES = [kind["directory"] for kind in TOWNCRIER["type"]]
FOLDER = ROOT / TOWNCRIER["directory"]
FRAGMENTS = sorted(path for path in FOLDER.rglob("*") if path.is_file() and path != ROOT / TOWNCRIER["template"])


def test_the_types_are_the_six_of_the_house_rules() -> None:
    assert TYPES == ["added", "changed", "fixed", "deprecated", "removed", "catalog"]


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda path: path.name)
def test_a_fragment_names_its_change_and_a_known_type(fragment: Path) -> None:
    assert re.fullmatch(rf"\+[a-z0-9-]+\.({'|'.join(TYPES)})\.md", fragment.name)
    assert fragment.parent in {FOLDER / section["path"] for section in TOWNCRIER["section"]}


@pytest.mark.parametrize("fragment", FRAGMENTS, ids=lambda path: path.name)
def test_a_fragment_is_one_sentence(fragment: Path) -> None:
    text = fragment.read_text("utf-8").strip()
    assert re.fullmatch(r"[A-Z`][^\n]*[^.\n]\.", text)
    assert not re.search(r"[.!?] +[A-Z`]", text)


def test_the_page_tells_every_change_that_no_release_has_yet() -> None:
    assert page_as_it_should_be() == PAGE.read_text("utf-8"), "write it anew: python -m tests.project.changelog_page"


def test_versions_that_were_released_stay_below_what_is_not(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """`towncrier build` puts a new version right after the start, above what the page told as not released."""
    released = "## 0.1.0 (2026-03-14)\n\n### Added\n\n- Boots."
    page = tmp_path / "changelog.md"
    monkeypatch.setattr("tests.project.changelog_page.PAGE", page)
    page.write_text(PAGE.read_text("utf-8").replace(START, f"{START}\n{released}\n\n"), "utf-8")
    made = page_as_it_should_be()
    assert made.count("## Not released yet") == 1
    assert made.endswith(f"{released}\n")
