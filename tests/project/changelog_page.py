"""The page of the changelog: what no release has yet, made of the fragments, before the versions that were released.

`python -m tests.project.changelog_page` writes it. At a release, `towncrier build` puts the fragments into the page as
that version and takes them away; then this writes the page without them.
"""

import re
import tomllib
from typing import Any, Final

from click.testing import CliRunner
from tests.project.checkout import ROOT
from towncrier._shell import cli

TOWNCRIER: Final[dict[str, Any]] = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))["tool"]["towncrier"]
PAGE: Final = ROOT / TOWNCRIER["filename"]
START: Final[str] = TOWNCRIER["start_string"]
UNRELEASED: Final = "Not released yet"
ABOUT_UNRELEASED: Final = "This is in the checkout, and in no numbered version yet."
_SECTION: Final = re.compile(rf"^## {UNRELEASED}\n.*?(?=^## |\Z)", re.DOTALL | re.MULTILINE)


def page_as_it_should_be() -> str:
    """The page as it is, with what is not released yet made anew."""
    before, found, after = PAGE.read_text("utf-8").partition(START)
    assert found, f"{PAGE} has no line {START!r}, after which the versions stand"
    released = _SECTION.sub("", after).strip()
    parts = [before + START.strip(), unreleased(), released]
    return "\n\n".join(part for part in parts if part) + "\n"


def unreleased() -> str:
    """What the fragments tell, as towncrier puts them together; empty where there are none."""
    drafted = CliRunner().invoke(cli, ["build", "--draft", "--dir", str(ROOT), "--version", UNRELEASED])
    assert drafted.exit_code == 0, drafted.output
    title, _, told = drafted.stdout.strip().partition("\n")
    assert title.startswith(f"## {UNRELEASED} "), title
    told = re.sub(r"\n{3,}", "\n\n", told).strip()
    return f"## {UNRELEASED}\n\n{ABOUT_UNRELEASED}\n\n{told}" if told else ""


if __name__ == "__main__":
    PAGE.write_text(page_as_it_should_be(), "utf-8")
