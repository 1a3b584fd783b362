"""Plugins and products on the command line: nothing that went wrong is left out, and accessories can be seen."""

import json
from datetime import date
from pathlib import Path

import pytest
from tests.cli.running import Run, running

from hooflast.catalog.loading import LoadedCatalog, PluginReport, load_catalog
from hooflast.catalog.plugin import Fate, RowFate
from hooflast.errors import Fault, PluginFailed

LOADED = load_catalog()
RELEASE = LOADED.library.active
DAY = date(2026, 4, 1)


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "300")
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: LOADED)
    return running(capfd)


def reporting(report: PluginReport, monkeypatch: pytest.MonkeyPatch) -> None:
    loaded = LoadedCatalog(library=LOADED.library, reports=(report,))
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: loaded)


def test_refused_rows_are_counted_where_every_plugin_is_listed(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    rows = (
        RowFate(place="line 7", fate=Fate.REFUSED, why="No number."),
        RowFate(place="line 8", fate=Fate.USED),
        RowFate(place="line 9", fate=Fate.SKIPPED),
    )
    reporting(PluginReport(plugin="list", version="1", editions=(DAY,), rows=rows), monkeypatch)
    assert "1 row was refused; see: hooflast plugins --rows" in run("plugins").out
    told = run("plugins", "--rows").out
    assert all(row.place in told for row in rows)
    assert "No number." in told


def test_a_fault_is_told_with_its_source_its_place_and_its_sentence(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    faults = (
        Fault(
            path=("list.txt", "line 7"),
            code="catalog-range-inverted",
            received=[6, 5],
            facts={"low_mm": 6.0, "high_mm": 5.0},
        ),
        Fault(path=("list.txt",), code="catalog-plugin-finding", received=None, facts={"finding": "GLUE is no word."}),
        Fault(path=(), code="catalog-plugin-finding", received=None, facts={"finding": "Half is missing."}),
    )
    reporting(PluginReport(plugin="list", version="1", refused=(DAY,), faults=faults), monkeypatch)
    lines = [line.split("│")[-2].rstrip() for line in run("plugins").out.splitlines() if line.startswith("│")]
    assert lines[0] == " Refused whole: 2026-04-01."
    assert lines[1].startswith(" list.txt line 7 ")
    assert lines[2].startswith(" list.txt The plugin itself")
    assert lines[3].startswith(" The plugin itself")
    (plain,) = json.loads(run("plugins", "--json").out)
    assert [(one["source"], one["place"], one["code"]) for one in plain["faults"]] == [
        ("list.txt", "line 7", "catalog-range-inverted"),
        ("list.txt", "", "catalog-plugin-finding"),
        ("", "", "catalog-plugin-finding"),
    ]
    assert "GLUE is no word." in plain["faults"][1]["text"]


def test_a_plugin_that_waits_says_where_its_settings_are_written(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    reporting(PluginReport(plugin="list", version="1", waits_for=("path", "token")), monkeypatch)
    told = run("plugins").out
    assert "path, token" in told
    assert "HOOFLAST_PLUGINS_FILE" in told


def test_a_failure_is_told_whole(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    failure = PluginFailed(plugin="list", reason="in `map` (my_list, line 9), it raised KeyError: 'width'")
    reporting(PluginReport(plugin="list", version="", failure=failure), monkeypatch)
    assert failure.reason in run("plugins").out
    assert json.loads(run("plugins", "--json").out)[0]["failure"] == failure.reason


def test_every_accessory_is_shown_with_its_maker(run: Run) -> None:
    shown = run("catalog", "show").out
    for accessory in RELEASE.accessories.values():
        assert accessory.id in shown
        assert accessory.name in shown


@pytest.mark.parametrize("accessory", RELEASE.accessories.values(), ids=lambda one: one.id)
def test_an_accessory_is_shown_by_id_or_name_with_the_sizes_it_goes_with(run: Run, accessory) -> None:
    shown = run("catalog", "show", accessory.id)
    assert shown.code == 0
    assert shown.out == run("catalog", "show", accessory.name).out
    for size in accessory.sizes:
        for boot, codes in size.goes_with.items():
            (row,) = (
                line for line in shown.out.splitlines() if line.startswith(f"│ {size.code} ") and f"│ {boot} " in line
            )
            assert all(code in row for code in codes)


def test_a_boot_model_is_shown_with_what_goes_with_it_and_with_nothing_else(run: Run) -> None:
    for boot in ("quendle-aldwimble", "vellory-marlowick"):
        going = {
            one.id for one in RELEASE.accessories.values() if any(boot in size.goes_with for size in one.sizes)
        }  # fmt: skip
        shown = run("catalog", "show", boot).out
        assert {one for one in RELEASE.accessories if f"│ {one} " in shown} == going
        plain = json.loads(run("catalog", "show", boot, "--json").out)
        assert {one["id"] for one in plain["accessories"]} == going
        assert [one["id"] for one in plain["boots"]] == [boot]


def test_an_accessory_in_json_lists_the_boot_sizes_from_small_to_large(run: Run) -> None:
    plain = json.loads(run("catalog", "show", "vellory-felt-pad", "--json").out)
    assert plain["boots"] == []
    (accessory,) = plain["accessories"]
    assert (accessory["kind"], accessory["sold_as"], accessory["thickness_mm"]) == ("pad", "pair", 6)
    assert accessory["sizes"][0]["goes_with"]["vellory-marlowick"] == ["sorrel", "clover", "yarrow"]


def test_a_product_that_is_not_there_is_said_so(run: Run) -> None:
    ran = run("catalog", "show", "nobody-nothing")
    assert ran.code == 1
    assert "no boot model or accessory called nobody-nothing" in ran.err
