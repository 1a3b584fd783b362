"""Pages: what the documentation shows works as pasted, and nothing that a reader can set or call is left out."""

import re
from importlib.metadata import EntryPoint
from pathlib import Path

import pytest
from tests.project.checkout import DOCUMENTS, PAGES, ROOT

from hooflast.catalog.loading import load_catalog
from hooflast.settings import SETTINGS

NAMED_FILE = re.compile(r"`([\w./-]+)`:\n\n```\w+\n(.*?)```", re.DOTALL)
LINK = re.compile(r"\]\(([^)#\s]+)[^)]*\)")


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.stem)
def test_a_page_begins_with_what_its_reader_can_do_after_it(page: Path) -> None:
    title, _, first, *_ = page.read_text("utf-8").splitlines()
    assert title.startswith("# ")
    assert first.startswith("After this page you can ")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: path.stem)
def test_links_lead_somewhere(document: Path) -> None:
    targets = [link for link in LINK.findall(document.read_text("utf-8")) if "://" not in link]
    assert [link for link in targets if not (document.parent / link).exists()] == []


def test_every_setting_stands_on_the_page_for_operators() -> None:
    page = (ROOT / "service" / "hooflast" / "pages" / "operate.md").read_text("utf-8")
    row = "| `{0.name}` | {0.meaning} | {1} |"
    assert [row.format(one, _default(one.default)) for one in SETTINGS if one.meaning not in page] == []
    assert [one.name for one in SETTINGS if f"| `{one.name}` |" not in page] == []


def _default(default: str) -> str:
    return f"`{default}`" if default else "none"


def test_the_plugin_that_the_page_teaches_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page = (ROOT / "service" / "hooflast" / "pages" / "write-a-plugin.md").read_text("utf-8")
    for name, content in NAMED_FILE.findall(page):
        (tmp_path / name).parent.mkdir(exist_ok=True)
        (tmp_path / name).write_text(content)
    monkeypatch.syspath_prepend(tmp_path)
    group, name, value = re.search(r'entry-points\."([\w.]+)"\]\n([\w-]+) = "([\w:]+)"', page).groups()  # type: ignore[union-attr]
    loaded = load_catalog([EntryPoint(name=name, value=value, group=group)])
    (report,) = loaded.reports
    assert (report.failure, report.faults) == (None, ())
    assert list(loaded.library.active.boots) == ["my-workshop-lane"]
