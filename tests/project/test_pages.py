"""Pages: what the documentation shows works as pasted, and nothing that a reader can set or call is left out."""

import json
import re
from collections.abc import Callable, Iterator
from datetime import date
from importlib.metadata import EntryPoint
from pathlib import Path

import click
import pytest
from tests.project.checkout import DOCUMENTS, PAGES, ROOT

from hooflast.catalog.loading import LoadedCatalog, load_catalog
from hooflast.catalog.structure import catalog_file_schema
from hooflast.catalog.values import AccessoryId, BootId
from hooflast.cli.command_line import build
from hooflast.exchange import read_match_question
from hooflast.exchange.plugin_file import read_plugin_file
from hooflast.settings import SETTINGS
from hooflast.texts import load_texts

OPERATE = ROOT / "service" / "hooflast" / "pages" / "operate.md"
SHOWN = re.compile(r"(?:^|`)hooflast ([a-z][^`\n]*)", re.MULTILINE)

NAMED_FILE = re.compile(r"`([\w./-]+)`:\n\n```\w+\n(.*?)```", re.DOTALL)
LINK = re.compile(r"(?:\]\(|src=\")([^)#\"\s]+)")


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.stem)
def test_a_page_begins_with_what_its_reader_can_do_after_it(page: Path) -> None:
    title, _, first, *_ = page.read_text("utf-8").splitlines()
    assert title.startswith("# ")
    assert first.startswith("After this page you can ")


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_links_lead_somewhere(document: Path) -> None:
    targets = [link for link in LINK.findall(document.read_text("utf-8")) if "://" not in link]
    assert [link for link in targets if not (document.parent / link).exists()] == []


def test_every_page_is_linked_from_the_readme() -> None:
    linked = LINK.findall((ROOT / "README.md").read_text("utf-8"))
    assert [page.name for page in PAGES if f"service/hooflast/pages/{page.name}" not in linked] == []


def test_every_setting_stands_on_the_page_for_operators() -> None:
    rows = [
        f"| `{one.name}` | {one.meaning} | {_code(one.default) if one.default else 'none'} | {_code(one.accepted)} |"
        for one in SETTINGS
    ]
    assert [row for row in rows if row not in OPERATE.read_text("utf-8")] == []


def _code(text: str) -> str:
    return f"`{text}`".replace("|", "\\|")


def test_every_command_stands_on_the_page_for_operators() -> None:
    assert [name for name in _commands(build(load_texts("en"))) if f"`{name}`" not in OPERATE.read_text("utf-8")] == []


def _commands(group: click.Group, *, above: str = "hooflast") -> Iterator[str]:
    for name, command in group.commands.items():
        if isinstance(command, click.Group):
            yield from _commands(command, above=f"{above} {name}")
        else:
            yield f"{above} {name}"


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_commands_and_options_that_are_shown_exist(document: Path) -> None:
    text = document.read_text("utf-8")
    for line in SHOWN.findall(text):
        command: click.Command = build(load_texts("en"))
        for word in line.split():
            if isinstance(command, click.Group):
                assert word in command.commands, line
                command = command.commands[word]
            elif word.startswith("--"):
                assert word in {flag for option in command.params for flag in option.opts}, line


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_words_of_the_script_that_are_shown_exist(document: Path) -> None:
    words = re.findall(r"deploy/run\.py (\w+)", document.read_text("utf-8"))
    assert set(words) <= {"serve", "test", "lock"}


def test_both_commands_stand_in_the_readme() -> None:
    text = (ROOT / "README.md").read_text("utf-8")
    assert "python3 deploy/run.py serve\n" in text
    assert "python3 deploy/run.py test\n" in text


@pytest.mark.parametrize("document", DOCUMENTS, ids=lambda path: f"{path.parent.name}/{path.stem}")
def test_horses_that_are_shown_are_read_without_a_fault(document: Path) -> None:
    for body in re.findall(r"--data '(\{[^']*\})'", document.read_text("utf-8")):
        if "hooves" in json.loads(body) and "boot" not in json.loads(body):
            assert read_match_question(body.encode(), today=date(2026, 3, 14)).hooves


