"""Check on the command line: what was found is told as text, JSON and a page, and errors show in the exit code."""

import json
from dataclasses import replace
from pathlib import Path

import pytest
from tests import demo
from tests.api.html_reading import expect_good_manners, read_page
from tests.catalog.strategies import FORMAT
from tests.cli.running import Run, running

from hooflast.catalog.loading import LoadedCatalog, PluginReport
from hooflast.errors import Fault, PluginFailed

LOADED = demo.offered()
NEW = LOADED.library.releases[-1]
HOSTILE = "<script>alert(1)</script>"


@pytest.fixture
def run(capfd: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.setenv("COLUMNS", "200")
    offer(monkeypatch, LOADED)
    return running(capfd)


def offer(monkeypatch: pytest.MonkeyPatch, loaded: LoadedCatalog) -> None:
    monkeypatch.setattr("hooflast.cli.offered.load_catalog", lambda **_: loaded)


def faulty() -> LoadedCatalog:
    fault = Fault(
        path=(f"{HOSTILE}.csv", "C7"),
        code="catalog-range-inverted",
        received=None,
        facts={"low_mm": 105.0, "high_mm": 95.0},
    )
    report = PluginReport(plugin="chart", version="1", faults=(fault,))
    failed = PluginReport(plugin="hedge", version="1", failure=PluginFailed(plugin="hedge", reason=HOSTILE))
    return replace(LOADED, reports=(*LOADED.reports, report, failed))


class TestWhatIsOffered:
    def test_without_errors_it_ends_well_and_keeps_nothing(self, run: Run, tmp_path: Path) -> None:
        done = run("catalog", "check", "--offered", "--format", "json")
        report = json.loads(done.out)
        assert (done.code, report["errors"], report["catalog_release"], report["since"]) == (0, 0, NEW.id, None)
        assert list(tmp_path.iterdir()) == []

    def test_with_errors_it_ends_with_1_and_each_is_told_at_its_cell(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        offer(monkeypatch, faulty())
        done = run("catalog", "check", "--offered", "--format", "json")
        errors = [point for point in json.loads(done.out)["points"] if point["severity"] == "error"]
        assert done.code == 1
        assert {(one["plugin"], one["place"], one["code"]) for one in errors} == {
            ("chart", "C7", "catalog-range-inverted"),
            ("hedge", "", "plugin-failed"),
        }
        told = run("catalog", "check", "--offered").out
        assert all(one["text"] in told for one in errors)

    def test_the_page_holds_every_point_and_nothing_that_could_run_or_be_fetched(
        self, run: Run, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        offer(monkeypatch, faulty())
        written = run("catalog", "check", "--offered", "--format", "html", "-o", "report.html")
        assert (written.code, "report.html" in written.out) == (1, True)
        html = Path("report.html").read_text("utf-8")
        assert "<script" not in html
        assert "&lt;script&gt;" in html
        assert 'href="http' not in html
        assert "src=" not in html
        assert "url(http" not in html
        assert "@import" not in html
        for point in json.loads(run("catalog", "check", "--offered", "--json").out)["points"]:
            assert point["code"] in html

    def test_without_a_catalog_release_the_faults_are_told(self, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
        loaded = faulty()
        offer(monkeypatch, replace(loaded, library=replace(loaded.library, releases=())))
        for form in ("text", "json", "html"):
            assert run("catalog", "check", "--offered", "--format", form).code == 1


class TestAFile:
    def test_a_sound_one_is_told_to_be_so_and_a_faulty_one_has_its_pointer(self, run: Run, tmp_path: Path) -> None:
        file = tmp_path / "chart.json"
        file.write_text(json.dumps({"format": FORMAT, "makers": [{"id": "vellory-north", "name": "Vellory North"}]}))
        sound = run("catalog", "check", "--file", str(file))
        assert (sound.code, "Nothing was found" in sound.out) == (0, True)
        file.write_text(json.dumps({"format": FORMAT, "makers": [{"id": "vellory-north", "title": "Vellory North"}]}))
        faulty = run("catalog", "check", "--file", str(file))
        assert (faulty.code, "/makers/0/name" in faulty.out, "/makers/0/title" in faulty.out) == (1, True, True)


@pytest.mark.parametrize("asked", [(), ("2026-03-01", "--offered"), ("--offered", "--file", __file__)])
def test_exactly_one_thing_is_looked_at(run: Run, asked: tuple[str, ...]) -> None:
    assert run("catalog", "check", *asked).code == 2


def test_a_release_in_the_store_is_told_in_every_form_and_marked_as_checked(
    run: Run, monkeypatch: pytest.MonkeyPatch, sqlite_url: str
) -> None:
    monkeypatch.setenv("HOOFLAST_DATABASE_URL", sqlite_url)
    run("catalog", "stage")
    html = run("catalog", "check", NEW.edition, "--format", "html").out
    expect_good_manners(html)
    page = read_page(html)
    assert (page.one("h1").text, len(page.all("section", kind="grade"))) == ("Validation of the catalog", 3)
    anchors = {link.attributes["href"].removeprefix("#") for link in page.all("a")}
    assert anchors <= {node.attributes.get("id") for node in page.walk()}
    assert json.loads(run("catalog", "list", "--json").out)[0]["status"] == "checked"