def shown_files(folder: Path) -> str:
    """The page that teaches plugins, with every file that it shows written into a folder."""
    page = (ROOT / "service" / "hooflast" / "pages" / "write-a-plugin.md").read_text("utf-8")
    for name, content in NAMED_FILE.findall(page):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(content)
    return page


def test_the_plugin_that_the_page_teaches_works(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    page = shown_files(tmp_path)
    monkeypatch.syspath_prepend(tmp_path)
    group, name, value = re.search(r'entry-points\."([\w.]+)"\]\n([\w-]+) = "([\w:]+)"', page).groups()
    loaded = load_catalog([EntryPoint(name=name, value=value, group=group)])
    (report,) = loaded.reports
    assert (report.failure, report.faults) == (None, ())
    assert list(loaded.library.active.boots) == ["my-workshop-lane"]


def test_the_words_that_the_page_lists_for_plugins_are_those_of_the_schema() -> None:
    page = (ROOT / "service" / "hooflast" / "pages" / "write-a-plugin.md").read_text("utf-8")
    listed = {
        name: re.findall(r"`(\w+)`", words)
        for name, words in re.findall(r"^\| `(\w+)`[^|]* \| (`[a-z_, `]+`) \|$", page, re.MULTILINE)
    }
    kinds = catalog_file_schema()["$defs"]
    members = {**kinds["boot"]["properties"], "kind": kinds["accessory"]["properties"]["kind"]}
    words = {name: one.get("items", kinds["sold_as"] if name == "sold_as" else one) for name, one in members.items()}
    assert listed == {name: one["enum"] for name, one in words.items() if "enum" in one}


@pytest.fixture
def text_plugin(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Callable[[], LoadedCatalog]:
    """The plugin of the page that reads a format of its own, asked with the settings that the page shows."""
    shown_files(tmp_path)
    monkeypatch.syspath_prepend(tmp_path)
    use = (tmp_path / "plugins.yaml").read_text("utf-8").replace("/srv/boots", tmp_path.as_posix())
    found = EntryPoint(name="my-list", value="my_list:plugin", group="hooflast.catalog")
    return lambda: load_catalog([found], configured=read_plugin_file(use.encode()))


def test_the_plugin_that_reads_a_format_of_its_own_works(text_plugin: Callable[[], LoadedCatalog]) -> None:
    loaded = text_plugin()
    (report,) = loaded.reports
    assert (report.failure, report.faults, report.editions) == (None, (), (date(2026, 3, 1),))
    boot = loaded.library.active.boots[BootId("my-list-first")]
    pad = loaded.library.active.accessories[AccessoryId("my-list-pad")]
    assert [size.code for size in boot.sizes] == ["alder", "birch"]
    assert [dict(size.goes_with) for size in pad.sizes] == [{boot.id: {"alder"}}, {boot.id: {"birch"}}]
    assert boot.max_pad_mm >= pad.thickness_mm
    assert {row.place: row.fate for row in report.rows}["line 6"] == "used"


def test_a_fault_of_that_plugin_is_told_with_its_line_and_nothing_hides_another(
    text_plugin: Callable[[], LoadedCatalog], tmp_path: Path
) -> None:
    file = tmp_path / "list.txt"
    file.write_text(file.read_text("utf-8").replace("115-121", "121-115") + "GLUE | much\n")
    (report,) = text_plugin().reports
    assert report.refused == (date(2026, 3, 1),)
    told = {(fault.code, *fault.path) for fault in report.faults}
    assert ("catalog-range-inverted", "list.txt", "line 6") in told
    (finding,) = (fault.facts["finding"] for fault in report.faults if fault.code == "catalog-plugin-finding")
    assert str(finding).startswith("line 12: ")


@pytest.mark.parametrize(
    ("name", "template"), [("my_list/__init__.py", "package_text.py.txt"), ("list.txt", "list.txt")]
)
def test_the_page_shows_what_the_authors_kit_writes(name: str, template: str, tmp_path: Path) -> None:
    shown_files(tmp_path)
    kept = ROOT / "plugins" / "author_kit" / "hooflast_author_kit" / "template" / template
    written = kept.read_text("utf-8").replace("NAME", "my-list").replace("PACKAGE", "my_list")
    assert (tmp_path / name).read_text("utf-8") == written
